"""Load a flight: find the file, check it against the schema, check that its timeline makes sense."""

from __future__ import annotations

import difflib
from collections.abc import Iterator
from pathlib import Path

from quadsim.config.find_data import find_file
from quadsim.config.flight_schema import FaultSection, FlightFile
from quadsim.config.listing import Finding, Rule, checked
from quadsim.config.metric_names import METRIC_NAMES
from quadsim.config.toml_reader import Document, parse_toml, read_toml

_NEEDS = {
    "rotor_weak": "rotor",
    "rotor_lost": "rotor",
    "spin_reversed": "rotor",
    "propeller_upside_down": "rotor",
    "propeller_imbalance": "rotor",
    "rotors_swapped": "rotors",
    "gyro_axis_reversed": "axis",
}


def load_flight(path_or_name: str | Path) -> FlightFile:
    """A checked flight from a file, or from the name of a shipped one.

    Raises
    ------
    InputError
        that lists every problem of the file.
    """
    path = find_file(path_or_name, "flights")
    flight = _checked_flight(read_toml(path))
    flight._path = path
    return flight


def parse_flight(text: str, source: str = "flight") -> FlightFile:
    """A checked flight from TOML text; errors as for `load_flight`."""
    return _checked_flight(parse_toml(text, source))


def _checked_flight(document: Document) -> FlightFile:
    flight = checked(FlightFile, document, RULES)
    flight._source_text = document.text
    return flight


def _fault_problems(fault: FaultSection, where: tuple[str | int, ...]) -> Iterator[Finding]:
    needed = _NEEDS.get(fault.kind)
    if needed and getattr(fault, needed) is None:
        choices = {"rotor": "front_right, rear_right, rear_left or front_left", "axis": "roll, pitch or yaw"}
        allowed = f"{fault.kind} needs {needed} = {choices.get(needed, '[place, place]')}"
        yield (*where, needed), "is missing", allowed, "Say which"
    if fault.rotors is not None and fault.rotors[0] == fault.rotors[1]:
        yield (*where, "rotors"), f"names {fault.rotors[0]} twice", "must be two places", "Name two rotors"


def _timeline_problems(flight: FlightFile) -> Iterator[Finding]:
    """Faults that lack a key, releases of what was never attached, actions after the end."""
    held: set[str] = set()
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
            held.add(action.attach.name)
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
    ({"expect"}, _expect_problems),
    ({"at", "duration_s"}, _late_actions),
    ({"expect", "duration_s"}, _late_expectations),
)
