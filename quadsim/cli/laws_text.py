"""Control laws compared, in the terminal: one table, flight by flight, law by law."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from quadsim.cli.out import say, say_prose
from quadsim.cli.table import Cell, Column, table
from quadsim.report.numbers import figure

if TYPE_CHECKING:
    from quadsim.analysis.law_comparison import LawCost, LawFlight

FIGURES = (
    ("tracking_rms_deg", "attitude", "deg rms"),
    ("tilt_rms_deg", "tilt", "deg rms"),
    ("overshoot_deg", "overshoot", "deg"),
    ("effort_rad_s2", "effort", "rad/s2"),
    ("motor_travel_pct_s", "travel", "%/s"),
    ("saturated_pct", "full", "% time"),
    ("motor_noise_A", "noise", "A rms"),
    ("motor_noise_W", "heat", "mW"),
)
"""Metrics that are printed, with the title and unit of their columns."""
IN_MILLI = 1e3
"""What stands in thousandths: the heat of the noise."""

LEGEND = (
    "attitude, tilt: angle between wanted and truly flown (the estimate's error included), with heading and without;",
    "effort: angular acceleration asked for; travel: way of the motor commands; full: with a motor at full command;",
    "noise: of a motor's current about its own mean over 0.05 s; heat: what it makes in windings and ESCs;",
    "control: all five blocks, per step of the physics, timed here and now.",
)


def print_laws(craft: str, costs: Sequence[LawCost], flown: Sequence[LawFlight]) -> None:
    """Print the table, the notes on the laws, and what the columns mean."""
    cost = {one.law: one.total_ns for one in costs}
    say()
    say(f"Control laws on {craft}", "title")
    say()
    columns = [
        Column("", words=True), Column("ended", words=True),
        *(Column(title, unit) for _, title, unit in FIGURES), Column("control", "ns/step"),
    ]  # fmt: skip
    rows: list[list[str | Cell]] = []
    last = ""
    for one in flown:
        if one.flight != last:
            rows += [[""] * len(columns)] * bool(last)
            rows.append([Cell(one.flight, "title"), *[""] * (len(columns) - 1)])
            last = one.flight
        numbers = [figure(_shown(one.figures.get(name), unit)) for name, _, unit in FIGURES]
        rows.append([f"  {one.law}", _ended(one), *numbers, f"{cost[one.law]:.0f}"])
    say(table(columns, rows))
    say()
    say_prose(LEGEND, "soft")
    for law in costs:
        for note in law.notes:
            say(f"  {law.law}: {note}", "caution")
    say(
        "  A law that does well here is not cleared to fly: try it without propellers first, then low and far from people.",
        "soft",
    )


def _shown(value: float | None, unit: str) -> float | None:
    return value * IN_MILLI if value is not None and unit == "mW" else value


def _ended(one: LawFlight) -> Cell:
    """How the flight ended and when."""
    if one.status == "done":
        return Cell("flew on")
    return Cell(f"{one.status.replace('_', ' ')} {one.figures.get('end_s', 0.0):.1f} s", "caution")
