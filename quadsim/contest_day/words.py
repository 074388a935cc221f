"""The sentences of a contest-day sheet, shared by page, terminal and JSON."""

from __future__ import annotations

import math

from quadsim.config import Craft, mass_properties
from quadsim.contest.lift import WORDS as LIFT_LIMITS
from quadsim.contest_day.bound import Bound, Range
from quadsim.contest_day.lift import LiftDay
from quadsim.contest_day.packs import PackRow
from quadsim.contest_day.sheet import DaySheet
from quadsim.contest_day.slalom import SlalomDay
from quadsim.contest_day.slalom_line import PlannedLap
from quadsim.contest_day.warmth import COLD_PACK_C, TEMPERATURES

NO_CLEARANCE = "A simulated go is not a clearance to fly."
CAUTIONS = (
    "The field decides: wind you can see, people, rules of the place and of the contest come before every number here.",
    "Nobody under or ahead of the craft: a load that falls and a craft at full speed kill. Dash away from people, never at them.",
    "Propellers off for work on the craft. Pack in last, out first. Charge in a fire-safe place; no puffed, hot or dented pack.",
)
"""Common practice, no source."""

HOT_PACK_C = 60.0
"""A pack rests above this after a run [deg C]; common practice, no source."""
HOTTER_K, LOWER_V, MORE_SHARE, THROTTLE_POINTS = 20.0, 0.05, 0.2, 3.0
"""Differences from the sheet that ask for a look: motors, rest voltage of a cell, charge put back, hover command; assumed."""
MAGNET_ROOM_K = 20.0
"""Distance of a motor's case from the magnets' limit [K]; assumed."""

QUANTITIES = {"gust": "gust", "wind": "wind", "air": "air", "pack": "packs"}


def headline(sheet: DaySheet, event: str) -> str:
    """What an event should bring, in a few words."""
    if event == "slalom":
        return f"{sheet.slalom.lap_s:.1f} s a lap"
    if event == "lift":
        return ", ".join(f"{1e3 * one.payload:.0f}" for one in sheet.lift.attempts) + " g"
    return f"{sheet.dash.scored:.1f} m/s scored"


def details(sheet: DaySheet, event: str) -> list[str]:
    """What stands behind the headline."""
    return {
        "slalom": lambda: _slalom(sheet.slalom),
        "lift": lambda: _lift(sheet.lift),
        "dash": lambda: _dash(sheet),
    }[event]()


def _slalom(day: SlalomDay) -> list[str]:
    gate = f"in gate {day.tightest.gate}" if day.planned else "in a gate"
    return [
        *(_by_point_mass(day) if day.planned is None else _by_line(day, day.planned)),
        f"today's gust moves it {day.push_m:.2f} m before it leans against it; "
        f"{day.tightest.room:.2f} m are free beside it {gate}",
    ]


def _by_point_mass(day: SlalomDay) -> list[str]:
    return [
        f"estimate of a point mass, {day.points:.0f} points; mean {day.mean_speed:.0f} m/s, "
        f"thrust up to {day.load_factor:.1f} weights",
        f"{day.why}: it does not know how fast the craft turns",
    ]


def _by_line(day: SlalomDay, line: PlannedLap) -> list[str]:
    """The planned lap, whose lap counts, and whether it was flown."""
    if day.lap_s == line.pilot.seconds:
        whose = f"estimated for a practised pilot from the planned line, {line.seconds:.1f} s at the craft's limits"
    else:
        whose = f"your practice; estimated {line.pilot.seconds:.1f} s, planned {line.seconds:.1f} s at the craft's limits"
    flown = "planned, not flown here (quadsim lap flies it, or --flights)"
    if line.flown is not None:
        flown = f"{line.flown[0]} of {line.flown[1]} flights in today's wind passed all gates"
    return [
        f"{line.course}: {whose}; {day.points:.0f} points",
        f"fastest {line.top:.0f} m/s between {' and '.join(line.between)}; thrust up to {line.peak_load:.1f} weights; {flown}",
        *([f"caution: {day.why}"] if day.why else []),
    ]


def end_words(sheet: DaySheet) -> str:
    """What runs the instruments are told after."""
    thrust = (
        "estimate, so at most this"
        if sheet.slalom.planned is None
        else "planned line, on the mean of its power"
    )
    return f"Slalom: all laps at the thrust of the {thrust}. Lift: the first weight. Dash: both runs."


def lap_words(sheet: DaySheet) -> str:
    """Where the laps of packs and of what changed are from."""
    if sheet.slalom.planned is None:
        return "Laps: a point mass."
    return "Laps: the slalom's, changed as a point mass changes."


def _lift(day: LiftDay) -> list[str]:
    found = day.able
    low, high = (1e3 * one for one in found.spread.interval)
    return [
        f"with reserve {1e3 * found.payload:.0f} g ({low:.0f} to {high:.0f} g, 80 %), limited by "
        f"{LIFT_LIMITS[found.limited_by]}; fails at {1e3 * found.failure:.0f} g in still air",
        f"{day.expected:.1f} points on the average; a weight that does not hold ends it",
    ]


def _dash(sheet: DaySheet) -> list[str]:
    day, rules = sheet.dash, sheet.contest.dash
    low, high = day.prediction.spread.interval
    short = "" if day.prediction.course.run_up_m <= rules.run_up_m else ", more than there is"
    return [
        f"level {day.prediction.speed:.1f} m/s ({low:.1f} to {high:.1f}, 80 %), "
        f"{day.prediction.course.runs_per_pack} runs a pack",
        f"with the wind behind: run-up {day.run_up_m:.0f} m of {rules.run_up_m:g} m{short}, braking {day.braking_m:.0f} m of "
        f"{rules.braking_m:g} m",
    ]  # fmt: skip


