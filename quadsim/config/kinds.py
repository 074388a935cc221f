"""Which kind of file a document is, told from its sections, for whoever hands one over in place of another."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from quadsim.errors import Problem


@dataclass(frozen=True)
class Kind:
    """A kind of file: the class of its schema, what it is called, keys and sections it must have, and what takes it."""

    schema: str
    noun: str
    marks: Mapping[str, type]
    taken_by: str


KINDS = (
    Kind("Craft", "a craft file", {"motor": dict, "propeller": dict, "battery": dict}, "quadsim inspect"),
    Kind("FlightFile", "a flight file", {"craft": str, "duration_s": object}, "quadsim fly"),
    Kind("CourseFile", "a course file", {"field": dict, "gate": list}, "quadsim pilot"),
    Kind("Contest", "a contest file", {"lift": dict, "dash": dict}, "quadsim report CRAFT --contest"),
    Kind("Catalogue", "a parts catalogue", {"shop": dict, "motor": list}, "quadsim choose"),
    Kind(
        "StickDevice",
        "a calibration of sticks",
        {"roll": dict, "throttle": dict},
        "quadsim pilot COURSE --device",
    ),
    Kind("GainsFile", "a gains file", {"gains": dict}, "quadsim card CRAFT --gains"),
)
"""A craft file may hold gains too, so a file of gains alone stands last."""


def another_kind(schema: str, data: Mapping[str, Any]) -> Problem | None:
    """The one problem of a document that is sound as a file of another kind than the `schema` asked for."""
    fitting = [
        kind for kind in KINDS if all(isinstance(data.get(k), t) and k in data for k, t in kind.marks.items())
    ]
    wanted = next((kind for kind in KINDS if kind.schema == schema), None)
    if wanted is None or not fitting or wanted in fitting:
        return None
    found = fitting[0]
    return Problem(
        "", f"is {found.noun}", f"{wanted.noun} is wanted here", f"{found.taken_by} takes this one"
    )
