"""Drawing surface and window: the one file of quadsim that imports pygame.

Everything else draws through `Canvas` and hears of keys and mouse through `Window`. A canvas needs no window.
"""

from __future__ import annotations

import math
import os
import time
import warnings
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from quadsim.errors import FlightError, InputError
from quadsim.viewer.display import no_window, require_display
from quadsim.viewer.fonts import Style, font_file
from quadsim.viewer.layout import Rect
from quadsim.viewer.palette import Colour

os.environ.setdefault("PYGAME_HIDE_SUPPORT_PROMPT", "1")  # its banner goes to stdout, which belongs to --json
with warnings.catch_warnings():
    warnings.simplefilter("ignore")  # pygame warns about its own use of old packaging modules
    import pygame
    import pygame.font

Point = tuple[float, float]
FAR_PX = 16000.0
"""Coordinates are clipped to this [px]: pygame draws with C integers."""


@lru_cache(maxsize=64)
def _font(style: Style, scale: float) -> pygame.font.Font:
    if not pygame.font.get_init():
        pygame.font.init()
    path = font_file(style.bold)
    return pygame.font.Font(str(path) if path else None, max(7, round(style.size_px * scale)))


@lru_cache(maxsize=3000)
def _letters(string: str, style: Style, scale: float, colour: Colour) -> pygame.Surface:
    return _font(style, scale).render(string, True, colour)


@dataclass(frozen=True)
class Placed:
    """A text as drawn: where, and whether it had to be cut to fit. Kept for tests of the layout."""

    string: str
    rect: Rect
    cut: bool


def _near(point: Point) -> Point:
    x, y = point
    if -FAR_PX < x < FAR_PX and -FAR_PX < y < FAR_PX:
        return point
    return (min(max(x, -FAR_PX), FAR_PX), min(max(y, -FAR_PX), FAR_PX))


