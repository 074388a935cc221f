"""What a contest asks for: stated by its rules or by the builder's caution, one record per event."""

from __future__ import annotations

from dataclasses import dataclass

from quadsim.config.contest_schema import Contest

LOADED_CELL_V = 3.3
"""Least loaded voltage of a cell in an attempt [V]; common practice, no source."""
LABEL_SHARE = 0.5
"""Share of a label's C rating that counts when nothing was measured; common practice, no source."""
FLIGHTS = 3
"""Behind --flown, of a lift or a dash: what is predicted, within the limit and beyond it."""
STEP_G = 50.0
"""Steps of the contest's weights [g]; assumed."""


@dataclass(frozen=True)
class LiftRule:
    """An attempt at lifting: the load is held at a height far from the ground for a time.

    time_s : to be held, from a full battery
    moment_reserve : motor command that is left for attitude at the end [-]
    climb_m_s : climb rate that must be possible; gust_m_s : wind in which the place must be held
    cell_V : least loaded voltage of a cell [V]
    """

    time_s: float = 60.0
    moment_reserve: float = 0.10
    climb_m_s: float = 1.0
    gust_m_s: float = 5.0
    cell_V: float = LOADED_CELL_V


@dataclass(frozen=True)
class DashRule:
    """A measured straight, flown both ways.

    course_m : length of the straight; wind_m_s : along it
    mean_of : "speeds" or "times" of the two runs, or "one way", which counts against the wind
    start : "flying" through the first gate or "standing" on it; run_up_m : room before it, None for what it takes
    moment_reserve : motor command that is left for attitude [-]; tilt_deg : greatest tilt, the craft's own when None
    """

    course_m: float = 100.0
    wind_m_s: float = 0.0
    mean_of: str = "speeds"
    start: str = "flying"
    run_up_m: float | None = None
    moment_reserve: float = 0.05
    tilt_deg: float | None = None
    cell_V: float = LOADED_CELL_V
    between_s: float = 15.0
    """Hover between two runs, for turning round [s]; assumed."""


def dash_rule_of(contest: Contest, wind_m_s: float) -> DashRule:
    """The timing of a contest file in a wind [m/s], all of it along the straight."""
    rules = contest.dash
    return DashRule(
        float(rules.measured_m), wind_m_s, rules.timing.removeprefix("mean of "), rules.start,
        run_up_m=float(rules.run_up_m) if rules.start == "flying" else None,
    )  # fmt: skip
