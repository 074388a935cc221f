"""From a flight file's timeline to the table of commands and to the actions that happen at a tick."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from controllers.contract import Block
from controllers.signals import Mode
from quadsim.config.flight_schema import ActionSection, FlightFile
from quadsim.config.sticks_schema import StickLink, Sticks
from quadsim.simulation.carried import COMMAND_FIELDS
from quadsim.units import DEG, MILLI

_CHANNELS = {
    "stick_roll": ("roll", 1.0),
    "stick_pitch": ("pitch", 1.0),
    "stick_yaw": ("yaw", 1.0),
    "stick_throttle": ("throttle", 1.0),
    "roll_deg": ("target_roll", DEG),
    "pitch_deg": ("target_pitch", DEG),
    "heading_deg": ("target_yaw", DEG),
    "height_m": ("target_height", 1.0),
    "north_m": ("target_north", 1.0),
    "east_m": ("target_east", 1.0),
}
FOUND = ("rotor_lost",)
"""Faults after which the flight controller finds that a rotor does not answer. A blocked one goes on taking commands and
current, and is taken for sound; assumed."""
_PLACES = ("position_hold", "waypoint", "trajectory", "homing")
"""Modes that need a known place."""


@dataclass(frozen=True)
class Due:
    """An action of the timeline at the tick where it happens, or where the fault that it brought ends or is found."""

    tick: int
    action: ActionSection
    ends: bool = False
    finds: bool = False


def asks_for_place(flight: FlightFile) -> bool:
    """True when the timeline has a mode that flies to a place or holds one."""
    return any(mode in _PLACES for mode in (flight.start.mode, *(action.mode for action in flight.at)))


def _lay_trajectory(flight: FlightFile, times: np.ndarray, table: np.ndarray, index: dict[str, int]) -> None:
    """Targets of the trajectory, in the rows where it is flown; before its first row and after its last it stands still."""
    path = flight.path_asked
    flown = table[:, index["mode"]] == Mode.TRAJECTORY
    if path is None or not flown.any():
        return
    place, velocity, acceleration = path.at(times[flown])
    for k, name in enumerate(("target_north", "target_east", "target_height")):
        table[flown, index[name]] = place[:, k]
    for k, axis in enumerate(("north", "east", "down")):
        table[flown, index[f"velocity_{axis}"]] = velocity[:, k]
        table[flown, index[f"acceleration_{axis}"]] = acceleration[:, k]
    heading = path.heading_at(times[flown])
    if heading is not None:
        table[flown, index["target_yaw"]] = heading


def command_table(flight: FlightFile, interval_s: float) -> np.ndarray:
    """Sticks and targets over time, shape (n, len(COMMAND_FIELDS)), one row per `interval_s`; SI, radians.

    A ramp starts at its action's time from the value that stood there; a later action on the same channel cuts it off.
    """
    count = math.ceil(flight.duration_s / interval_s) + 1
    times = np.arange(count) * interval_s
    table = np.zeros((count, len(COMMAND_FIELDS)))
    index = {name: k for k, name in enumerate(COMMAND_FIELDS)}
    table[:, index["mode"]] = Mode[flight.start.mode.upper()]
    table[:, index["link"]] = 1.0
    table[:, index["throttle"]] = 0.5 if flight.start.height_m > 0 else 0.0
    table[:, index["target_yaw"]] = flight.start.heading_deg * DEG
    table[:, index["target_height"]] = flight.start.height_m
    for action in sorted(flight.at, key=lambda a: a.t_s):
        first = math.ceil(action.t_s / interval_s - 1e-9)
        if first >= count:
            continue
        if action.mode is not None:
            table[first:, index["mode"]] = Mode[action.mode.upper()]
        if action.link is not None:
            table[first:, index["link"]] = 1.0 if action.link == "good" else 0.0
        share = np.ones(count - first)
        if action.ramp_s > 0.0:
            share = np.clip((times[first:] - action.t_s) / action.ramp_s, 0.0, 1.0)
        for key, (channel, unit) in _CHANNELS.items():
            value = getattr(action, key)
            if value is not None:
                column = table[first:, index[channel]]
                begin = column[0]
                column[:] = begin + share * (value * unit - begin)
    _lay_trajectory(flight, times, table, index)
    return table


def timeline(flight: FlightFile, h: float, detection_s: float = math.inf) -> list[Due]:
    """Actions that change the craft or deserve an event mark, by tick.

    detection_s : time in which the flight controller finds that a rotor does not answer any more [s]
    """
    dues = [Due(math.ceil(a.t_s / h - 1e-9), a) for a in flight.at]
    for a in flight.at:
        if a.fault is not None and a.fault.lasts_s is not None:
            dues.append(Due(math.ceil((a.t_s + a.fault.lasts_s) / h - 1e-9), a, ends=True))
        if a.fault is not None and a.fault.kind in FOUND and math.isfinite(detection_s):
            dues.append(Due(math.ceil((a.t_s + detection_s) / h - 1e-9), a, finds=True))
    return sorted(dues, key=lambda due: due.tick)


def hold_stick_link(link: StickLink, clock: Any) -> None:
    """Into the CLOCK record: what the radio link does to the sticks, in ticks of its step."""
    clock.stick_delay = round(link.delay_ms * MILLI / float(clock.h))
    clock.stick_every = max(round(1.0 / (link.rate_Hz * float(clock.h))), 1)
    clock.stick_steps = link.steps
    trim = link.trim
    clock.trim[:] = np.array([trim.roll_pct, trim.pitch_pct, trim.yaw_pct]) / 100.0


def shape_sticks(sticks: Sticks, guide: Block, gains: np.ndarray) -> None:
    """Into the gains of a guide: the craft's stick shaping, as far as that guide knows it."""
    asked = sticks.as_gains()
    for gain in guide.gains:
        gains[gain] = asked.get(gain.name.lower(), gains[gain])
