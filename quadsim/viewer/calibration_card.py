"""Sticks calibrated inside the practice window: what to do now, the axes as they move, and what was wrong."""

from __future__ import annotations

from collections import deque
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from quadsim.config.stick_device import StickDevice, load_device
from quadsim.errors import InputError
from quadsim.viewer import palette
from quadsim.viewer.calibrate import Calibration, settled
from quadsim.viewer.canvas import Canvas
from quadsim.viewer.cards import paper
from quadsim.viewer.fonts import BODY, LABEL, STRONG, VALUE
from quadsim.viewer.layout import Layout, Rect
from quadsim.viewer.plan_panel import wrapped
from quadsim.whole_file import whole_file

READINGS, LEAST_READINGS = 20, 5
"""Frames over which an answer is averaged, and fewest of them."""
MOST_AXES = 8
KEPT = "sticks.toml"
"""File beside the laps of all courses."""


@dataclass(frozen=True)
class CardState:
    """What the card shows."""

    words: str
    place: tuple[int, int]
    axes: tuple[float, ...]
    fault: str


class Calibrating:
    """A calibration in progress: it reads the axes at every frame; `take` answers the step."""

    def __init__(self, name: str) -> None:
        self.steps = Calibration(name)
        self.fault = ""
        self._readings: deque[tuple[float, ...]] = deque(maxlen=READINGS)

    def read(self, axes: Sequence[float]) -> None:
        """The axes at this frame."""
        if self._readings and len(self._readings[-1]) != len(axes):  # another device
            self._readings.clear()
        self._readings.append(tuple(axes))

    def take(self) -> None:
        """The user has done what `words` say."""
        if len(self._readings) < LEAST_READINGS:
            return
        try:
            self.steps.answer(settled(list(self._readings)))
            self.fault = ""
        except InputError as error:
            self.fault = str(error)
        self._readings.clear()

    @property
    def state(self) -> CardState:
        """What the card shows now."""
        axes = self._readings[-1] if self._readings else ()
        return CardState(self.steps.words, self.steps.place, axes, self.fault)


def keep(device: StickDevice, folder: Path) -> str:
    """Write a calibration beside the laps; returns what became of it, in words."""
    path = folder / KEPT
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with whole_file(path) as part:
            part.write_text(device.as_toml(), encoding="utf-8")
    except OSError as error:
        return f"sticks calibrated, but not kept: {error.strerror}"
    return "sticks calibrated and kept"


def kept(folder: Path, name: str) -> StickDevice | None:
    """The calibration kept for the device of that name; None without one, or where the file is none."""
    try:
        device = load_device(folder / KEPT)
    except InputError:
        return None
    return device if name and device.name == name else None


def draw_calibration(canvas: Canvas, layout: Layout, state: CardState) -> None:
    """Draw the card."""
    px, card = layout.px, layout.insets["card"]
    paper(canvas, px, card)
    x, wide = card.x + px(22), card.w - px(44)
    canvas.text((x, card.y + px(12)), "Sticks", VALUE, palette.INK)
    step = f"step {state.place[0]} of {state.place[1]}"
    canvas.text((card.right - px(22), card.y + px(18)), step, LABEL, palette.INK_SOFT, anchor="ne")
    y = card.y + px(46)
    for words, style, tone in ((state.words, STRONG, palette.INK), (state.fault, LABEL, palette.ALARM)):
        for line in wrapped(canvas, words, wide, style)[:2] if words else ():
            canvas.text((x, y), line, style, tone, width=wide)
            y += px(17)
    for k, value in enumerate(state.axes[:MOST_AXES]):
        _axis(canvas, layout, Rect(x, card.y + px(124) + k * px(21), wide, px(21)), k, value)
    foot = "Enter, a click here or button 1 takes it; Esc leaves"
    canvas.text((x, card.bottom - px(14)), foot, BODY, palette.INK_SOFT, anchor="sw", width=wide)


def _axis(canvas: Canvas, layout: Layout, box: Rect, number: int, value: float) -> None:
    """One axis: its number, a ruler, a bead where it stands."""
    px, middle = layout.px, box.y + box.h // 2
    canvas.text((box.x, middle), f"axis {number + 1}", LABEL, palette.INK_SOFT, anchor="cw")
    left, right = box.x + px(60), box.right - px(8)
    canvas.fill(palette.RULE, Rect(left, middle - px(1), right - left, px(2)))
    canvas.fill(palette.INK_SOFT, Rect((left + right) // 2, middle - px(5), max(1, px(1)), px(10)))
    at = left + (0.5 + 0.5 * min(max(value, -1.0), 1.0)) * (right - left)
    canvas.circle(palette.FLOWN, (at, middle), px(5))
