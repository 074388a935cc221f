"""What `quadsim lap` prints."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np

from quadsim.cli.out import say
from quadsim.cli.table import Cell, Column, table

if TYPE_CHECKING:
    from quadsim.cli.lap_practised import Practised
    from quadsim.contest.lap import Lap
    from quadsim.contest.lap_learning import FlownLap
    from quadsim.planning.plan import Plan

WORDS = {
    "thrust": "thrust, less what is kept for attitude",
    "least": "least thrust that keeps hold of the attitude",
    "rate": "turning of the thrust",
    "tilt": "greatest tilt",
    "laws": "control laws: the planned line is too fast for them to hold",
}
CAUTION = (
    "A time in simulation is not a clearance to fly: nobody within the flying space, first laps slow, "
    "and a person with a switch."
)


def plan_document(plan: Plan) -> dict[str, Any]:
    """A plan as JSON: times in s, lengths in m."""
    speeds = np.linalg.norm(plan.line.spline.at(plan.line.times, 1), axis=1).tolist()
    return {
        "course": plan.course.name,
        "lap_time_s": float(np.min(plan.lap_times)),
        "planned_s": plan.line.total,
        "planned_laps_s": plan.lap_times.tolist(),
        "limit_shares": plan.share,
        "gates": [
            {"name": gate.name, "time_s": time, "speed_m_s": speed}
            for gate, time, speed in zip(plan.line.gates, plan.line.times.tolist(), speeds, strict=True)
        ],
    }


def lap_document(found: Lap, own: Practised | None = None) -> dict[str, Any]:
    """The result as JSON: times in s, lengths in m. own : the user's practice on this course, which corrects the estimate.

    Of gates: time_s planned, flown_s flown (null where missed), miss_m off the planned point, room_m to the frame."""
    estimate = found.pilot.seconds
    plan, low_high = found.plan, found.interval
    planned = plan_document(plan)
    for gate, one in zip(planned["gates"], found.flown.passages, strict=True):
        gate |= {"flown_s": one.flown_s, "miss_m": one.off_m, "room_m": one.room_m, "passed": one.passed}
    return {
        "craft": found.craft,
        **planned,
        "point_mass_s": plan.bound.total,
        "point_mass_any_direction_s": plan.free.total,
        "above_point_mass": plan.above_bound,
        "above_point_mass_any_direction": plan.above_free,
        "limited_by": found.limited_by,
        "holds": found.holds,
        "time_factor": found.factor,
        "time_factor_still_air": found.still_factor,
        "flown_lap_time_s": found.best_flown,
        "interval_s": list(low_high),
        "flights": found.tried,
        "flights_whole": len(found.laps),
        "missed_first": found.misses,
        "off_line_rms_m": found.flown.off_rms,
        "off_line_most_m": found.flown.off_most,
        "least_room_gate_m": found.flown.gate_room,
        "least_room_else_m": found.flown.room,
        "least_room_else": found.flown.nearest,
        "saturated_share": found.flown.saturated,
        "place_from_the_field": found.place_told,
        "pilot_lap_time_s": own.median if own is not None and own.enough else estimate,
        "pilot_estimate_s": estimate,
        **({} if own is None else own.document(estimate)),
        "pilot_parts_s": {name: value for name, value in vars(found.pilot).items() if name != "seconds"},
    }


def show_lap(found: Lap, own: Practised | None = None) -> None:
    """The result in words and one table."""
    plan = found.plan
    say()
    say(_title(found.craft, plan), "title")
    say(
        f"  from the same start a point mass takes {plan.bound.total:.2f} s with this craft's thrust and tilt (the line is "
        f"{100 * plan.above_bound:.0f} % above it), "
        f"{plan.free.total:.2f} s if it could push itself down ({100 * plan.above_free:.0f} %)"
    )
    say(f"  limited by: {WORDS[found.limited_by]}; {_shares(plan.share)}")
    _show_flown(found)
    say()
    _show_passages(found)
    say()
    pilot = found.pilot
    say(
        f"  a practised pilot, an estimate from assumed habits: {pilot.seconds:.1f} s\n"
        f"    = {pilot.planned:.2f} planned + {pilot.by_laws:.2f} as the autopilot flew + {pilot.by_thrust:.2f} less thrust "
        f"+ {pilot.by_reaction:.2f} reaction + {pilot.by_sticks:.2f} sticks + {pilot.by_margin:.2f} margin"
    )
    if own is not None:
        _show_practised(own, pilot.seconds)
    if found.place_told:
        told = "a system at the field tells it, 50 times a second to 5 cm (assumed)"
        say(f"  this craft cannot tell its place in a gate: {told}", "caution")
    say(CAUTION, "soft")


def _title(craft: str, plan: Plan) -> str:
    title = f"{craft} on {plan.course.name}: planned {float(np.min(plan.lap_times)):.2f} s a lap"
    return f"{title}, {plan.line.total:.2f} s from the start signal to the last gate"


def show_plan(craft: str, plan: Plan, tried: dict[float, list[FlownLap]]) -> None:
    """What was known when the work was interrupted. tried : flights in wind for each factor on the planned lap."""
    say()
    say(_title(craft, plan), "title")
    say(f"  {_shares(plan.share)}")
    for factor, flights in tried.items():
        if not flights:
            continue
        good = sum(one.whole for one in flights)
        say(f"  in {factor:.2f} times the planned time: {good} of {len(flights)} flights passed all gates")
    say()
    speeds = np.linalg.norm(plan.line.spline.at(plan.line.times, 1), axis=1).tolist()
    rows: list[list[str | Cell]] = [
        [gate.name, f"{time:.2f}", f"{speed:.1f}"]
        for gate, time, speed in zip(plan.line.gates, plan.line.times.tolist(), speeds, strict=True)
    ]
    say(table([Column("gate", words=True), Column("planned", "s"), Column("speed", "m/s")], rows))
    say("stopped: whether it can be flown in wind is not known yet", "caution")


def _show_practised(own: Practised, estimate: float) -> None:
    """The user's practice beside the estimate."""
    laps = f"{own.laps} clean lap{'s' * (own.laps != 1)} in practice"
    say(f"  {laps}: best {own.best:.1f} s, median of the last {own.median:.1f} s")
    if own.enough:
        ratio = own.median / estimate
        say(f"  so the estimate times {ratio:.2f}, the median over the estimate: {own.median:.1f} s", "good")
    else:
        say("  too few to correct the estimate", "soft")


