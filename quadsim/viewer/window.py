"""The window: keys, mouse and the first joystick in, pictures out. With `canvas` the only file that imports pygame."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass

from quadsim.errors import InputError
from quadsim.viewer.canvas import Canvas, pygame
from quadsim.viewer.display import no_window, require_display


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


HATS = {(0, 1): "up", (0, -1): "down", (-1, 0): "left", (1, 0): "right"}
"""Where a hat can be pushed; slanting counts as no way."""


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
                case pygame.JOYHATMOTION if (way := HATS.get(event.value)) is not None:
                    found.append(Happening("button", key=f"hat {way}"))
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

    @property
    def device_name(self) -> str:
        """What the first joystick is called; empty without one."""
        return self._stick.get_name() if self._stick is not None else ""

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
