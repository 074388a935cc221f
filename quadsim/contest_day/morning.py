"""What the morning's weather, scales and charger make of the craft: packs side by side, and one thing known after the other."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from quadsim.config import Craft, resolve_plant
from quadsim.config.contest_schema import Contest
from quadsim.contest.crowd import crowd_of
from quadsim.contest.dash import top_speeds
from quadsim.contest.dash_prediction import dash_of
from quadsim.contest.lift import first_limit, joined_ratings, margins, ratings
from quadsim.contest.lift_prediction import ROUGH
from quadsim.contest_day.dash import dash_rule
from quadsim.contest_day.lift import lift_rule
from quadsim.contest_day.lift_ability import loaded_at
from quadsim.contest_day.packs import PackRow, pack_rows
from quadsim.contest_day.slalom import laps, top_speed
from quadsim.contest_day.today import Today, craft_of_today
from quadsim.environment.atmosphere import Site

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Step:
    """What the craft would do once one more thing of this day is known: lap [s], rated payload [kg], top speed [m/s]."""

    known: str
    lap_s: float
    payload: float
    speed: float


def morning(craft: Craft, contest: Contest, today: Today) -> tuple[list[PackRow], list[Step]]:
    """Packs, the best first; and the file in the contest file's weather, then today's weather, weighed mass and best pack.

    All in today's gust.
    """
    written = Site.stated(float(contest.air.temperature_C), float(contest.air.pressure_hPa))
    unmeasured = replace(today, packs=(), weighed_g=None)
    known = [("craft file, weather of the contest file", replace(unmeasured, site=written))]
    known.append(("today's weather", unmeasured))
    if today.weighed_g is not None:
        known.append((f"weighed: {today.weighed_g:g} g", replace(today, packs=())))
    if today.packs:
        best = today.ranked[0]
        known.append((f"pack {best.name}: {best.cell_mohm:g} mohm per cell", today))
    rows = [(craft_of_today(craft, one), one.site) for _, one in known]
    rows += [(craft_of_today(craft, today, one), today.site) for one in today.ranked]
    found = results(rows, contest, today)
    packs = {event: values[len(known) :] for event, values in found.items()}
    columns = (found[event][: len(known)].tolist() for event in ("slalom", "lift", "dash"))
    steps = [Step(words, *row) for (words, _), *row in zip(known, *columns, strict=True)]
    return pack_rows(craft, contest, today, packs), steps


def results(rows: list[tuple[Craft, Site]], contest: Contest, today: Today) -> dict[str, Array]:
    """Laps [s], rated payloads [kg] and top speeds [m/s] of crafts at their sites, in today's gust."""
    plants = [resolve_plant(craft, site) for craft, site in rows]
    crowd = crowd_of(plants)
    rated = joined_ratings([ratings(craft, own) for (craft, _), own in zip(rows, plants, strict=True)])
    dash = dash_of(rows[0][0], dash_rule(contest, today))
    top = top_speeds(crowd, dash, rated, top_speed(crowd, dash, rated))
    return {
        "slalom": laps(crowd, contest, rated, top).seconds,
        "lift": first_limit(*loaded_at(rows, lift_rule(contest, today)), margins, ROUGH),
        "dash": top,
    }
