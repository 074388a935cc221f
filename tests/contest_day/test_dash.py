"""The dash of the sheet: the contest's rule in today's wind, and what the wind leaves of the braking distance."""

from dataclasses import replace

import pytest

from quadsim.config import load_craft
from quadsim.config.contest_schema import load_contest
from quadsim.contest.uncertainty import draws
from quadsim.contest_day.dash import dash_day, dash_rule
from quadsim.contest_day.today import Today
from quadsim.environment.atmosphere import Site

CALM = Today(Site(), 0.0, 0.0)


@pytest.fixture(scope="module")
def contest():
    return load_contest("three_events")


def timed(contest, **rules):
    return contest.model_copy(update={"dash": contest.dash.model_copy(update=rules)})


def test_the_contests_rule_is_the_dashs(contest):
    rule = dash_rule(timed(contest, timing="mean of times"), Today(Site(), 3.0, 5.0))
    assert (rule.mean_of, rule.wind_m_s, rule.run_up_m) == ("times", 3.0, contest.dash.run_up_m)
    standing = dash_rule(timed(contest, timing="one way", start="standing"), CALM)
    assert (standing.mean_of, standing.start, standing.run_up_m) == ("one way", "standing", None)


def test_more_wind_behind_never_leaves_more_room(contest):
    craft = load_craft("siskin")
    of = draws(craft, CALM.site, 5)
    days = [dash_day(craft, contest, replace(CALM, wind_m_s=wind), of=of) for wind in (0.0, 4.0, 8.0)]
    ways = [one.braking_m for one in days]
    assert ways == sorted(ways) and ways[-1] > ways[0] + 10.0
    assert [one.run_up_m for one in days] == sorted(one.run_up_m for one in days)
    tight = dash_day(craft, timed(contest, braking_m=1.3 * ways[0]), CALM, of=of).bounds[0]
    assert 0.0 < tight.go[1] < tight.stop[1] < 20.0
