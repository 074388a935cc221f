"""Where a craft comes down after a lost link, in the terminal and as a document."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from quadsim.cli.out import say
from quadsim.cli.table import Cell, Column, table
from quadsim.report.numbers import figure

if TYPE_CHECKING:
    from quadsim.analysis.footprint import Case, Footprint

CAUTION = (
    "Computed over flat ground, without gusts, obstacles or parts that break off. Distances count from where the link is lost,\n"
    "in any direction. How far people, roads and houses must be is for the rules of the event and the country to say: keep the\n"
    "greater of the two, and nobody below the flight."
)


def print_footprint(rows: list[Footprint], case: Case) -> None:
    """Print the table of all choices."""
    columns = (
        Column("link loss", words=True), Column("acts after", "s"), Column("down after", "s"), Column("distance", "m"),
        Column("spread", "m"), Column("impact", "m/s"), Column("energy", "J"), Column("", words=True, style="soft"),
    )  # fmt: skip
    say("Where it comes down", "title")
    lost = f"lost {case.height_m:g} m up at {case.speed_m_s:g} m/s over ground, wind of {case.wind_m_s:g} m/s from behind"
    say(f"{lost}; spread: wind from ahead too, least and most drag, not quite level", "soft")
    say(table(columns, [_row(row) for row in rows]))
    say(CAUTION, "caution")


def _row(row: Footprint) -> list[str | Cell]:
    name = Cell(f"{row.choice} (as set)", "good") if row.own else row.choice
    low, high = row.spread_m
    return [
        name, f"{row.acts_after_s:g}", f"{row.lands_after_s:.1f}", f"{row.distance_m:.0f}", f"{low:.0f} to {high:.0f}",
        f"{row.impact_speed_m_s:.1f}", figure(row.impact_energy_J), row.note,
    ]  # fmt: skip


def own_row(row: Footprint, case: Case) -> list[str | Cell]:
    """The craft's own choice in one row of the first table."""
    note = f"{row.choice}: down after {row.lands_after_s:.1f} s with {figure(row.impact_energy_J)} J, lost {case.height_m:g} m up"
    note += f" at {case.speed_m_s:g} m/s, wind {case.wind_m_s:g} m/s; all choices: --footprint"
    return ["link loss", f"{row.distance_m:.0f}", "m", note]


def footprint_document(rows: list[Footprint], case: Case) -> dict[str, Any]:
    """What `--json` prints of it."""
    return {"footprint_from": vars(case), "footprint": [vars(row) for row in rows]}