class Canvas:
    """A surface with the few strokes the viewer needs. Coordinates in pixels, x right, y down.

    Parameters
    ----------
    surface : what to draw on
    scale : size of the letters relative to a 1280 x 720 frame
    placed : list that collects every text drawn, or None
    """

    def __init__(
        self, surface: pygame.Surface, scale: float = 1.0, placed: list[Placed] | None = None
    ) -> None:
        self.surface, self.scale, self.placed = surface, scale, placed
        self._whole, self._corner = surface.get_abs_parent(), surface.get_abs_offset()

    @property
    def size(self) -> tuple[int, int]:
        """Width and height [px]."""
        return self.surface.get_size()

    def part(self, rect: Rect) -> Canvas:
        """A canvas over a part of this one; it shares the pixels and clips."""
        return Canvas(self.surface.subsurface(rect), self.scale, self.placed)

    def fill(self, colour: Colour, rect: Rect | None = None) -> None:
        """Fill a rectangle, or everything."""
        self.surface.fill(colour, rect)

    def frame(self, colour: Colour, rect: Rect, width: int = 1) -> None:
        """Outline of a rectangle."""
        pygame.draw.rect(self.surface, colour, rect, width)

    def card(self, colour: Colour, rect: Rect, radius: int = 6) -> None:
        """Filled rectangle with rounded corners."""
        pygame.draw.rect(self.surface, colour, rect, 0, border_radius=radius)

    def line(self, colour: Colour, a: Point, b: Point, width: int = 1) -> None:
        """Straight line, hard edges."""
        pygame.draw.line(self.surface, colour, _near(a), _near(b), width)

    def smooth_line(self, colour: Colour, a: Point, b: Point) -> None:
        """Straight line one pixel wide, soft edges."""
        self._soft([a, b], colour)

    def _soft(self, points: Sequence[Point], colour: Colour) -> None:
        """Soft lines go onto the whole surface: on a part of one, pygame 2.6 blends with pixels of the wrong place."""
        x, y = self._corner
        moved = [_near((p[0] + x, p[1] + y)) for p in points]
        if (x, y) == (0, 0):
            pygame.draw.aalines(self.surface, colour, False, moved)
            return
        self._whole.set_clip(pygame.Rect((x, y), self.surface.get_size()))
        pygame.draw.aalines(self._whole, colour, False, moved)
        self._whole.set_clip(None)

    def thick_line(self, colour: Colour, a: Point, b: Point, width: float) -> None:
        """Straight line of any width with square ends cut at right angles to it."""
        dx, dy = b[0] - a[0], b[1] - a[1]
        length = math.hypot(dx, dy)
        if length < 1e-6:
            return
        nx, ny = -dy / length * width / 2.0, dx / length * width / 2.0
        self.polygon(
            colour,
            ((a[0] + nx, a[1] + ny), (b[0] + nx, b[1] + ny), (b[0] - nx, b[1] - ny), (a[0] - nx, a[1] - ny)),
        )

    def path(self, colour: Colour, points: Sequence[Point], width: int = 1, smooth: bool = False) -> None:
        """Open line through points; `smooth` draws it one pixel wide with soft edges."""
        if len(points) < 2:
            return
        if smooth:
            self._soft(points, colour)
        else:
            pygame.draw.lines(self.surface, colour, False, [_near(p) for p in points], width)

    def polygon(self, colour: Colour, points: Sequence[Point], width: int = 0) -> None:
        """Filled polygon, or its outline."""
        if len(points) >= 3:
            pygame.draw.polygon(self.surface, colour, [_near(p) for p in points], width)

    def circle(self, colour: Colour, centre: Point, radius: float, width: int = 0) -> None:
        """Filled circle, or its outline."""
        pygame.draw.circle(self.surface, colour, _near(centre), max(1.0, radius), width)

    def glass(self, colour: Colour, alpha: int, points: Sequence[Point]) -> None:
        """Translucent polygon; `alpha` 0 clear to 255 solid."""
        xs, ys = [p[0] for p in points], [p[1] for p in points]
        box = pygame.Rect(
            int(min(xs)) - 1, int(min(ys)) - 1, int(max(xs) - min(xs)) + 3, int(max(ys) - min(ys)) + 3
        )
        seen = box.clip(self.surface.get_rect())
        if seen.w < 1 or seen.h < 1:
            return
        pane = pygame.Surface(seen.size, pygame.SRCALPHA)
        moved = [_near((p[0] - seen.x, p[1] - seen.y)) for p in points]
        pygame.draw.polygon(pane, (*colour, alpha), moved)
        self.surface.blit(pane, seen.topleft)

    def veil(self, colour: Colour, alpha: int, rect: Rect | None = None) -> None:
        """Cover a rectangle, or everything, with a translucent colour."""
        area = pygame.Rect(rect) if rect else self.surface.get_rect()
        pane = pygame.Surface(area.size)
        pane.fill(colour)
        pane.set_alpha(alpha)
        self.surface.blit(pane, area.topleft)

    def stamp(self, other: Canvas, at: Point = (0, 0), area: Rect | None = None) -> None:
        """Copy another canvas, or an area of it, to `at`."""
        self.surface.blit(other.surface, (round(at[0]), round(at[1])), area)

    @contextmanager
    def refined(self, rect: Rect, factor: int = 2) -> Iterator[Canvas]:
        """Draw within `rect` at `factor` times the resolution, then scale down: soft edges for everything inside.

        The canvas handed out starts at the corner of the clipped rectangle, `refined_origin` of it.
        """
        area = pygame.Rect(rect).clip(self.surface.get_rect())
        if area.w < 2 or area.h < 2:
            yield Canvas(pygame.Surface((2, 2), 0, 32), self.scale * factor)
            return
        part = self.surface.subsurface(area)
        large = pygame.transform.scale(part, (area.w * factor, area.h * factor))
        yield Canvas(large, self.scale * factor)
        pygame.transform.smoothscale(large, area.size, part)

    def shrink_onto(self, other: Canvas) -> None:
        """Scale this picture to the size of another canvas and put it there."""
        pygame.transform.smoothscale(self.surface, other.size, other.surface)

    def clip(self, rect: Rect) -> Rect:
        """The part of `rect` that lies on this canvas."""
        area = pygame.Rect(rect).clip(self.surface.get_rect())
        return Rect(area.x, area.y, area.w, area.h)

    def measure(self, string: str, style: Style) -> tuple[int, int]:
        """Width and height of a text [px]."""
        return _font(style, self.scale).size(string)

    def text(
        self,
        at: Point,
        string: str,
        style: Style,
        colour: Colour,
        *,
        anchor: str = "nw",
        width: float | None = None,
    ) -> Rect:
        """Write a text; returns the rectangle it takes.

        Parameters
        ----------
        at : point that the anchor of the text is put on
        anchor : two letters, n c or s then w c or e
        width : room there is [px]; a longer text is cut and ends in an ellipsis
        """
        shown = self._cut(string, style, width)
        image = _letters(shown, style, self.scale, colour)
        w, h = image.get_size()
        x = at[0] - w * {"w": 0.0, "c": 0.5, "e": 1.0}[anchor[1]]
        y = at[1] - h * {"n": 0.0, "c": 0.5, "s": 1.0}[anchor[0]]
        self.surface.blit(image, (round(x), round(y)))
        if self.placed is not None:
            left, top = self.surface.get_abs_offset()
            self.placed.append(Placed(string, Rect(round(x) + left, round(y) + top, w, h), shown != string))
        return Rect(round(x), round(y), w, h)

    def _cut(self, string: str, style: Style, width: float | None) -> str:
        if width is None or self.measure(string, style)[0] <= width:
            return string
        low, high = 0, len(string)
        while low < high:
            middle = (low + high + 1) // 2
            fits = self.measure(string[:middle].rstrip() + "…", style)[0] <= width
            low, high = (middle, high) if fits else (low, middle - 1)
        return string[:low].rstrip() + "…"

    def save(self, path: Path) -> None:
        """Write a PNG file; raises FlightError when that is not possible."""
        try:
            pygame.image.save(self.surface, str(path))
        except (OSError, pygame.error) as error:
            raise FlightError(
                f"the frame could not be written to {path}: {error}. Choose another folder, or free space"
            ) from None

    def pixels(self) -> bytes:
        """The picture as RGB bytes, row by row."""
        return pygame.image.tobytes(self.surface, "RGB")


