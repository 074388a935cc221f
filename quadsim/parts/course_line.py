"""A slalom's best line beside the point mass on arcs: planned once for a middling craft, and kept on disk.

A point mass that accelerates by a goes around a given line in a time that goes with 1/sqrt(a); laps planned for nineteen craft
from 1.3 to 8 times their weight in thrust keep to that within 4 %, whatever their drag. What a good line gains over arcs that
touch both legs is therefore one number of the course.
"""

from __future__ import annotations

import hashlib
import math
from contextlib import suppress
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from controllers.cache import cache_root
from quadsim.config.contest_schema import Contest
from quadsim.constants import G0
from quadsim.contest.lap_limits import LapRule
from quadsim.contest.lap_lines import CARES, careful, most_margin
from quadsim.contest.slalom import slalom_course
from quadsim.errors import FlightError, InputError
from quadsim.parts.kept import flight_sources
from quadsim.planning.limits import Limits
from quadsim.planning.plan import plan_line
from quadsim.units import DEG
from quadsim.whole_file import whole_file

Array = NDArray[np.float64]

MIDDLING = Limits(
    gravity=G0, thrust=5.0 * G0, thrust_fall=1.0, least_thrust=0.5 * G0, rate=15.0, tilt=85.0 * DEG, drag=0.02,
    drag_squared=0.011, radius=0.2, push=0.006,
)  # fmt: skip
"""Limits of a craft in the middle of those planned."""
LAPS, EFFORT = 2, 0.5
"""Laps of the plan, the faster of which counts, and share of the usual steps: within 0.2 % of three laps with all steps."""
_KNOWN: dict[str, float] = {}


def line_over_point_mass(contest: Contest, rows: Array) -> float:
    """Planned lap over that of the point mass on arcs; 1 where no line is found. rows : see `course_rows`"""
    course = replace(slalom_course(contest), laps=LAPS)
    planned = _planned(course)
    if not math.isfinite(planned):
        return 1.0
    from quadsim.parts.course_kernels import lap_time

    limits = careful(MIDDLING, CARES[0])
    return planned / lap_time(rows, math.sqrt(limits.thrust**2 - G0**2), math.inf, np.empty(len(rows)))


def _planned(course: Any) -> float:
    """Best lap of a middling craft [s], infinite where there is no line; from memory or disk, where it was planned before."""
    known_by = repr((flight_sources(), course, MIDDLING, EFFORT))
    name = hashlib.sha256(known_by.encode()).hexdigest()[:24]
    if name not in _KNOWN:
        _KNOWN[name] = _from_disk(cache_root() / "lines" / f"{name}.txt", course)
    return _KNOWN[name]


def _from_disk(file: Path, course: Any) -> float:
    with suppress(OSError, ValueError):
        return float(file.read_text(encoding="utf-8"))
    seconds = _plan(course)
    with suppress(OSError, FlightError):
        file.parent.mkdir(parents=True, exist_ok=True)
        with whole_file(file) as part:
            part.write_text(repr(seconds), encoding="utf-8")
    return seconds


def _plan(course: Any) -> float:
    """Planned with the care of the first line that is flown."""
    care = CARES[0]
    room = max(LapRule.margin, min(care.room, care.share * most_margin(course, MIDDLING)))
    try:
        plan = plan_line(course, careful(MIDDLING, care), room, EFFORT)
    except InputError:
        return math.inf
    return float(np.min(plan.lap_times))
