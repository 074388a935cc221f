"""Columns that a log may have: quantity, part and unit are in the name. What `quadsim export` writes is understood as it is.

Body axes forward-right-down, world axes north-east-down, right-handed turns positive (roll right, nose up, clockwise).
"""

from __future__ import annotations

import difflib
from dataclasses import dataclass

from quadsim.constants import G0
from quadsim.dynamics.state import ROTOR_NAMES
from quadsim.units import DEG, KMH, MILLI, RPM

UNITS: dict[str, dict[str, tuple[float, float]]] = {
    "time": {"s": (1.0, 0.0), "ms": (1e-3, 0.0), "us": (1e-6, 0.0)},
    "rate": {"deg_s": (DEG, 0.0), "rad_s": (1.0, 0.0)},
    "angle": {"deg": (DEG, 0.0), "rad": (1.0, 0.0)},
    "acceleration": {"m_s2": (1.0, 0.0), "g": (G0, 0.0)},
    "speed": {"m_s": (1.0, 0.0), "km_h": (KMH, 0.0)},
    "length": {"m": (1.0, 0.0)},
    "voltage": {"V": (1.0, 0.0), "mV": (MILLI, 0.0)},
    "current": {"A": (1.0, 0.0), "mA": (MILLI, 0.0)},
    "share": {"": (1.0, 0.0), "pct": (0.01, 0.0), "us": (1e-3, -1.0)},
    "stick": {"": (1.0, 0.0), "pct": (0.01, 0.0)},
    "rotor": {"rad_s": (1.0, 0.0), "rpm": (RPM, 0.0)},
    "number": {"": (1.0, 0.0)},
    "degrees": {"deg": (1.0, 0.0)},
}
"""Kind of quantity -> unit in the name -> (factor, offset) to SI; `us` of a share is a pulse of 1000 to 2000."""


@dataclass(frozen=True)
class Place:
    """Where a column goes: channel, part of it, and how its numbers become SI: factor * number + offset.

    rank : of two columns for one place the lower counts
    """

    channel: str
    part: int
    factor: float
    offset: float
    rank: int


PARTS = {
    "gyro": 3, "accel": 3, "euler": 3, "attitude": 4, "velocity": 3, "position": 2, "motor": 4, "rotor_speed": 4, "stick": 4,
    "geodetic": 2,
}  # fmt: skip
"""Numbers of each channel; all others have one."""
TURN, AXES, BODY = ("roll", "pitch", "yaw"), ("x", "y", "z"), ("forward", "right", "down")
WORLD, NUMBERS = ("north", "east", "down"), ("1", "2", "3", "4")

_NAMED: tuple[tuple[str, str, tuple[str, ...], tuple[tuple[str, ...], ...], int], ...] = (
    # channel, kind, words before the part, the parts (as one or several sets of names), rank
    ("gyro", "rate", ("gyro",), (TURN, AXES), 0),
    ("gyro", "rate", ("rates",), (TURN,), 2),
    ("accel", "acceleration", ("accel",), (BODY, AXES), 0),
    ("attitude", "number", ("attitude",), (("w", "x", "y", "z"),), 0),
    ("velocity", "speed", ("velocity",), (WORLD,), 0),
    ("position", "length", ("position", ""), (WORLD[:2],), 0),
    ("motor", "share", ("motor",), (ROTOR_NAMES, NUMBERS), 0),
    ("rotor_speed", "rotor", ("rotor_speed", "rpm"), (ROTOR_NAMES, NUMBERS), 0),
    ("stick", "stick", ("stick",), ((*TURN, "throttle"),), 0),
)
_ALONE: tuple[tuple[str, int, str, tuple[str, ...], int], ...] = (
    ("time", 0, "time", ("time", "t"), 0),
    ("euler", 0, "angle", ("roll",), 0),
    ("euler", 1, "angle", ("pitch",), 0),
    ("euler", 2, "angle", ("yaw", "heading"), 0),
    ("height", 0, "length", ("height",), 0),
    ("height", 0, "length", ("baro_height",), 1),
    ("climb_rate", 0, "speed", ("climb_rate",), 0),
    ("geodetic", 0, "degrees", ("latitude",), 0),
    ("geodetic", 1, "degrees", ("longitude",), 0),
    ("groundspeed", 0, "speed", ("groundspeed",), 0),
    ("airspeed", 0, "speed", ("airspeed",), 0),
    ("voltage", 0, "voltage", ("voltage", "battery_voltage"), 0),
    ("current", 0, "current", ("current", "battery_current"), 0),
)


def _join(*words: str) -> str:
    return "_".join(word for word in words if word)


def _known() -> dict[str, Place]:
    found: dict[str, Place] = {}
    for channel, kind, befores, sets, rank in _NAMED:
        for before in befores:
            for names in sets:
                for k, name in enumerate(names):
                    for unit, (factor, offset) in UNITS[kind].items():
                        written = "" if before == unit else unit  # rpm_1 says its unit already
                        if before == "rpm" and unit != "rpm":
                            continue
                        found[_join(before, name, written)] = Place(channel, k, factor, offset, rank)
    for channel, part, kind, befores, rank in _ALONE:
        for before in befores:
            for unit, (factor, offset) in UNITS[kind].items():
                found[_join(before, unit)] = Place(channel, part, factor, offset, rank)
    return found


KNOWN = _known()
"""Every name of a column that is understood."""
HEARD = "signals/"
"""Before the names of what the flight controller knew, in an exported run."""
TRUTH_RANK = 10
"""Added to the rank of a plain name where the header also has names under `signals/`: a log is what was measured."""


def place_of(name: str, exported: bool = False) -> Place | None:
    """Where a column belongs, None for one that is not known. exported : the header is that of an exported run."""
    heard = name.startswith(HEARD)
    place = KNOWN.get(name.removeprefix(HEARD))
    if place is None or not exported or heard or place.channel == "time":
        return place
    return Place(place.channel, place.part, place.factor, place.offset, place.rank + TRUTH_RANK)


def without_unit(name: str) -> list[str]:
    """The known names that a name would be with a unit."""
    bare = name.removeprefix(HEARD)
    return [
        known
        for known in KNOWN
        if known.startswith(f"{bare}_") and "_" not in known[len(bare) + 1 :].replace("_s", "")
    ]


def hinted(name: str) -> str:
    """A name that is not known, with the known one that it is nearest to, if any."""
    small = {known.lower(): known for known in KNOWN}
    near = difflib.get_close_matches(name.lower(), small, 1, 0.75)
    return f"{name} (meant {small[near[0]]}?)" if near else name
