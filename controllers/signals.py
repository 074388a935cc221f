"""The records that control blocks read and write: everything a flight controller knows, and never the truth.

Each signal is declared once, here: its name, shape, unit, frame, who writes it and what it means. The record type,
the log columns and the nomenclature table follow from this list.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum

import numpy as np

F = np.float64


class Mode(IntEnum):
    """Response type of the guidance, named as in ADS-33E-PRF (handling qualities, 2000), sec. 3.2 and table IV."""

    RATE_COMMAND = 0
    """Sticks command body rates and thrust."""
    ATTITUDE_COMMAND = 1
    """Sticks command roll and pitch angle, yaw rate and thrust."""
    HEIGHT_HOLD = 2
    """Sticks command roll and pitch angle, yaw rate and climb rate; a centred stick holds height."""
    SETPOINT = 3
    """Roll, pitch, heading and height follow `target_*`; the sticks are not read."""


class Stick(IntEnum):
    """Order of the `stick` signal."""

    ROLL = 0
    PITCH = 1
    YAW = 2
    THROTTLE = 3


@dataclass(frozen=True)
class Signal:
    """One named signal: shape () for a scalar, unit in brackets of text, frame where it is a vector."""

    name: str
    shape: tuple[int, ...]
    unit: str
    frame: str
    written_by: str
    meaning: str


SIGNALS_TABLE = (
    Signal("t", (), "s", "", "loop", "time since the start of the flight"),
    Signal("dt", (), "s", "", "loop", "interval of the block that is running"),
    Signal("mode", (), "-", "", "loop", "response type asked for (Mode)"),
    Signal("link", (), "-", "", "loop", "radio link: 1 good, 0 lost"),
    Signal(
        "gyro", (3,), "rad/s", "body", "loop", "angular rate measured, after delay and mounting correction"
    ),
    Signal("accel", (3,), "m/s2", "body", "loop", "specific force measured at the sensor"),
    Signal("baro_height", (), "m", "", "loop", "height above the take-off point from pressure, up positive"),
    Signal("battery_voltage", (), "V", "", "loop", "voltage at the pack"),
    Signal("battery_current", (), "A", "", "loop", "current of the whole pack"),
    Signal("stick", (4,), "-", "", "loop", "roll, pitch, yaw -1..1, throttle 0..1"),
    Signal("target_roll", (), "rad", "", "loop", "roll angle for the setpoint mode"),
    Signal("target_pitch", (), "rad", "", "loop", "pitch angle for the setpoint mode"),
    Signal("target_yaw", (), "rad", "", "loop", "heading for the setpoint mode"),
    Signal("target_height", (), "m", "", "loop", "height for the setpoint mode, up positive"),
    Signal("attitude", (4,), "-", "body to world", "estimate", "attitude quaternion, scalar first"),
    Signal("rates", (3,), "rad/s", "body", "estimate", "angular rate, filtered and free of estimated bias"),
    Signal("height", (), "m", "", "estimate", "height above the take-off point, up positive"),
    Signal("climb_rate", (), "m/s", "", "estimate", "vertical speed, up positive"),
    Signal("airborne", (), "-", "", "guide", "1 once lifted off, 0 on the ground: integrators wait for it"),
    Signal("attitude_wanted", (4,), "-", "body to world", "guide", "attitude quaternion asked for"),
    Signal(
        "rates_fed_forward", (3,), "rad/s", "body", "guide", "rate added to what attitude control asks for"
    ),
    Signal("attitude_weight", (), "-", "", "guide", "1 attitude is controlled, 0 rates alone"),
    Signal("thrust_wanted", (), "N", "", "guide", "total thrust along minus body z"),
    Signal("rates_wanted", (3,), "rad/s", "body", "attitude", "angular rate asked for"),
    Signal("angular_acceleration_wanted", (3,), "rad/s2", "body", "rate", "angular acceleration asked for"),
    Signal("motor", (4,), "-", "", "allocate", "motor command 0..1 per rotor"),
    Signal(
        "unallocated",
        (4,),
        "rad/s2, N",
        "body",
        "allocate",
        "what was asked and could not be given: roll, pitch, yaw acceleration and thrust",
    ),
)

BUILDER_TABLE = (
    Signal("mass", (), "kg", "", "resolve", "take-off mass without contest payload"),
    Signal("inertia", (3, 3), "kg m2", "body", "resolve", "inertia tensor about the centre of mass"),
    Signal(
        "effectiveness",
        (4, 4),
        "rad/s2 per N, -",
        "body",
        "resolve",
        "rows roll, pitch, yaw acceleration and thrust; columns rotor thrust",
    ),
    Signal("allocation", (4, 4), "N per rad/s2, -", "body", "resolve", "inverse of `effectiveness`"),
    Signal("max_thrust", (), "N", "", "resolve", "greatest thrust of one rotor, full command, full battery"),
    Signal(
        "thrust_curve",
        (),
        "-",
        "",
        "resolve",
        "k in thrust/max_thrust = k u^2 + (1 - k) u for the motor command u, at `nominal_voltage`",
    ),
    Signal("nominal_voltage", (), "V", "", "resolve", "pack voltage the thrust curve was taken at"),
    Signal("hover_throttle", (), "-", "", "resolve", "motor command in hover"),
    Signal("idle", (), "-", "", "resolve", "least motor command while armed"),
)


def _dtype(table: tuple[Signal, ...]) -> np.dtype:
    return np.dtype([(s.name, F, s.shape) if s.shape else (s.name, F) for s in table], align=True)


SIGNALS = _dtype(SIGNALS_TABLE)
"""One row per craft: what the flight controller knows and what the blocks hand on."""

BUILDER = _dtype(BUILDER_TABLE)
"""What the builder knows of the craft; the `craft` argument of a block."""


def rows(dtype: np.dtype, count: int = 1) -> np.recarray:
    """`count` zeroed records of `dtype`, with the fields as attributes in Python too."""
    return np.zeros(count, dtype).view(np.recarray)
