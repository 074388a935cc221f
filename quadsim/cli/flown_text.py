"""A dash as flown, printed and as JSON."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, replace
from typing import TYPE_CHECKING, Any

from quadsim.cli.out import say

if TYPE_CHECKING:
    from quadsim.contest.dash_flown import FlownDash, FlownRun


def flown_dash_document(one: FlownDash) -> dict[str, Any]:
    """A flight of a dash as JSON."""
    runs = [asdict(replace(run, way=None)) | {"level": run.level} for run in one.runs]
    for run in runs:
        del run["way"]  # for pictures
    document: dict[str, Any] = {"asked_m_s": one.asked_m_s, "kept": one.kept, "agrees": one.agrees}
    return document | {
        "expected": one.expected,
        "predicted_m_s": one.predicted_m_s,
        "scored_m_s": one.scored_m_s,
        "gains_raised": one.raised,
        "ended": one.ended,
        "runs": runs,
    }


def print_flown_dash(flights: Sequence[FlownDash]) -> None:
    """The flights of a dash, and what the score's first run met."""
    if flights:
        say()
    for one in flights:
        say(f"  flown at {one.asked_m_s:.1f} m/s: {one.words}", "" if one.agrees else "bad")
        if one.scored_m_s is not None:
            _print_run(one.runs[0])
        if one.scored_m_s is not None and one.raised:
            raised = ", ".join(f"{name} {value:.3g}" for name, value in one.raised.items())
            say(f"    with gains raised that would have held it back: {raised}", "caution")


def _print_run(run: FlownRun) -> None:
    up, stop = ("not reached" if way is None else f"{way:.0f} m" for way in (run.run_up_m, run.braking_m))
    say(f"    first run: run-up {up}, braking {stop}, climbs {run.climb_m_s:+.1f} m/s on the course", "soft")
    off = f"    height up to {run.height_error_m:.1f} m off; the barometer reads {run.baro_error_m:+.1f} m at that speed, "
    say(off + f"the pitch is known to {run.attitude_error_deg:.1f} deg", "soft")
