"""Which measured pack for which event: the best one where the points feel it most."""

from __future__ import annotations

from dataclasses import dataclass

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
from quadsim.contest_day.lift import lift_rule, loaded_at
from quadsim.contest_day.slalom import laps, top_speed
from quadsim.contest_day.today import WORN, Pack, Today, at_room, craft_of_today, file_mohm
from quadsim.environment.atmosphere import Site

Array = NDArray[np.float64]
EVENTS = ("slalom", "lift", "dash")


@dataclass(frozen=True)
class PackRow:
    """A pack as measured. room_mohm : brought to 20 deg C; of_file : over the craft file's
    payload [kg], speed [m/s] and lap [s] of the craft with it; use : events, empty for a spare
    """

    pack: Pack
    room_mohm: float
    of_file: float
    payload: float
    speed: float
    lap_s: float
    use: tuple[str, ...]

    @property
    def worn(self) -> bool:
        """True when it is to be retired."""
        return self.of_file >= WORN


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


def points_of(found: dict[str, Array], contest: Contest) -> dict[str, Array]:
    """Points of results by the contest's references."""
    return {
        "slalom": contest.slalom.points * contest.slalom.reference_s / found["slalom"],
        "lift": contest.lift.points * found["lift"] * 1000.0 / contest.lift.reference_g,
        "dash": contest.dash.points * found["dash"] / contest.dash.reference_m_s,
    }


def pack_rows(craft: Craft, contest: Contest, today: Today) -> list[PackRow]:
    """Packs of today, the best first, each with its events. craft : as in its file."""
    ranked = today.ranked
    if not ranked:
        return []
    found = results([(craft_of_today(craft, today, one), today.site) for one in ranked], contest, today)
    room = [at_room(craft, one.cell_mohm, today.measured_at_C) for one in ranked]
    of_file = [one / file_mohm(craft) for one in room]
    use = shared_out(points_of(found, contest), [one < WORN for one in of_file])
    return [
        PackRow(
            one, room[k], of_file[k], float(found["lift"][k]), float(found["dash"][k]), float(found["slalom"][k]), use[k]
        )
        for k, one in enumerate(ranked)
    ]  # fmt: skip


def shared_out(points: dict[str, Array], fit: list[bool]) -> list[tuple[str, ...]]:
    """Events of each pack, the best pack first: the event that would lose most by the last fit pack gets the first one, and so on
    around; a worn pack gets none."""
    usable = [k for k, one in enumerate(fit) if one]
    given: list[list[str]] = [[] for _ in fit]
    if usable:
        loss = {event: float(points[event][usable[0]] - points[event][usable[-1]]) for event in EVENTS}
        for turn, event in enumerate(sorted(EVENTS, key=lambda one: -loss[one])):
            given[usable[turn % len(usable)]].append(event)
    return [tuple(one) for one in given]
