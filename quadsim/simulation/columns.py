"""The columns of a log: the truth first, then every signal. Names, units and frames come from the tables."""

from __future__ import annotations

from controllers.signals import SIGNALS_TABLE, Signal
from quadsim.dynamics.records import dtype_of

TRUTH_TABLE = (
    Signal("t", (), "s", "", "log", "time since the start of the flight"),
    Signal("position", (3,), "m", "world", "log", "frame's origin, north-east-down from the take-off point"),
    Signal("velocity", (3,), "m/s", "world", "log", "velocity of the centre of mass, north-east-down"),
    Signal("attitude", (4,), "-", "body to world", "log", "quaternion, scalar first"),
    Signal("rates", (3,), "rad/s", "body", "log", "angular rate p, q, r"),
    Signal("imu_samples", (), "-", "", "log", "samples of the inertial sensor so far"),
    Signal("gyro_clipped", (), "-", "", "log", "those in which an axis of the gyroscope was beyond its range"),
    Signal("accel_clipped", (), "-", "", "log", "those in which an axis of the accelerometer was"),
    Signal("rotor_speed", (4,), "rad/s", "", "log", "rotor speeds"),
    Signal("charge", (), "-", "", "log", "state of charge, 1 full to 0 empty"),
    Signal("wind", (3,), "m/s", "world", "log", "velocity of the air, north-east-down"),
    Signal("duty", (4,), "-", "", "log", "share of the pack voltage across each motor"),
    Signal("thrust", (4,), "N", "", "log", "rotor thrusts"),
    Signal("descent_ratio", (), "-", "", "log", "descent through the air over hover induced velocity"),
    Signal("edgewise_ratio", (), "-", "", "log", "speed along the discs over hover induced velocity"),
    Signal("motor_current", (4,), "A", "", "log", "motor currents (at the motor)"),
    Signal("battery_current", (), "A", "", "log", "pack current (at the pack)"),
    Signal("battery_voltage", (), "V", "", "log", "pack voltage under load"),
    Signal("weakest_cell", (), "V", "", "log", "loaded voltage of the weakest cell"),
    Signal("pack_temperature", (), "K", "", "log", "temperature of the pack"),
    Signal("winding_temperature", (4,), "K", "", "log", "temperatures of the motors' windings"),
    Signal("case_temperature", (4,), "K", "", "log", "temperatures of the motors' cases and magnets"),
    Signal("contact_force", (), "N", "", "log", "normal force of the ground on all feet"),
    Signal("mass", (), "kg", "", "log", "mass with what is fixed to the craft; a load on a line is not"),
    Signal("load_mass", (), "kg", "", "log", "load on a line or let go, half the line with it; 0: none"),
    Signal("load_position", (3,), "m", "world", "log", "its middle, north-east-down from the take-off point"),
    Signal("load_velocity", (3,), "m/s", "world", "log", "its velocity, north-east-down"),
    Signal("line_tension", (), "N", "", "log", "tension of its line, 0 when slack"),
    Signal("line_peak", (), "N", "", "log", "greatest tension since the row before"),
    Signal(
        "line_swing", (), "rad", "", "log", "angle of the line from the vertical while the load hangs, else 0"
    ),
)

_SUFFIX = {"-": "", "rad/s": "_rad_s", "m/s": "_m_s", "m/s2": "_m_s2", "rad/s2": "_rad_s2", "rad/s2, N": ""}


def column_name(signal: Signal) -> str:
    """Name of a log column: the signal's name and its unit, such as `position_m`."""
    return signal.name + _SUFFIX.get(signal.unit, f"_{signal.unit}")


LOGGED_SIGNALS = tuple(s for s in SIGNALS_TABLE if s.name not in ("t", "dt"))
TRUTH = dtype_of(TRUTH_TABLE)
"""One row of the truth; beside it stands one row of SIGNALS."""


def columns() -> dict[str, Signal]:
    """Column name -> signal; the truth plain, what the flight controller knew under `signals/`."""
    named = {column_name(s): s for s in TRUTH_TABLE}
    named.update({"signals/" + column_name(s): s for s in LOGGED_SIGNALS})
    return named
