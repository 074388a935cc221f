"""A gamepad on the layout screen: buttons stand for keys, the stick or the hat for the arrows."""

from __future__ import annotations

from collections.abc import Sequence

BUTTONS = {
    "0": ".", "1": ",", "2": "[", "3": "]", "4": "tab", "5": "+", "6": "-", "7": "z", "8": "s", "9": "f", "10": "h",
    "hat up": "up", "hat down": "down", "hat left": "left", "hat right": "right",
}  # fmt: skip
"""Button -> the key that it stands for."""
FAR, REPEAT = 0.6, 8
"""A stick beyond this is an arrow; held there, one again every so many frames."""


class PadStick:
    """The stick of axes 1 and 2, as arrow keys; the other axes may be a throttle that rests anywhere."""

    def __init__(self) -> None:
        self._held, self._frames = "", 0

    def key(self, axes: Sequence[float] | None) -> str:
        """The arrow of this frame; empty for none."""
        held = _arrow(axes) if axes is not None else ""
        self._frames = self._frames + 1 if held == self._held else 0
        self._held = held
        return held if self._frames % REPEAT == 0 else ""


def _arrow(axes: Sequence[float]) -> str:
    right, down = axes[0], axes[1]
    if max(abs(right), abs(down)) < FAR:
        return ""
    if abs(right) > abs(down):
        return "right" if right > 0.0 else "left"
    return "down" if down > 0.0 else "up"
