"""Gains changed by mouse and keys while the flight goes on; every change is flown beside it as a predicted step."""

from __future__ import annotations

from collections.abc import Callable

from quadsim.analysis.predicted_answer import Predictor, telling_step
from quadsim.simulation.live_gains import LiveGain, LiveGains
from quadsim.viewer.gain_panel import (
    PanelPlaces,
    PanelState,
    on_step,
    panel_places,
    row_under,
    share_of,
    step_at,
    value_at,
)
from quadsim.viewer.layout import Layout
from quadsim.viewer.window import Happening


class GainTuning:
    """State of the panel between frames. `open` shows it."""

    def __init__(self, gains: LiveGains, predictor: Predictor, layout: Layout) -> None:
        self.gains, self.predictor, self.layout = gains, predictor, layout
        self.slots = tuple(gains.by_slot)
        self.slot = "rate" if "rate" in self.slots else self.slots[0]
        self.open = False
        self._chosen: dict[str, int] = {}
        self._first: dict[str, int] = {}
        self._dragged: LiveGain | None = None
        self._edited: tuple[LiveGain, float] | None = None
        self._pointer = (0, 0)

    @property
    def rows(self) -> tuple[LiveGain, ...]:
        """Gains of the slot that is open."""
        return self.gains.by_slot[self.slot]

    @property
    def chosen(self) -> LiveGain:
        """The gain that keys change."""
        return self.rows[self._chosen.get(self.slot, 0)]

    @property
    def places(self) -> PanelPlaces:
        """Where everything stands."""
        return panel_places(self.layout, len(self.slots))

    @property
    def state(self) -> PanelState:
        """What to draw now."""
        kind, answer = telling_step(self.slot, self.chosen.name), self.predictor.answer
        return PanelState(
            slots=self.slots,
            slot=self.slot,
            block=self.gains.block(self.slot).name,
            gains=self.rows,
            values=tuple(self.gains.value(gain) for gain in self.rows),
            first=self._first.get(self.slot, 0),
            chosen=self._chosen.get(self.slot, 0),
            changed=len(self.gains.changed),
            answer=answer if answer is not None and answer.kind == kind else None,
            trouble=self.predictor.trouble,
        )

    def toggle(self) -> None:
        """Show or hide the panel."""
        self.open = not self.open
        self._done()
        if self.open:
            self._ask()

    def hear(self, happening: Happening) -> bool:
        """Act on a key or the mouse; False when it is not the panel's."""
        if not self.open:
            return False
        if happening.kind in ("move", "press", "drag"):
            self._pointer = happening.at
        match happening.kind:
            case "key" | "repeat":
                return self._key(happening.key)
            case "press":
                return self._press(happening.at)
            case "drag" if self._dragged is not None:
                self._drag(happening.at[0])
                return True
            case "release" if self._dragged is not None:
                self._done()
                return True
            case "wheel" if self.places.box.holds(self._pointer):
                self._scroll(-happening.notches)
                return True
        return False

    def _key(self, key: str) -> bool:
        strokes: dict[str, Callable[[], object]] = {
            "up": lambda: self._choose(self._chosen.get(self.slot, 0) - 1),
            "down": lambda: self._choose(self._chosen.get(self.slot, 0) + 1),
            "left": lambda: self._stroke(-1),
            "right": lambda: self._stroke(1),
            "tab": self._next_slot,
            "backspace": self._reset,
            "escape": self.toggle,
        }
        if key in strokes:
            strokes[key]()
        return key in strokes

    def _press(self, at: tuple[int, int]) -> bool:
        places = self.places
        if not places.box.holds(at):
            return False
        for tab, slot in zip(places.tabs, self.slots, strict=True):
            if tab.holds(at):
                self._open_slot(slot)
        if places.reset.holds(at):
            self._reset()
        row = row_under(places, at)
        number = -1 if row is None else row + self._first.get(self.slot, 0)
        if row is not None and 0 <= number < len(self.rows):
            self._choose(number)
            slider = places.sliders[row]
            if slider.x - self.layout.px(8) <= at[0] < slider.right + self.layout.px(8):
                self._dragged = self.chosen
                self._drag(at[0])
        return True

    def _drag(self, x: int) -> None:
        """The knob follows the mouse; near the craft's own value it snaps to it."""
        gain, slider = self.chosen, self.places.sliders[0]
        share = (x - slider.x) / max(slider.w, 1)
        near = abs(share - share_of(gain, gain.craft)) * slider.w < 2.0 * self.layout.scale
        self._set(gain.craft if near else value_at(gain, share))

    def _stroke(self, way: int) -> None:
        gain = self.chosen
        value = self.gains.value(gain)
        step = step_at(gain, value)
        self._set(on_step(gain, value + way * step, step))

    def _set(self, value: float) -> None:
        before = self.gains.value(self.chosen)
        if value != before:
            self._edited = self._edited or (self.chosen, before)
            self.gains.set(self.chosen, value)
            self._ask()

    def _done(self) -> None:
        """Note what was changed since another gain was, in the flight's events."""
        if self._edited is not None:
            self.gains.note(*self._edited)
        self._edited = self._dragged = None

    def _choose(self, number: int) -> None:
        self._done()
        number = min(max(number, 0), len(self.rows) - 1)
        first, count = self._first.get(self.slot, 0), len(self.places.rows)
        self._chosen[self.slot] = number
        self._first[self.slot] = min(max(first, number - count + 1), number)
        self._ask()

    def _scroll(self, by: int) -> None:
        most = max(len(self.rows) - len(self.places.rows), 0)
        self._first[self.slot] = min(max(self._first.get(self.slot, 0) + by, 0), most)

    def _next_slot(self) -> None:
        self._open_slot(self.slots[(self.slots.index(self.slot) + 1) % len(self.slots)])

    def _open_slot(self, slot: str) -> None:
        self._done()
        self.slot = slot
        self._ask()

    def _reset(self) -> None:
        self._done()
        self.gains.reset()
        self._ask()

    def _ask(self) -> None:
        self.predictor.ask(telling_step(self.slot, self.chosen.name), self.gains.values)
