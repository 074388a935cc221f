"""Drawing surface: with `window` the only file of quadsim that imports pygame.

Everything else draws through `Canvas` and hears of keys and mouse through `Window`. A canvas needs no window.
"""

from __future__ import annotations

import math
import os
import warnings
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from functools import lru_cache
from itertools import repeat
from pathlib import Path

import numpy as np

from quadsim.errors import FlightError
from quadsim.viewer.fonts import Style, font_file
from quadsim.viewer.layout import Rect
from quadsim.viewer.palette import Colour

os.environ.setdefault("PYGAME_HIDE_SUPPORT_PROMPT", "1")  # its banner goes to stdout, which belongs to --json
with warnings.catch_warnings():
    warnings.simplefilter("ignore")  # pygame warns about its own use of old packaging modules
    import pygame as pygame  # the window takes it from here
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


@lru_cache(maxsize=6000)
def _size(string: str, style: Style, scale: float) -> tuple[int, int]:
    return _font(style, scale).size(string)


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
        with self._clipped() as whole:
            pygame.draw.aalines(whole, colour, False, self._on_whole(np.asarray(points, float)))

    def smooth_lines(
        self, colours: Iterable[Colour], a: np.ndarray, b: np.ndarray, faint: Iterable[bool] = repeat(False)
    ) -> None:
        """Many straight lines one pixel wide from `a` to `b`, shape (n, 2) each, a colour each.

        faint : lines whose edges nobody can see: hard ones, which cost a tenth
        """
        starts, ends = self._on_whole(a), self._on_whole(b)
        soft, hard = pygame.draw.aaline, pygame.draw.line
        with self._clipped() as whole:
            for colour, start, end, pale in zip(colours, starts, ends, faint, strict=False):
                (hard if pale else soft)(whole, colour, start, end)

    def patches(self, colour: Colour, shapes: np.ndarray, soft: bool = False) -> None:
        """Filled polygons of one colour, shape (n, corners, 2); `soft` ones get soft edges."""
        moved = self._on_whole(shapes)
        with self._clipped() as whole:
            for points in moved:
                pygame.draw.polygon(whole, colour, points)
                if soft:
                    pygame.draw.aalines(whole, colour, True, points)

    def facets(self, faces: Iterable[tuple[Colour, Colour | None, Sequence[Point]]]) -> None:
        """Filled polygons in order, each with its colour and that of its outline; none must be far off the canvas."""
        for colour, edge, points in faces:
            pygame.draw.polygon(self.surface, colour, points)
            if edge is not None:
                pygame.draw.lines(self.surface, edge, True, points)

    def _on_whole(self, points: np.ndarray) -> list:
        """Points (..., 2) of this part on the whole surface."""
        return (np.clip(points, -FAR_PX, FAR_PX) + self._corner).tolist()

    @contextmanager
    def _clipped(self) -> Iterator[pygame.Surface]:
        """The whole surface, clipped to this part."""
        self._whole.set_clip(pygame.Rect(self._corner, self.surface.get_size()))
        try:
            yield self._whole
        finally:
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
        return _size(string, style, self.scale)

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
