"""The other side of a comparison: a run, flown before or now, as a log of its own; and how log and run agree once aligned."""

from __future__ import annotations

import numpy as np

from controllers.signals import Mode
from quadsim.config import Craft, parse_craft
from quadsim.config.flight_loader import parse_flight
from quadsim.config.flight_schema import FlightFile
from quadsim.errors import InputError, Problem
from quadsim.logs.agreement import Agreement, agreement
from quadsim.logs.alignment import Alignment, align
from quadsim.logs.flight_log import Array, FlightLog, Mask, settle_channels
from quadsim.simulation.carried import COMMAND_FIELDS
from quadsim.simulation.fly import start
from quadsim.simulation.run import Run
from quadsim.simulation.session import Session
from quadsim.units import DEG, RPM

STICK_MODES = ("rate_command", "attitude_command", "height_hold", "position_hold")
"""Response types in which a log's sticks can be flown again."""
NEAR = 0.35
"""A run follows a log where the rms stays under so much of the log's spread; our choice."""
LEAST_ROWS = 20
_CHANNELS = {
    "gyro": "gyro_rad_s", "accel": "accel_m_s2", "motor": "motor", "rotor_speed": "rotor_speed_rad_s", "attitude": "attitude",
    "stick": "stick", "height": "height_m", "climb_rate": "climb_rate_m_s", "velocity": "velocity_m_s",
    "voltage": "battery_voltage_V", "current": "battery_current_A",
}  # fmt: skip
"""Our channels -> columns of a run, what the flight controller knew."""
SHOWN = (
    ("gyro", 0, "roll rate", "deg/s", 1.0 / DEG), ("gyro", 1, "pitch rate", "deg/s", 1.0 / DEG),
    ("gyro", 2, "yaw rate", "deg/s", 1.0 / DEG), ("euler", 0, "roll", "deg", 1.0 / DEG), ("euler", 1, "pitch", "deg", 1.0 / DEG),
    ("height", None, "height", "m", 1.0), ("voltage", None, "pack voltage", "V", 1.0),
    ("current", None, "pack current", "A", 1.0),
    ("motor", None, "motor command, mean", "%", 100.0), ("rotor_speed", None, "rotor speed, mean", "rpm", 1.0 / RPM),
)  # fmt: skip


def run_as_log(run: Run) -> FlightLog:
    """What the flight controller of a run knew, as a log."""
    log = FlightLog(run.path, np.asarray(run.t_s - run.t_s[0], dtype=float), {})
    for channel, column in _CHANNELS.items():
        values = np.asarray(run[f"signals/{column}"], dtype=float)
        if not (np.ptp(values, axis=0) == 0.0).all():
            log.channels[channel] = values.copy()
    settle_channels(log)
    return log


def craft_of(run: Run) -> Craft:
    """The craft that a run was flown with, from the text kept in it."""
    return parse_craft(str(run.meta["craft_toml"]), f"craft of {run.path}")


def flight_of(run: Run) -> FlightFile | None:
    """The flight of a run, to be flown again; None where it needs files that stood beside its own."""
    try:
        return parse_flight(str(run.meta["flight_toml"]), f"flight of {run.path}")
    except InputError:
        return None


def beside(run: FlightLog, log: FlightLog, only: Mask | None = None) -> tuple[Alignment, list[Agreement]]:
    """Align a run with a log by their rates, and compare what both have; nothing when they are not the same manoeuvres.

    only : rows of the log to look at
    """
    found = align(run, log)
    if not found.same:
        return found, []
    t = found.to_log(run.t_s)
    rows = (log.t_s >= t[0]) & (log.t_s <= t[-1]) & (True if only is None else only)
    shown: list[Agreement] = []
    if rows.sum() < LEAST_ROWS:
        return found, shown
    for channel, part, name, unit, scale in SHOWN:
        if channel in run and channel in log:
            x, y = _column(run[channel], part), _column(log[channel], part)
            model = np.interp(log.t_s, t, x)
            allowed = NEAR * float(np.std(y[rows]))
            shown.append(
                agreement(
                    name, unit, log.t_s, y, model, rows, allowed, f"{NEAR:g} of the log's spread", scale
                )
            )
    return found, shown


def _column(values: Array, part: int | None) -> Array:
    if values.ndim == 1:
        return values
    return values[:, part] if part is not None else np.asarray(values.mean(axis=1))


def check_sticks(log: FlightLog, mode: str) -> None:
    """Whether a log's sticks can be flown in a response type.

    Raises
    ------
    InputError
        when the log has no sticks, or for a response type that does not read them.
    """
    if "stick" not in log:
        raise InputError(
            [
                Problem(
                    "--mode",
                    "the log has no sticks to fly",
                    "needs stick_roll, stick_pitch, stick_yaw, stick_throttle",
                )
            ]
        )
    if mode not in STICK_MODES:
        raise InputError([Problem("--mode", f"is {mode!r}", f"must be one of {', '.join(STICK_MODES)}")])


def fly_sticks(craft: Craft, log: FlightLog, mode: str) -> Session:
    """A session that flies the log's sticks with a craft, ready to fly. Raises InputError as `check_sticks`."""
    check_sticks(log, mode)
    session = start(_flight(craft, log, mode), craft=craft)
    # what the log holds came over the radio already
    session.clock.stick_delay, session.clock.stick_every, session.clock.trim[:] = 0, 1, 0.0
    table, column = session.commands, {name: k for k, name in enumerate(COMMAND_FIELDS)}
    t = np.arange(table.shape[0]) * float(session.h) * int(session.clock.command_every)
    for k, name in enumerate(("roll", "pitch", "yaw", "throttle")):
        table[:, column[name]] = np.interp(t, log.t_s, log["stick"][:, k])
    table[:, column["mode"]] = Mode[mode.upper()]
    return session


def _flight(craft: Craft, log: FlightLog, mode: str) -> FlightFile:
    height = max(float(log["height"][0]), 0.0) if "height" in log else 10.0
    heading = float(np.degrees(log["euler"][0, 2])) % 360.0 if "euler" in log else 0.0
    text = f"""
title = "Sticks of a log, flown again"
craft = "siskin"
duration_s = {log.duration_s:.3f}
log_rate_Hz = {min(max(log.rate_Hz, 50.0), 1000.0):.0f}
[start]
height_m = {height if height > 0.3 else 0.0:.3f}
heading_deg = {heading:.3f}
mode = "{mode}"
"""
    return parse_flight(text, "the log's sticks")
