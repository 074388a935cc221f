"""Load a flight: find the file, check it against the schema, check that its timeline makes sense."""

from __future__ import annotations

import difflib
import math
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from quadsim.config.find_data import find_file
from quadsim.config.flight_schema import AttachSection, FaultSection, FlightFile
from quadsim.config.listing import Finding, Rule, checked
from quadsim.config.metric_names import METRIC_NAMES
from quadsim.config.toml_reader import Document, parse_toml, read_toml
from quadsim.config.trajectory import Trajectory, read_trajectory
from quadsim.config.wind_record import read_wind_record
from quadsim.config.wind_rules import WIND_RULES
from quadsim.errors import InputError, Problem

_NEEDS = {
    "rotor_weak": "rotor",
    "rotor_lost": "rotor",
    "rotor_stuck": "rotor",
    "esc_desync": "rotor",
    "spin_reversed": "rotor",
    "propeller_upside_down": "rotor",
    "propeller_imbalance": "rotor",
    "rotors_swapped": "rotors",
    "gyro_axis_reversed": "axis",
    "sensor_stuck": "sensor",
    "sensor_lost": "sensor",
}
_PASSING = (
    "esc_desync",
    "sensor_stuck",
    "sensor_lost",
    "baro_stuck",
    "gnss_lost",
    "compass_disturbed",
    "rangefinder_lost",
)
"""Faults that may last for a stated time."""


def load_flight(path_or_name: str | Path) -> FlightFile:
    """A checked flight from a file, or from the name of a shipped one.

    Raises
    ------
    InputError
        that lists every problem of the file.
    """
    path = find_file(path_or_name, "flights")
    flight = _checked_flight(read_toml(path), path.parent)
    flight._path = path
    return flight


def parse_flight(text: str, source: str = "flight") -> FlightFile:
    """A checked flight from TOML text; errors as for `load_flight`."""
    return _checked_flight(parse_toml(text, source), Path())


def flight_of(data: dict[str, Any], path: Path) -> FlightFile:
    """A checked flight from the data of a file that was read before from `path`; errors as for `load_flight`."""
    flight = _checked_flight(Document(data, "", str(path)), path.parent)
    flight._path = path
    return flight


def _checked_flight(document: Document, folder: Path) -> FlightFile:
    flight = checked(FlightFile, document, RULES)
    if flight.wind.record:
        flight._wind_record = read_wind_record(folder / Path(flight.wind.record).expanduser())
    if flight.trajectory:
        flight._trajectory = _trajectory_within(flight, folder / Path(flight.trajectory).expanduser())
    flight._source_text = document.text
    return flight


def _trajectory_within(flight: FlightFile, path: Path) -> Trajectory:
    """The flight's trajectory; it has to end before the flight does."""
    trajectory = read_trajectory(path)
    if trajectory.end_s > flight.duration_s:
        given = f"its last row is at {trajectory.end_s:g} s"
        raise InputError(
            [Problem("trajectory", given, f"the flight ends at {flight.duration_s:g} s")], str(path)
        )
    return trajectory


def _trajectory_missing(flight: FlightFile) -> Iterator[Finding]:
    """The mode without a file."""
    if not flight.trajectory and "trajectory" in (flight.start.mode, *(action.mode for action in flight.at)):
        yield (
            ("trajectory",),
            "is missing",
            'mode = "trajectory" needs trajectory = "FILE.csv"',
            "Name the file",
        )


def _trajectory_unused(flight: FlightFile) -> Iterator[Finding]:
    """The file without the mode."""
    if "trajectory" not in (flight.start.mode, *(action.mode for action in flight.at)):
        given = f"is {flight.trajectory!r}, and is never flown"
        yield ("trajectory",), given, 'mode = "trajectory" in an [[at]] flies it', "Add it"


def _fault_problems(fault: FaultSection, where: tuple[str | int, ...]) -> Iterator[Finding]:
    needed = _NEEDS.get(fault.kind)
    if needed and getattr(fault, needed) is None:
        choices = {"rotor": "front_right, rear_right, rear_left or front_left", "axis": "roll, pitch or yaw"}
        choices["sensor"] = "gyro or accelerometer"
        allowed = f"{fault.kind} needs {needed} = {choices.get(needed, '[place, place]')}"
        yield (*where, needed), "is missing", allowed, "Say which"
    if fault.duration_s is not None and fault.kind not in _PASSING:
        allowed = f"{fault.kind} stays; what may pass: {', '.join(_PASSING)}"
        yield (*where, "duration_s"), f"is {fault.duration_s:g}", allowed, "Leave it out"
    if fault.rotors is not None and fault.rotors[0] == fault.rotors[1]:
        yield (*where, "rotors"), f"names {fault.rotors[0]} twice", "must be two places", "Name two rotors"


