"""A block where signals and gains end: full sticks, no voltage, free fall, upside down, odd intervals, no rotor left."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from controllers.bench import Bench, Finding, hovering_signals, not_finite
from controllers.contract import SLOTS
from controllers.python_block import OUTPUTS
from controllers.signals import Mode

RUNS = 20
"""Runs in a row in each situation, so that what a block keeps has time to grow."""

SKEW = 1e-3
"""How far the length of a quaternion may lie from 1; assumed, far more than rounding leaves in 20 runs."""


@dataclass(frozen=True)
class Situation:
    """A hover in which something stands at its limit; `remedy` is what usually helps."""

    words: str
    change: Callable[[Any], None]
    remedy: str


def _full_sticks(s: Any) -> None:
    s.stick[:] = 1.0


def _sticks_back(s: Any) -> None:
    s.stick[:] = (-1.0, -1.0, -1.0, 0.0)


def _no_voltage(s: Any) -> None:
    s.battery_voltage = 0.0


def _free_fall(s: Any) -> None:
    s.accel[:], s.climb_rate, s.height = 0.0, -40.0, -100.0


def _upside_down(s: Any) -> None:
    s.attitude[:], s.accel[:] = (0.0, 1.0, 0.0, 0.0), (0.0, 0.0, 9.8)


def _spinning(s: Any) -> None:
    s.gyro[:] = s.rates[:] = (35.0, -35.0, 35.0)


def _short(s: Any) -> None:
    s.dt = 1e-6


def _long(s: Any) -> None:
    s.dt = 1.0


def _nothing_given(s: Any) -> None:
    s.unallocated[:], s.rotor_lost[:] = (500.0, -500.0, 200.0, 50.0), 1.0
    s.angular_acceleration_wanted[:], s.thrust_wanted = (500.0, -500.0, 200.0), 50.0


SITUATIONS = (
    Situation("with all sticks at their upper stop", _full_sticks, "limit what the sticks ask for"),
    Situation("with all sticks at their lower stop", _sticks_back, "limit what the sticks ask for"),
    Situation(
        "with 0 V at the pack", _no_voltage, "do not divide by the voltage: believe it within bounds only"
    ),
    Situation(
        "in free fall, where the accelerometer reads 0",
        _free_fall,
        "do not divide by the length of `s.accel` unguarded",
    ),
    Situation("upside down", _upside_down, "do not divide by the cosine of a tilt unguarded"),
    Situation("turning at 35 rad/s about all axes", _spinning, "limit what grows with the rates"),
    Situation(
        "with an interval of 1 microsecond", _short, "do not divide by `s.dt` alone: add the filter's time"
    ),
    Situation(
        "with an interval of 1 s", _long, "an explicit step is unstable there: limit gain times `s.dt`"
    ),
    Situation(
        "while the rotors give nothing of what is asked",
        _nothing_given,
        "stop integrals while `s.unallocated` has the sign of the error",
    ),
)


def check_limits(bench: Bench) -> Finding:
    """Every situation in every response type, on the ground and in the air: finite, motors 0..1, quaternions of length 1."""
    slot = bench.block.slot
    names = tuple(name for place in SLOTS[SLOTS.index(slot) :] for name in OUTPUTS[place])
    for situation in SITUATIONS:
        for mode in Mode:
            for airborne in (1.0, 0.0):
                s = hovering_signals()
                s.mode = s.mode_in_force = mode
                s.airborne = airborne
                situation.change(s)
                fault = _fault(bench.run(s, times=RUNS)[0], names)
                if fault:
                    place = "in the air" if airborne else "on the ground"
                    words = f"{fault} {situation.words} ({mode.name.lower()}, {place}); {situation.remedy}"
                    return Finding("limits", False, words)
    return Finding("limits", True, f"finite and in range in {len(SITUATIONS)} situations at the limits")


def _fault(s: Any, names: tuple[str, ...]) -> str:
    """What is wrong with the signals in words, empty if nothing."""
    if wrong := not_finite(s, names):
        return f"{', '.join(wrong)} becomes NaN or infinite"
    motor = np.asarray(s.motor)
    if np.any(motor < 0.0) or np.any(motor > 1.0):
        return f"motor becomes {motor.min():.3g} to {motor.max():.3g}, must be 0 to 1,"
    for name in ("attitude", "attitude_wanted"):
        length = float(np.linalg.norm(s[name]))
        if abs(length - 1.0) > SKEW:
            return f"{name} has length {length:.3g}, must be 1,"
    return ""
