"""The contest-day sheet in the terminal, and as a document."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from quadsim.cli.out import say
from quadsim.cli.table import Cell, Column, table
from quadsim.contest_day.lift import GUSTS
from quadsim.contest_day.words import (
    CAUTIONS,
    NO_CLEARANCE,
    QUANTITIES,
    after_words,
    before_words,
    bound_words,
    configuration,
    details,
    end_words,
    headline,
    lap_words,
    pack_words,
    weather_words,
)

if TYPE_CHECKING:
    from quadsim.contest_day.bound import Range
    from quadsim.contest_day.sheet import DaySheet
    from quadsim.contest_day.slalom_line import PlannedLap

LOOKS = {"go": "good", "caution": "caution", "no-go": "bad"}


def print_sheet(sheet: DaySheet) -> None:
    """Print the sheet."""
    say()
    say(f"{sheet.craft.name}: {sheet.contest.name}, the day", "title")
    say(f"  {weather_words(sheet)}", "soft")
    for line in (NO_CLEARANCE, *CAUTIONS):
        say(f"  {line}", "caution")
    for event in sheet.days:
        _event(sheet, event)
    if sheet.missing:
        say()
        say(f"Stopped: {' and '.join(sheet.missing)} not worked out. This is not the whole sheet.", "bad")
    if "lift" in sheet.days:
        say()
        say("Weights in winds up to: share of the drawn craft that hold", "title")
        say(_gusts(sheet))
    if "dash" in sheet.days:
        say()
        say("Speeds: chance to be scored at least", "title")
        say(_speeds(sheet))
    if sheet.packs:
        say()
        say("Packs, the best first", "title")
        say(_packs(sheet))
    needed = ", ".join(f"{event} {count}" for event, count in sheet.packs_needed.items())
    say(f"  full packs needed: {needed}; with fewer, charge in between", "soft")
    say()
    say(f"What this day's numbers changed for {sheet.craft.name} (with reserve, in today's gust)", "title")
    say(_steps(sheet))
    say(f"  {lap_words(sheet)}", "soft")
    if "lift" in sheet.days:
        first = sheet.lift.able.spread.contributions[0][0].name
        say(f"  least known for the lift: {first}; measure it first", "soft")
    say()
    say("What the instruments should show", "title")
    say(_ends(sheet))
    say(f"  {end_words(sheet)}", "soft")
    for title, lines in (("Before each run", before_words(sheet)), ("After each run", after_words(sheet))):
        say()
        say(title, "title")
        for line in lines:
            say(f"  {line}")
    say()


def _event(sheet: DaySheet, event: str) -> None:
    verdict = sheet.verdicts[event]
    say()
    say(f"{event.capitalize()}: {verdict}, {headline(sheet, event)}", LOOKS[verdict])
    for line in details(sheet, event):
        say(f"  {line}")
    say(f"  fly: {configuration(sheet, event)}")
    rows: list[list[str | Cell]] = [
        [QUANTITIES[one.quantity], f"{one.today:g} {one.unit}", Cell(one.verdict, LOOKS[one.verdict]), bound_words(one)]
        for one in sheet.days[event].bounds
    ]  # fmt: skip
    say(
        table([Column("", words=True), Column("today"), Column("", words=True), Column("", words=True)], rows)
    )
    for why in dict.fromkeys(one.why for one in sheet.days[event].bounds):
        say(f"    go and no-go end where {why}", "soft")


def _gusts(sheet: DaySheet) -> str:
    rows = [
        [f"{1e3 * one.payload:.0f}", f"{100 * one.chance:.0f} %", *(f"{100 * value:.0f} %" for value in row)]
        for one, row in zip(sheet.lift.attempts, sheet.lift.chances, strict=True)
    ]
    columns = [Column("payload", "g"), Column("today"), *(Column(f"{gust:.0f}", "m/s") for gust in GUSTS)]
    return table(columns, rows)


def _speeds(sheet: DaySheet) -> str:
    rows = [
        [f"{100 * chance:.0f} %", f"{speed:.1f}", f"{points:.1f}"]
        for chance, speed, points in sheet.dash.speeds
    ]
    return table([Column("chance"), Column("scored", "m/s"), Column("points")], rows)


def _packs(sheet: DaySheet) -> str:
    rows: list[list[str | Cell]] = [
        [
            row.pack.name, f"{row.pack.cell_mohm:.1f}", f"{row.room_mohm:.1f}", f"{100 * row.of_file:.0f} %",
            f"{row.lap_s:.2f}", f"{1e3 * row.payload:.0f}", f"{row.speed:.1f}", Cell(pack_words(row), "bad" if row.worn else ""),
        ]
        for row in sheet.packs
    ]  # fmt: skip
    columns = [
        Column("pack", words=True), Column("measured", "mohm/cell"), Column("at 20 deg C", "mohm/cell"), Column("of the file"),
        Column("lap", "s"), Column("lift", "g"), Column("level", "m/s"), Column("for", words=True),
    ]  # fmt: skip
    return table(columns, rows)


def _steps(sheet: DaySheet) -> str:
    rows = [
        [one.known, f"{one.lap_s:.2f}", f"{1e3 * one.payload:.0f}", f"{one.speed:.1f}"] for one in sheet.steps
    ]
    return table(
        [Column("known", words=True), Column("lap", "s"), Column("lift", "g"), Column("level", "m/s")], rows
    )


def _ends(sheet: DaySheet) -> str:
    rows = []
    for event, day in sheet.days.items():
        end = day.end
        rows.append(
            [
                event, f"{end.seconds:.0f}", f"{end.hover_pct:.0f}", f"{end.loaded_cell_V:.2f}", f"{end.rest_cell_V:.2f}",
                f"{end.back_mAh:.0f}", f"{end.case_C:.0f}", f"{end.pack_C:.0f}", f"{end.cooling_min:.0f}",
            ]
        )  # fmt: skip
    columns = [
        Column("after", words=True), Column("run", "s"), Column("hover", "%"), Column("loaded", "V/cell"),
        Column("rests at", "V/cell"), Column("put back", "mAh"), Column("motors", "deg C"),
        Column("pack", "deg C"), Column("cool for", "min"),
    ]  # fmt: skip
    return table(columns, rows)


def sheet_document(sheet: DaySheet) -> dict[str, Any]:
    """What `--json` prints."""
    today = sheet.today
    own = {"slalom": _slalom_document, "lift": _lift_document, "dash": _dash_document}
    return {
        "craft": sheet.craft.name,
        "contest": sheet.contest.name,
        "today": {
            "temperature_C": today.site.temperature_C, "pressure_hPa": today.site.pressure_hPa,
            "density_kg_m3": today.site.density, "pack_temperature_C": today.site.pack_temperature_C, "wind_m_s": today.wind_m_s,
            "gust_m_s": today.gust_m_s, "weighed_g": today.weighed_g,
        },
        "events": {event: _event_document(sheet, event) | own[event](sheet) for event in sheet.days},
        "stopped": bool(sheet.missing), "missing": sheet.missing,
        "packs": [
            {
                "name": row.pack.name, "cell_mohm": row.pack.cell_mohm, "cell_mohm_at_20C": row.room_mohm, "of_file": row.of_file,
                "lap_s": row.lap_s, "payload_g": 1e3 * row.payload, "speed_m_s": row.speed, "for": list(row.use),
                "worn": row.worn,
            }
            for row in sheet.packs
        ],
        "packs_needed": sheet.packs_needed,
        "changed": [
            {"known": one.known, "lap_s": one.lap_s, "payload_g": 1e3 * one.payload, "speed_m_s": one.speed}
            for one in sheet.steps
        ],
        "before": before_words(sheet), "after": after_words(sheet), "cautions": [NO_CLEARANCE, *CAUTIONS],
    }  # fmt: skip


def _slalom_document(sheet: DaySheet) -> dict[str, Any]:
    slalom = sheet.slalom
    return {
        "lap_s": slalom.lap_s, "mean_speed_m_s": slalom.mean_speed, "points": slalom.points,
        "gust_push_m": slalom.push_m, "room_m": slalom.tightest.room, "room_gate": slalom.tightest.gate or None,
        "estimate": "planned line" if slalom.planned else "point mass", "why": slalom.why or None,
        "point_mass_lap_s": slalom.estimate_s, "planned": _planned_document(slalom.planned),
    }  # fmt: skip


def _lift_document(sheet: DaySheet) -> dict[str, Any]:
    lift = sheet.lift
    return {
        "max_payload_g": 1e3 * lift.able.payload, "failure_payload_g": 1e3 * lift.able.failure,
        "interval_g": [1e3 * one for one in lift.able.spread.interval],
        "attempts": [
            {
                "payload_g": 1e3 * one.payload, "success_pct": 100.0 * one.chance, "points": one.points,
                "success_pct_in_gusts": (100.0 * row).tolist(),
            }
            for one, row in zip(lift.attempts, lift.chances, strict=True)
        ],
        "gusts_m_s": GUSTS.tolist(), "expected_points": lift.expected,
    }  # fmt: skip


def _dash_document(sheet: DaySheet) -> dict[str, Any]:
    dash = sheet.dash
    return {
        "top_speed_m_s": dash.prediction.speed, "scored_speed_m_s": dash.scored, "run_up_m": dash.run_up_m,
        "braking_m": dash.braking_m, "runs_per_pack": dash.prediction.course.runs_per_pack,
        "speeds": [{"chance_pct": 100.0 * c, "scored_m_s": v, "points": p} for c, v, p in dash.speeds],
    }  # fmt: skip


def _planned_document(line: PlannedLap | None) -> dict[str, Any] | None:
    if line is None:
        return None
    return {
        "course": line.course, "planned_lap_s": line.seconds, "pilot_lap_time_s": line.pilot.seconds, "top_speed_m_s": line.top,
        "fastest_between": list(line.between), "thrust_over_weight": line.peak_load,
        "flights_whole": line.flown[0] if line.flown else None, "flights": line.flown[1] if line.flown else 0,
        "gates": [vars(one) for one in line.passings],
    }  # fmt: skip


def _event_document(sheet: DaySheet, event: str) -> dict[str, Any]:
    bounds = [
        {
            "quantity": one.quantity, "unit": one.unit, "today": one.today, "verdict": one.verdict, "go": _ends_of_range(one.go),
            "no_go_outside": _ends_of_range(one.stop), "never": math.isnan(one.go[0]), "why": one.why,
        }
        for one in sheet.days[event].bounds
    ]  # fmt: skip
    return {
        "verdict": sheet.verdicts[event], "configuration": configuration(sheet, event), "bounds": bounds,
        "after_a_run": vars(sheet.days[event].end),
    }  # fmt: skip


def _ends_of_range(one: Range) -> list[float | None]:
    """Ends that were not reached are null."""
    return [end if math.isfinite(end) else None for end in one]
