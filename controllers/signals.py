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
    POSITION_HOLD = 4
    """Sticks command horizontal velocity, yaw rate and climb rate; centred sticks hold place and height."""
    WAYPOINT = 5
    """Place, heading and height follow `target_*` at a limited speed."""
    TRAJECTORY = 6
    """Place, velocity and acceleration follow `target_*` as they come."""
    LANDING = 7
    """Comes down where it is, upright; holds the place where it is known."""
    HOMING = 8
    """Flies back to the take-off point at a safe height and lands there."""


class LinkLoss(IntEnum):
    """What the craft does when the radio link is lost; `craft.link_loss` and the signal `link_action`."""

    NONE = 0
    CUT = 1
    """Motors off: it falls."""
    LEVEL_DESCENT = 2
    """Level, sinking slowly, drifting with the wind."""
    HOMING = 3


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
    Signal("baro_count", (), "-", "", "loop", "pressure samples so far: a new one when it has changed"),
    Signal("gnss_position", (3,), "m", "world", "loop", "last fix, north-east-down from the take-off point"),
    Signal("gnss_velocity", (3,), "m/s", "world", "loop", "velocity of the last fix, north-east-down"),
    Signal("gnss_fix", (), "-", "", "loop", "1 while the receiver has a fix, else 0"),
    Signal("gnss_count", (), "-", "", "loop", "fixes so far"),
    Signal("magnetic_field", (3,), "T", "body", "loop", "magnetic field measured, as calibrated"),
    Signal("mag_count", (), "-", "", "loop", "samples of the magnetometer so far"),
    Signal(
        "range_distance", (), "m", "", "loop", "distance to the ground along body z; 0 while out of range"
    ),
    Signal("range_count", (), "-", "", "loop", "samples of the rangefinder so far"),
    Signal(
        "rotor_speed", (4,), "rad/s", "", "loop", "rotor speeds as the ESCs report them; 0 if they do not"
    ),
    Signal("rotor_lost", (4,), "-", "", "loop", "1 for a rotor found not to answer any more, else 0"),
    Signal("battery_voltage", (), "V", "", "loop", "voltage at the pack"),
    Signal("battery_current", (), "A", "", "loop", "current of the whole pack"),
    Signal("charge_used", (), "A s", "", "loop", "charge counted by the current sensor since take-off"),
    Signal("stick", (4,), "-", "", "loop", "roll, pitch, yaw -1..1, throttle 0..1, as received"),
    Signal("target_roll", (), "rad", "", "loop", "roll angle for the setpoint mode"),
    Signal("target_pitch", (), "rad", "", "loop", "pitch angle for the setpoint mode"),
    Signal("target_yaw", (), "rad", "", "loop", "heading for the setpoint mode"),
    Signal("target_height", (), "m", "", "loop", "height asked for, up positive"),
    Signal("target_north", (), "m", "", "loop", "place asked for, from the take-off point"),
    Signal("target_east", (), "m", "", "loop", "place asked for, from the take-off point"),
    Signal("target_velocity", (3,), "m/s", "world", "loop", "of the trajectory asked for"),
    Signal("target_acceleration", (3,), "m/s2", "world", "loop", "of the trajectory asked for"),
    Signal("attitude", (4,), "-", "body to world", "estimate", "attitude quaternion, scalar first"),
    Signal("rates", (3,), "rad/s", "body", "estimate", "angular rate, filtered and free of estimated bias"),
    Signal("height", (), "m", "", "estimate", "height above the take-off point, up positive"),
    Signal("climb_rate", (), "m/s", "", "estimate", "vertical speed, up positive"),
    Signal("position", (3,), "m", "world", "estimate", "north-east-down from the take-off point"),
    Signal("velocity", (3,), "m/s", "world", "estimate", "north-east-down"),
    Signal("position_known", (), "-", "", "estimate", "1 when horizontal position and velocity are known"),
    Signal("position_sigma", (), "m", "", "estimate", "its own standard deviation, horizontal; 0 unknown"),
    Signal("heading_known", (), "-", "", "estimate", "1 when the heading is tied to north"),
    Signal("armed", (), "-", "", "guide", "1 motors may turn, 0 they are off"),
    Signal(
        "mode_in_force", (), "-", "", "guide", "response type flown (Mode): asked for, or a safety action"
    ),
    Signal("link_action", (), "-", "", "guide", "what is done about a lost link (LinkLoss), 0 nothing"),
    Signal("battery_alert", (), "-", "", "guide", "0 fine, 1 low: warned, 2 acting on it"),
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
    Signal("rotor_position", (4, 3), "m", "body", "resolve", "hubs from the centre of mass"),
    Signal("spin", (4,), "-", "", "resolve", "+1 clockwise seen from above, -1 counter-clockwise"),
    Signal("thrust_per_speed2", (), "N s2", "", "resolve", "thrust over rotor speed squared, static"),
    Signal("torque_per_thrust", (), "m", "", "resolve", "rotor torque over thrust, static"),
    Signal("motor_lag", (2,), "s", "", "resolve", "63 % time of thrust around hover: down, up"),
    Signal(
        "yaw_lead", (), "s", "", "resolve", "rotors' inertia over the slope of their torque: yaw leads by it"
    ),
    Signal("loop_delay", (), "s", "", "resolve", "from motion to command in force, without filters"),
    Signal("speed_telemetry", (), "-", "", "resolve", "1 when the ESCs report rotor speeds"),
    Signal("cells", (), "-", "", "resolve", "cells in series"),
    Signal("capacity", (), "A s", "", "resolve", "charge of the full pack, aged"),
    Signal("reserve", (), "-", "", "resolve", "share of it to be left at landing"),
    Signal("pack_resistance", (), "ohm", "", "resolve", "of pack and leads, for the sag correction"),
    Signal("cutoff_cell_voltage", (), "V", "", "resolve", "loaded voltage at which the builder lands"),
    Signal("link_loss", (), "-", "", "resolve", "what to do on a lost link (LinkLoss)"),
    Signal("failsafe_delay", (), "s", "", "resolve", "silence that counts as a lost link"),
    Signal("gnss", (), "-", "", "resolve", "1 when it carries a satellite receiver"),
    Signal("compass", (), "-", "", "resolve", "1 when it carries a magnetometer"),
    Signal("rangefinder", (), "-", "", "resolve", "1 when it carries a downward rangefinder"),
    Signal("local_field", (3,), "T", "world", "resolve", "magnetic field of the place as told"),
    Signal("gyro_range", (), "rad/s", "", "resolve", "full scale"),
    Signal("gyro_density", (), "rad/s/rtHz", "", "resolve", "white noise, one-sided"),
    Signal("accel_density", (), "m/s2/rtHz", "", "resolve", "white noise, one-sided"),
    Signal("gyro_bias_sigma", (), "rad/s", "", "resolve", "turn-on bias, standard deviation"),
    Signal("accel_bias_sigma", (), "m/s2", "", "resolve", "turn-on bias, standard deviation"),
    Signal("baro_sigma", (), "m", "", "resolve", "of one sample"),
    Signal("gnss_sigma", (2,), "m", "", "resolve", "of a fix, per axis: horizontal, vertical"),
    Signal("gnss_velocity_sigma", (), "m/s", "", "resolve", "of a fix, per axis"),
    Signal("gnss_delay", (), "s", "", "resolve", "age of a fix when it arrives"),
    Signal("mag_sigma", (), "T", "", "resolve", "of one sample, per axis"),
    Signal("range_sigma", (), "m", "", "resolve", "of one sample"),
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
