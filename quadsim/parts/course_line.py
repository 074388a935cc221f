"""A slalom's best line beside the point mass on arcs: planned once for a middling craft, and kept on disk.

A point mass that accelerates by a goes around a given line in a time that goes with 1/sqrt(a); laps planned for nineteen craft
from 1.3 to 8 times their weight in thrust keep to that within 4 %, whatever their drag. What a good line gains over arcs that
touch both legs is therefore one number of the course.
"""

from __future__ import annotations

import hashlib
import math
from contextlib import suppress
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from controllers.cache import cache_root
from quadsim.config.contest_schema import Contest
from quadsim.config.course import Course
from quadsim.contest.middling_lap import LEVEL, middling_lap
from quadsim.contest.slalom import slalom_course
from quadsim.errors import FlightError, InputError
from quadsim.parts.kept import flight_sources
from quadsim.whole_file import whole_file

Array = NDArray[np.float64]

_KNOWN: dict[str, float] = {}


def line_over_point_mass(contest: Contest, rows: Array) -> float:
    """Planned lap over that of the point mass on arcs; 1 where no line is found. rows : see `course_rows`"""
    planned = _planned(slalom_course(contest))
    if not math.isfinite(planned):
        return 1.0
    from quadsim.parts.course_kernels import lap_time

    return planned / lap_time(rows, LEVEL, math.inf, np.empty(len(rows)))


def _planned(course: Course) -> float:
    """Best lap of a middling craft [s], infinite where there is no line; from memory or disk, where it was planned before."""
    name = hashlib.sha256(repr((flight_sources(), course)).encode()).hexdigest()[:24]
    if name not in _KNOWN:
        _KNOWN[name] = _from_disk(cache_root() / "lines" / f"{name}.txt", course)
    return _KNOWN[name]


def _from_disk(file: Path, course: Course) -> float:
    with suppress(OSError, ValueError):
        return float(file.read_text(encoding="utf-8"))
    try:
        seconds = middling_lap(course)
    except InputError:
        seconds = math.inf
    with suppress(OSError, FlightError):
        file.parent.mkdir(parents=True, exist_ok=True)
        with whole_file(file) as part:
            part.write_text(repr(seconds), encoding="utf-8")
    return seconds