def _shares(share: dict[str, float]) -> str:
    parts = [
        f"{name} {100 * value:.0f} %" for name, value in share.items() if name != "none" and value >= 0.01
    ]
    return "share of the time at a limit: " + ", ".join(parts) if parts else "no limit is reached"


def _show_flown(found: Lap) -> None:
    flown = found.flown
    if math.isfinite(found.still_factor):
        learnt = "in still air, after some flights to learn the line"
        say(f"  {learnt}: all gates in {found.still_factor:.2f} times the planned time")
    if not found.holds:
        say(
            f"  NOT held by the laws, up to {found.factor:.2f} times the planned time; {_missed(found)}",
            "bad",
        )
        return
    low, high = found.interval
    say(
        f"  flown by the autopilot on a line with more room: {found.best_flown:.2f} s a lap, {found.factor:.2f} times the "
        f"planned time; in wind and scatter {low:.2f} to {high:.2f} s (80 %)",
        "good",
    )
    say(f"  {len(found.laps)} of {found.tried} flights passed all gates; {_missed(found)}")
    say(
        f"  off its line {flown.off_rms:.2f} m rms, {flown.off_most:.2f} m at most; at least {flown.gate_room:.2f} m to frames, "
        f"{flown.room:.2f} m to {flown.nearest}; a motor at full command {100 * flown.saturated:.0f} % of the time"
    )


def _missed(found: Lap) -> str:
    if not found.misses:
        return "none missed one"
    worst = max(found.misses, key=lambda name: found.misses[name])
    return f"most often missed first: {worst}"


def _show_passages(found: Lap) -> None:
    """Planned is the time of the line at the limits, not of the one that was flown."""
    rows: list[list[str | Cell]] = []
    line = found.plan.line
    speeds = np.linalg.norm(line.spline.at(line.times, 1), axis=1).tolist()
    for one, planned, speed in zip(found.flown.passages, line.times.tolist(), speeds, strict=True):
        good = one.passed
        cells = [f"{planned:.2f}", f"{speed:.1f}", f"{one.flown_s:.2f}" if good else "missed"]
        cells += [f"{value:.2f}" if math.isfinite(value) else "-" for value in (one.off_m, one.room_m)]
        rows.append([one.gate, *(Cell(cell, "" if good else "caution") for cell in cells)])
    columns = [
        Column("gate", words=True),
        Column("planned", "s"),
        Column("speed", "m/s"),
        Column("flown", "s"),
        Column("off line", "m"),
        Column("to frame", "m"),
    ]
    say(table(columns, rows))