def bound_words(one: Bound) -> str:
    """A bound in one line."""
    return f"go {range_words(one.go, one.unit)}; no-go {outside_words(one.stop, one.unit)}"


def range_words(one: Range, unit: str) -> str:
    """`up to 6.0 m/s`, `-5 to 31 deg C`, `at all that was looked at`."""
    low, high = one
    if math.isnan(low):
        return "never"
    if math.isinf(high):
        begins = math.isfinite(low) and (unit != "m/s" or low > 0.0)
        return f"from {_number(low, unit)} {unit}" if begins else _all(unit)
    if math.isinf(low) or (unit == "m/s" and low <= 0.0):
        return f"up to {_number(high, unit)} {unit}"
    return f"{_number(low, unit)} to {_number(high, unit)} {unit}"


def outside_words(one: Range, unit: str) -> str:
    """The same of what lies outside a range."""
    low, high = one
    if math.isnan(low):
        return "at any"
    parts = [] if math.isinf(low) or (unit == "m/s" and low <= 0.0) else [f"below {_number(low, unit)}"]
    parts += [] if math.isinf(high) else [f"above {_number(high, unit)}"]
    return f"{' and '.join(parts)} {unit}" if parts else "not reached"


def _all(unit: str) -> str:
    return (
        "at all that was looked at"
        if unit == "m/s"
        else f"{TEMPERATURES[0]:g} to {TEMPERATURES[-1]:g} {unit}"
    )


def _number(value: float, unit: str) -> str:
    return f"{value:.1f}" if unit == "m/s" else f"{value:.0f}"


def configuration(sheet: DaySheet, event: str) -> str:
    """What to fly an event with."""
    craft, rules = sheet.days[event].craft, sheet.contest
    carried = {"slalom": rules.slalom.carried_g, "lift": rules.lift.carried_g, "dash": rules.dash.carried_g}[
        event
    ]
    packs = ", ".join(row.pack.name for row in sheet.packs if event in row.use)
    parts = [
        craft.name,
        f"{1e3 * mass_properties(craft).mass_kg:.0f} g",
        f"propellers {_named(craft, 'propeller')}",
        f"pack {_named(craft, 'battery')}" + (f" ({packs})" if packs else ""),
    ]
    if event == "lift":
        parts.append("load in a box close below the frame")
    if carried:
        parts.append(f"{carried:g} g of camera and the like must be on board, and in the craft file")
    return "; ".join(parts) + "; gains of its file (quadsim card)"


def _named(craft: Craft, section: str) -> str:
    part = getattr(craft, section)
    if part.name:
        return str(part.name)
    if section == "propeller":
        return f"{float(part.diameter_in):g} in"
    return f"{part.cells} cells, {float(part.capacity_mAh):g} mAh"


def weather_words(sheet: DaySheet) -> str:
    """Today's air in one line."""
    site, today = sheet.today.site, sheet.today
    return (
        f"{site.temperature_C:g} deg C, {site.pressure_hPa:.0f} hPa at the field, {site.density:.3f} kg/m3; "
        f"wind {today.wind_m_s:g} m/s, gusts {today.gust_m_s:g} m/s; packs {site.pack_temperature_C:g} deg C"
    )


def pack_words(row: PackRow) -> str:
    """What to do with a pack."""
    if row.worn:
        return "worn out: retire it"
    return ", ".join(row.use) or "spare"


def case_limit(sheet: DaySheet) -> float:
    """Greatest temperature of a motor's case to fly again from [deg C], of the craft that stands least."""
    return min(float(day.craft.motor.magnet_limit_C) for day in sheet.days.values()) - MAGNET_ROOM_K


def before_words(sheet: DaySheet) -> list[str]:
    """What is looked at before each run."""
    volts = " or ".join(
        sorted({f"{float(day.craft.battery.full_cell_V):.2f}" for day in sheet.days.values()})
    )
    return [
        f"Pack: full ({volts} V a cell at rest), {COLD_PACK_C:g} deg C or more: warm it up, "
        "in a pocket or a box. Strap, plug and balance lead tight.",
        "Propellers: no nick, right way up, nuts tight; turn each by hand: no grinding, no play. Arms, screws, aerials. "
        "Lift: rig and load cannot reach a propeller; release tried.",
        "Receiver on, range and link loss as set; wind looked at where the craft will be. Nobody under or ahead of it.",
        f"Hover low for 10 s and read the motor command. {THROTTLE_POINTS:g} points off the sheet: land, weigh, look for a wrong "
        "propeller, a dragging motor, a cold pack.",
    ]


def after_words(sheet: DaySheet) -> list[str]:
    """What is looked at after each run, and what a difference means."""
    return [
        f"A cell rests {LOWER_V:g} V lower, or the charger puts back {100 * MORE_SHARE:.0f} % more: heavier or "
        "draggier than the file, or a tired pack. One weight less, and weigh.",
        f"One cell {LOWER_V:g} V under its neighbours: that pack rests today.",
        f"Motors {HOTTER_K:g} K over the sheet, one hotter than the others, or above {case_limit(sheet):.0f} deg C "
        "at the case: stop and find out why (blade, bearing, screw, gains).",
        f"Pack above {HOT_PACK_C:g} deg C or puffed: out, away from everything, not used again today. Charge only cool packs.",
        "A crash, a strike or a hard landing: new propellers, arms bent by hand, hover test before the next run. Every time.",
    ]  # fmt: skip