_ON_A_LINE = (
    "hook_mm",
    "hook_mass_g",
    "line_mass_g",
    "line_diameter_mm",
    "stretch_pct",
    "line_damping_ratio",
)


def _attach_problems(attach: AttachSection, slung: bool, where: tuple[str | int, ...]) -> Iterator[Finding]:
    """Keys of a line without a line, a second line, a load that is farther away than its line is long."""
    if attach.line_m is None:
        for key in _ON_A_LINE:
            if key in attach.model_fields_set:
                yield (*where, key), "is for a load on a line", "needs line_m = ... beside it", "Add it"
        return
    if slung:
        yield where, "is a second load on a line", "one at a time", "Release the first one before"
    if attach.at_mm is not None:
        away = math.dist(attach.at_mm, attach.hook_mm) / 1000.0
        if away > attach.line_m:
            given = f"is {away:.2f} m from the hook"
            yield (*where, "at_mm"), given, f"the line is {attach.line_m:g} m long", "Move it closer"


def _timeline_problems(flight: FlightFile) -> Iterator[Finding]:
    """Faults that lack a key, releases of what was never attached, actions after the end."""
    held: set[str] = set()
    slung = ""
    for k, action in sorted(enumerate(flight.at), key=lambda item: item[1].t_s):
        if action.fault:
            yield from _fault_problems(action.fault, ("at", k, "fault"))
        if action.attach:
            if action.attach.name in held:
                yield (
                    ("at", k, "attach"),
                    f"{action.attach.name!r} hangs there already",
                    "",
                    "Give it another name",
                )
            yield from _attach_problems(action.attach, bool(slung), ("at", k, "attach"))
            held.add(action.attach.name)
            slung = action.attach.name if action.attach.line_m is not None else slung
        if action.release is not None:
            if action.release not in held:
                known = ", ".join(sorted(held)) or "nothing"
                yield (
                    ("at", k, "release"),
                    f"is {action.release!r}",
                    f"attached by then: {known}",
                    "Attach it earlier",
                )
            held.discard(action.release)
            slung = "" if action.release == slung else slung
        if sum(part is not None for part in (action.fault, action.attach, action.release)) > 1:
            yield (
                ("at", k),
                "has more than one of attach, release, fault",
                "one each",
                "Split it into two [[at]]",
            )


def _late_actions(flight: FlightFile) -> Iterator[Finding]:
    for k, action in enumerate(flight.at):
        if action.t_s > flight.duration_s:
            yield (
                ("at", k, "t_s"),
                f"is {action.t_s:g}",
                f"the flight ends at {flight.duration_s:g} s",
                "Move it",
            )


def _late_expectations(flight: FlightFile) -> Iterator[Finding]:
    for k, line in enumerate(flight.expect):
        if line.from_s > flight.duration_s:
            allowed = f"the flight ends at {flight.duration_s:g} s"
            yield ("expect", k, "from_s"), f"is {line.from_s:g}", allowed, "Move it"


def _expect_problems(flight: FlightFile) -> Iterator[Finding]:
    for k, line in enumerate(flight.expect):
        if line.metric not in METRIC_NAMES:
            near = difflib.get_close_matches(line.metric, METRIC_NAMES, 1)
            known = f"must be one of {', '.join(METRIC_NAMES)}"
            yield ("expect", k, "metric"), f"is {line.metric!r}", known, f"Nearest: {near[0]}" if near else ""
        if line.above is None and line.below is None:
            yield ("expect", k), "has no bound", "needs above = ... or below = ...", "Say what is expected"


RULES: tuple[Rule, ...] = (
    ({"at"}, _timeline_problems),
    ({"title"}, _trajectory_missing),
    ({"at", "trajectory"}, _trajectory_unused),
    ({"expect"}, _expect_problems),
    ({"at", "duration_s"}, _late_actions),
    ({"expect", "duration_s"}, _late_expectations),
    *WIND_RULES,
)
