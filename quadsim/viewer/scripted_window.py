"""A window that nobody sees: sticks from a trace or a function, a wall clock of its own, pictures into a folder."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np

from quadsim.viewer.canvas import new_canvas
from quadsim.viewer.window import Happening

Fly = Callable[[], Sequence[float] | None]
"""Roll, pitch, yaw -1..1 and throttle 0..1 for the next frame; None when the device is gone."""


class ScriptedWindow:
    """Runs a screen frame by frame at a fixed interval, as fast as the computer can.

    Parameters
    ----------
    size, scale : of the canvas
    fly : sticks of the next frame
    frames_per_s : rate of the frames
    folder, every : a picture into the folder at every so many frames
    """

    def __init__(
        self, size: tuple[int, int], scale: float, fly: Fly, *, frames_per_s: float = 60.0,
        folder: Path | None = None, every: int = 60,
    ) -> None:  # fmt: skip
        self.canvas = new_canvas(size, scale)
        self.queue: list[Happening] = []
        self.pictures: list[Path] = []
        self._fly, self.frame_s, self._folder, self._every = fly, 1.0 / frames_per_s, folder, every
        self._frames = 0

    device_name = "scripted sticks"
    measures = False
    """Its clock is no wall clock: it says nothing of latency."""

    def wall(self) -> float:
        """The clock of this window [s]."""
        return self._frames * self.frame_s

    @property
    def shown_s(self) -> float:
        """When the last picture was shown [s]."""
        return self.wall()

    def happenings(self) -> list[Happening]:
        """What was put into the queue since the last call."""
        queue, self.queue = self.queue, []
        return queue

    def held(self, names: tuple[str, ...]) -> dict[str, bool]:
        """No key is held."""
        return dict.fromkeys(names, False)

    def axes(self) -> tuple[float, ...] | None:
        """The sticks as a device's axes come: roll, pitch, throttle (forward is negative), yaw."""
        sticks = self._fly()
        if sticks is None:
            return None
        roll, pitch, yaw, throttle = sticks
        return roll, pitch, 1.0 - 2.0 * throttle, yaw

    @property
    def wants_picture(self) -> bool:
        """True when this frame's picture will be written."""
        return self._folder is not None and self._frames % self._every == 0

    def show(self, frames_per_s: int) -> None:
        """The next frame's turn; every so often the picture is written."""
        if self._folder is not None and self.wants_picture:
            path = self._folder / f"frame_{len(self.pictures):04d}.png"
            self.canvas.save(path)
            self.pictures.append(path)
        self._frames += 1

    def close(self) -> None:
        """Nothing to close."""


def sticks_of_trace(trace: np.ndarray, t_s: Callable[[], float]) -> Fly:
    """Sticks of a recorded trace, rows (t, roll, pitch, yaw, throttle): each holds until the next, as they were flown."""

    def fly() -> Sequence[float]:
        row = int(np.searchsorted(trace[:, 0], t_s() + 1e-9, side="right")) - 1
        return [float(v) for v in trace[max(row, 0), 1:]]

    return fly
