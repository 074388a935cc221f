"""The answer to a step that a set of gains promises, flown beside whatever else goes on: the newest question is answered."""

from __future__ import annotations

import threading
from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from quadsim.analysis.response_bench import Bench
from quadsim.analysis.response_figures import Step
from quadsim.analysis.responses import angle_step, height_step, rate_step
from quadsim.config import Craft
from quadsim.errors import InputError, QuadsimError

Array = NDArray[np.float64]
KINDS: dict[str, Callable[[Bench], Step]] = {
    "roll rate": lambda bench: rate_step(bench, 0),
    "pitch rate": lambda bench: rate_step(bench, 1),
    "yaw rate": lambda bench: rate_step(bench, 2),
    "roll": lambda bench: angle_step(bench, 0),
    "pitch": lambda bench: angle_step(bench, 1),
    "yaw": lambda bench: angle_step(bench, 2),
    "height": height_step,
}
"""Steps that can be asked for."""
_HEIGHT_WORDS = ("HEIGHT", "CLIMB", "SINK", "THRUST", "ACCEL_BIAS")


def telling_step(slot: str, gain: str) -> str:
    """The step, of KINDS, that shows best what a gain of a slot does, by the gain's name."""
    axis = next((axis for axis in ("yaw", "pitch") if axis.upper() in gain), "roll")
    if slot in ("rate", "allocate"):
        return f"{axis} rate"
    if slot in ("guide", "estimate") and any(word in gain for word in _HEIGHT_WORDS):
        return "height"
    return "roll rate" if slot == "estimate" else axis


@dataclass(frozen=True)
class Answer:
    """What was flown: with the craft's gains and with those asked about."""

    kind: str
    craft: Step
    asked: Step


class Predictor:
    """Flies steps on a bench of its own (the craft without loads, full pack, still air), in a thread, while the caller goes on.

    The flight loop lets other threads run, so this costs the caller next to nothing where there is a second core. `ask` returns
    at once and replaces a question that has not been taken up; `answer` is the newest one.
    """

    def __init__(self, craft: Craft, blocks: Mapping[str, str] | None = None) -> None:
        self._craft, self._blocks = craft, blocks
        self._bench: Bench | None = None
        self._known: dict[str, Step] = {}
        self._question: tuple[str, Array] | None = None
        self._busy = False
        self._change = threading.Condition()
        self._thread: threading.Thread | None = None
        self.answer: Answer | None = None
        self.trouble = ""
        """Why there is no answer; empty when there is or will be one."""

    def ask(self, kind: str, gains: Array) -> None:
        """What does this step look like with these gains?"""
        with self._change:
            self._question = (kind, gains.copy())
            self._change.notify_all()
        if self._thread is None:
            self._thread = threading.Thread(target=self._work, daemon=True)
            self._thread.start()

    def wait(self, timeout_s: float = 60.0) -> Answer | None:
        """The answer to the last question, waited for."""
        with self._change:
            self._change.wait_for(lambda: self._question is None and not self._busy, timeout_s)
        return self.answer

    def _work(self) -> None:
        while True:
            with self._change:
                self._busy = False
                self._change.notify_all()
                self._change.wait_for(lambda: self._question is not None)
                question, self._question, self._busy = self._question, None, True
            if question is None:
                continue
            try:
                self.answer, self.trouble = self._fly(*question), ""
            except QuadsimError as error:
                self.trouble = str(error)

    def _fly(self, kind: str, gains: Array) -> Answer:
        if self._bench is None:
            made = Bench(self._craft, blocks=self._blocks)
            if made.session.plain_blocks:
                raise InputError(
                    "a block flies as plain Python, too slow to predict a step beside the flight"
                )
            self._bench = made
        bench = self._bench
        if kind not in self._known:
            bench.tune(bench.craft_gains)
            self._known[kind] = KINDS[kind](bench)
        bench.tune(gains)
        return Answer(kind, self._known[kind], KINDS[kind](bench))