def new_canvas(size: tuple[int, int], scale: float = 1.0, placed: list[Placed] | None = None) -> Canvas:
    """A canvas of its own, with no window."""
    return Canvas(pygame.Surface(size, 0, 32), scale, placed)


@dataclass(frozen=True)
class Happening:
    """What the user did: kind is quit, key, repeat (of a held key), press, drag, release, move, wheel, or a joystick's button."""

    kind: str
    key: str = ""
    at: tuple[int, int] = (0, 0)
    moved: tuple[int, int] = (0, 0)
    notches: int = 0
    text: str = ""
    """What a key writes, for where text is typed."""


class Window:
    """A window on the screen, with its keys, mouse and the first joystick. Sound is never opened."""

    def __init__(self, size: tuple[int, int], title: str, scale: float) -> None:
        require_display()
        try:
            pygame.display.init()
            self.canvas = Canvas(pygame.display.set_mode(size, vsync=0), scale)
        except pygame.error as error:
            pygame.display.quit()
            raise no_window(str(error)) from None
        pygame.display.set_caption(title)
        pygame.key.set_repeat(350, 40)
        self._down: set[int] = set()
        self._pacer = pygame.time.Clock()
        self._stick = self._first_joystick()
        self.shown_s = time.perf_counter()
        """When the last picture was handed to the screen [s, wall]."""

    @staticmethod
    def _first_joystick() -> pygame.joystick.JoystickType | None:
        try:
            pygame.joystick.init()
            return pygame.joystick.Joystick(0) if pygame.joystick.get_count() else None
        except pygame.error:
            return None

    def happenings(self) -> list[Happening]:
        """What the user did since the last call."""
        found = []
        for event in pygame.event.get():
            match event.type:
                case pygame.QUIT:
                    found.append(Happening("quit"))
                case pygame.KEYDOWN:
                    again = event.key in self._down
                    self._down.add(event.key)
                    written = (
                        event.unicode if event.unicode in ("+", "-", "?") else pygame.key.name(event.key)
                    )
                    found.append(Happening("repeat" if again else "key", key=written, text=event.unicode))
                case pygame.KEYUP:
                    self._down.discard(event.key)
                case pygame.MOUSEBUTTONDOWN if event.button == 1:
                    found.append(Happening("press", at=event.pos))
                case pygame.MOUSEBUTTONUP if event.button == 1:
                    found.append(Happening("release", at=event.pos))
                case pygame.MOUSEMOTION:
                    kind = "drag" if event.buttons[0] else "move"
                    found.append(Happening(kind, at=event.pos, moved=event.rel))
                case pygame.MOUSEWHEEL:
                    found.append(Happening("wheel", notches=event.y))
                case pygame.JOYBUTTONDOWN:
                    found.append(Happening("button", key=str(event.button)))
                case pygame.JOYDEVICEADDED if self._stick is None:
                    self._stick = self._first_joystick()
                case pygame.JOYDEVICEREMOVED if self._stick is not None:
                    if event.instance_id == self._stick.get_instance_id():
                        self._stick = None
        return found

    def held(self, names: Sequence[str]) -> dict[str, bool]:
        """Which of the named keys are down."""
        down = pygame.key.get_pressed()
        return {name: bool(down[pygame.key.key_code(name)]) for name in names}

    def axes(self) -> tuple[float, ...] | None:
        """The axes of the first joystick, -1..1; None without one."""
        if self._stick is None or self._stick.get_numaxes() < 4:
            return None
        return tuple(self._stick.get_axis(k) for k in range(self._stick.get_numaxes()))

    def show(self, frames_per_s: int) -> None:
        """Put the canvas on the screen and wait for the next frame's turn."""
        pygame.display.flip()
        self.shown_s = time.perf_counter()
        self._pacer.tick(frames_per_s)

    def close(self) -> None:
        """Close the window."""
        pygame.joystick.quit()
        pygame.display.quit()


@contextmanager
def open_device() -> Iterator[tuple[str, Callable[[], list[float]]]]:
    """The first joystick: its name, and how to read it.

    Raises
    ------
    InputError
        when none is connected, or it has fewer than four axes.
    """
    pygame.display.init()
    pygame.joystick.init()
    try:
        if not pygame.joystick.get_count():
            raise InputError("no radio or gamepad is connected; plug it in, switch it on, and try again")
        stick = pygame.joystick.Joystick(0)
        if stick.get_numaxes() < 4:
            raise InputError(f"{stick.get_name()} has {stick.get_numaxes()} axes; sticks need 4")

        def read() -> list[float]:
            pygame.event.pump()
            return [stick.get_axis(k) for k in range(stick.get_numaxes())]

        yield stick.get_name(), read
    finally:
        pygame.joystick.quit()
        pygame.display.quit()
