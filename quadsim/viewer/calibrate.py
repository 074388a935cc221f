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
TURNS = 40
"""Readings over which an answer is averaged."""


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
    ask("Let all sticks rest in the centre (a throttle without spring: half-way), then press Enter")
    rest = _settled(read)
    taken: dict[str, Axis] = {}
    for stick, one_end, other_end in MOVES:
        ask(f"Hold {one_end}, then press Enter")
        high = _settled(read)
        free = [k for k in range(len(rest)) if k not in {a.axis for a in taken.values()}]
        number = max(free, key=lambda k: abs(high[k] - rest[k]))
        if abs(high[number] - rest[number]) < LEAST_TRAVEL:
            raise InputError(
                f"no axis of {name} moved for {stick}; start again and hold the stick at its end while you press Enter"
            )
        ask(f"Hold it {other_end}, then press Enter")
        low = _settled(read)[number]
        if abs(low - high[number]) < 2.0 * LEAST_TRAVEL:
            raise InputError(f"the {stick} stick did not come to its other end; start again")
        centre = None if stick == "throttle" else round(rest[number], 4)
        taken[stick] = Axis(axis=number, low=round(low, 4), high=round(high[number], 4), centre=centre)
    return StickDevice(name=name, **taken)


def _settled(read: Read) -> list[float]:
    """Mean of some readings, against jitter."""
    readings = [list(read()) for _ in range(TURNS)]
    return [sum(values) / TURNS for values in zip(*readings, strict=True)]
