"""Calibrate a radio or gamepad: ask for one stick movement after the other and read the axes."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from quadsim.config.stick_device import LEAST_TRAVEL, Axis, StickDevice
from quadsim.errors import InputError

Read = Callable[[], Sequence[float]]
"""The raw axes now, each -1..1."""

MOVES = (
    ("roll", "the roll stick fully right", "fully left"),
    ("pitch", "the pitch stick fully back (nose up)", "fully forwards"),
    ("yaw", "the yaw stick fully right (clockwise)", "fully left"),
    ("throttle", "the throttle fully up", "fully down"),
)
REST = "Let all sticks rest in the centre (a throttle without spring: half-way)"
TURNS = 40
"""Readings over which an answer is averaged."""


class Calibration:
    """A calibration in steps: `words` say what to do now, `answer` takes the axes once it has been done.

    device : the calibration, once the last step is answered
    """

    def __init__(self, name: str) -> None:
        self.name = name
        self.device: StickDevice | None = None
        self._steps = [
            REST,
            *(step for _, one, other in MOVES for step in (f"Hold {one}", f"Hold it {other}")),
        ]
        self._answers: list[list[float]] = []
        self._numbers: list[int] = []

    @property
    def words(self) -> str:
        """What to do now; empty when all is done."""
        return self._steps[len(self._answers)] if self.device is None else ""

    @property
    def place(self) -> tuple[int, int]:
        """Number of this step, from 1, and how many there are."""
        return min(len(self._answers) + 1, len(self._steps)), len(self._steps)

    def answer(self, raw: Sequence[float]) -> None:
        """Take the axes as they are now.

        Raises
        ------
        InputError
            when a movement is not seen; the step can be answered again.
        """
        number, second_end = divmod(len(self._answers) - 1, 2)
        if self._answers:
            stick = MOVES[number][0]
            self._look_at_end(stick, raw) if second_end else self._find_axis(stick, raw)
        self._answers.append(list(raw))
        if len(self._answers) == len(self._steps):
            self.device = StickDevice(
                name=self.name, **{name: self._axis(k) for k, (name, *_) in enumerate(MOVES)}
            )

    def _find_axis(self, stick: str, high: Sequence[float]) -> None:
        rest = self._answers[0]
        free = [k for k in range(len(rest)) if k not in self._numbers]
        number = max(free, key=lambda k: abs(high[k] - rest[k]))
        if abs(high[number] - rest[number]) < LEAST_TRAVEL:
            raise InputError(
                f"no axis of {self.name} moved for {stick}; hold the stick at its end until the answer is taken"
            )
        self._numbers.append(number)

    def _look_at_end(self, stick: str, low: Sequence[float]) -> None:
        number = self._numbers[-1]
        if abs(low[number] - self._answers[-1][number]) < 2.0 * LEAST_TRAVEL:
            raise InputError(f"the {stick} stick did not come to its other end; hold it there")

    def _axis(self, k: int) -> Axis:
        number = self._numbers[k]
        rest, high, low = (self._answers[n][number] for n in (0, 2 * k + 1, 2 * k + 2))
        centre = None if MOVES[k][0] == "throttle" else round(rest, 4)
        return Axis(axis=number, low=round(low, 4), high=round(high, 4), centre=centre)


def calibrate(name: str, read: Read, ask: Callable[[str], object]) -> StickDevice:
    """The calibration of a device.

    Parameters
    ----------
    name : what the device is called
    read : its raw axes
    ask : shows a sentence and returns when the user has done what it says

    Raises
    ------
    InputError
        when a movement is not seen, or is that of an axis already taken.
    """
    steps = Calibration(name)
    while steps.device is None:
        ask(f"{steps.words}, then press Enter")
        steps.answer(settled([read() for _ in range(TURNS)]))
    return steps.device


def settled(readings: Sequence[Sequence[float]]) -> list[float]:
    """Mean of some readings, against jitter."""
    return [sum(values) / len(readings) for values in zip(*readings, strict=True)]
