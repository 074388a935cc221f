"""Winners flown: how a log is read, what counts as level and held, and who is first by what was flown."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from quadsim.config import parse_craft
from quadsim.config.contest_schema import load_contest
from quadsim.config.parts_loader import load_catalogue
from quadsim.config.quantity import Uncertain
from quadsim.contest.dash_flown import FlownDash, FlownRun
from quadsim.contest.lap_flight import SETTLE_S
from quadsim.contest.rules import dash_rule_of
from quadsim.parts import confirm, figures, flown_dash
from quadsim.parts.bill import Terms
from quadsim.parts.build import build_craft, craft_text
from quadsim.parts.choice import Choice, Fitted, Shared
from quadsim.parts.flown import Flown
from quadsim.parts.flown_dash import is_level, keeps
from quadsim.parts.flown_lift import fly_reserve
from quadsim.parts.flown_slalom import hardest_current
from quadsim.parts.gains import with_gains
from quadsim.parts.kept import Kept
from quadsim.parts.neighbours import event_figures
from quadsim.parts.search import Found, Ranked, market

MARKET, CONTEST = load_catalogue("market"), load_contest("three_events")
SITE = figures.site_of(CONTEST)


def named(kind, name):
    return next(one for one in getattr(MARKET, kind) if one.name == name)


SHARED = Shared(
    named("frame", "Oddny Plain 5"), named("motor", "Brambell 22-07, 1750 rpm/V"), named("esc", "Vellum board 45 A"),
    named("flight_controller", "Pellow full"), named("radio", "Nettle small"),
)  # fmt: skip
FITTED = Fitted(
    named("propeller", "Marrit 5.1 x 5.5, three blades"), named("battery", "Halse 6 cells, 1300 mAh")
)
OTHER = replace(FITTED, battery=named("battery", "Halse 4 cells, 1500 mAh"))
CHOICE = Choice(SHARED, slalom=FITTED, lift=FITTED, dash=FITTED)


def craft_of(event):
    return build_craft(SHARED, FITTED, event, MARKET, CONTEST)


class Columns(dict):
    """A run of some columns."""

    def __init__(self, t_s, columns):
        super().__init__(columns)
        self.t_s = t_s


def dash(climb=0.0, error=0.5, ended="", pack=0.1):
    """A dash of one run at 20 m/s."""
    run = FlownRun(0.0, 20.0, 20.0, 30.0, 40.0, climb, error, 0.0, 0.0, {"pack_current": pack})
    return FlownDash(20.0, [run], "", None, None, 0.03, {}, ended)


@pytest.mark.parametrize(("climb", "level"), [(0.39, True), (-0.39, True), (0.41, False), (-0.41, False)])
def test_what_sinks_or_climbs_faster_than_two_per_cent_is_not_level(climb, level):
    assert is_level(dash(climb)) is level


def test_height_lost_on_the_way_and_a_flight_that_ends_early_are_not_level():
    assert is_level(dash(error=1.9)) and not is_level(dash(error=2.1))
    assert not is_level(dash(ended="crashed"))


def test_a_level_dash_that_asks_more_of_the_pack_than_half_its_label_does_not_count():
    assert keeps(dash(pack=0.0)) and is_level(dash(pack=-0.01)) and not keeps(dash(pack=-0.01))
    assert not keeps(dash(error=2.1))


def test_a_short_peak_of_the_pack_s_current_is_no_load_and_half_a_second_is():
    """10 A and 90 A for 0.1 s: 26 A as the mean over half a second; before the start signal nothing counts."""
    t = np.arange(0.0, 8.0, 0.005)
    current = np.where((t >= 5.0) & (t < 5.1), 90.0, 10.0)
    current[t < SETTLE_S] = 500.0
    flown = SimpleNamespace(run=Columns(t, {"battery_current_A": current}))
    assert hardest_current(flown) == pytest.approx(26.0, abs=0.01)


def test_the_fastest_level_dash_is_found_with_what_it_takes_to_stop(monkeypatch):
    """A craft that flies 31 m/s level, and no more."""
    asked = []

    def fly_rule(craft, site, rule, speed):
        asked.append(speed)
        assert craft.gains["guide"]["thrust_high"] == 1.0
        one = dash(0.0 if speed <= 31.0 else -5.0)
        run = replace(one.runs[0], ground_m_s=speed, airspeed_m_s=speed, braking_m=130.0)
        return replace(one, runs=[run], raised={"guide.tilt_max": 1.3963})

    monkeypatch.setattr(flown_dash, "fly_rule", fly_rule)
    found = flown_dash.fly_dash(craft_of("dash"), SITE, CONTEST, 30.0)
    assert 0.97 * 31.0 < found.speed <= 31.0 and len(asked) == 6
    assert found.words == "takes 130 m to stop, the field has 120"
    assert found.gains == flown_dash.DASH_GAINS | {"guide.tilt_max": 1.4}
    asked.clear()
    assert flown_dash.fly_dash(craft_of("dash"), SITE, CONTEST, 15.0).speed == asked[-1] < 1.25 * 15.0
    none = flown_dash.fly_dash(craft_of("dash"), SITE, CONTEST, 70.0)
    assert none.speed == 0.0 and "35 m/s" in none.words


def test_gains_stand_in_a_craft_s_file_and_in_the_craft():
    gains = {"guide.tilt_max": 1.2, "rate.integral_limit": 70.0}
    text = craft_text(SHARED, FITTED, "dash", MARKET, CONTEST, gains)
    assert parse_craft(text, "winner").gains == {"guide": {"tilt_max": 1.2}, "rate": {"integral_limit": 70.0}}
    assert "gains" not in craft_text(SHARED, FITTED, "dash", MARKET, CONTEST)
    more = with_gains(with_gains(craft_of("dash"), gains), {"guide.tilt_max": 1.3, "guide.thrust_high": 1.0})
    assert more.gains["guide"] == {"tilt_max": 1.3, "thrust_high": 1.0} and more.gains["rate"] == {
        "integral_limit": 70.0
    }


FLOWN = {"slalom": 12.0, "lift": 1.0, "dash": 30.0}


@pytest.fixture
def here():
    return market(MARKET, CONTEST, Terms())


def ranked(choice, points):
    return Ranked(choice, dash=30.0, lift=1.0, lap=12.0, price=400.0, points=points)


def test_the_first_by_what_was_flown_is_first_and_no_craft_flies_twice(here, monkeypatch, tmp_path):
    """Two choices that differ in the dash alone; the one that was second flies its dash as estimated, the first does not."""
    first, second = ranked(CHOICE, 100.0), ranked(replace(CHOICE, dash=OTHER), 99.0)
    asked = []

    def fly_event(_, one, event, *__):
        asked.append(confirm.craft_key(one.choice, event))
        slow = event == "dash" and one.choice.dash is FITTED
        return Flown(event, FLOWN[event], 0.5 * FLOWN[event] if slow else FLOWN[event], "", {})

    monkeypatch.setattr(confirm, "fly_event", fly_event)
    found = confirm.confirm(here, Found(2, 2, 500.0, [first, second], []), shelf=Kept(tmp_path))
    assert [one.ranked for one in found.first] == [second, first]
    assert len(asked) == len(set(asked)) == 4
    assert not found.agrees
    assert [one.event for one in found.every if not one.agrees] == [
        "dash",
        "dash",
    ]  # in the front, and as the best


def test_what_cannot_be_flown_earns_nothing(here, monkeypatch, tmp_path):
    lost = {"slalom": np.inf, "lift": 1.0, "dash": 30.0}
    monkeypatch.setattr(
        confirm,
        "fly_event",
        lambda _, one, event, *__: Flown(event, FLOWN[event], lost[event], "", {}),
    )
    found = confirm.confirm(here, Found(1, 1, 500.0, [ranked(CHOICE, 100.0)], []), shelf=Kept(tmp_path))
    assert found.first[0].points == 0.0 and not found.agrees


@pytest.mark.jit
def test_dash_and_lift_of_a_choice_are_flown_as_estimated(here):
    estimate, lift, _ = event_figures(here, CHOICE)
    firm, rule = with_gains(craft_of("dash"), flown_dash.DASH_GAINS), dash_rule_of(CONTEST, 0.0)
    flown = flown_dash.fly_rule(firm, SITE, rule, 1.15 * estimate)
    assert is_level(flown) and flown.runs[0].ground_m_s == pytest.approx(estimate, rel=0.1)
    assert fly_reserve(craft_of("lift"), SITE, CONTEST, 0.88 * lift).kept
    assert not fly_reserve(craft_of("lift"), SITE, CONTEST, 1.15 * lift).kept


def test_a_slalom_without_a_line_says_which_gate():
    from quadsim.parts.flown_slalom import fly_slalom

    small = CONTEST.slalom.model_copy(update={"opening_m": Uncertain(0.5)})
    found = fly_slalom(craft_of("slalom"), SITE, CONTEST.model_copy(update={"slalom": small}))
    assert not np.isfinite(found.lap)
    assert "gate 1" in found.words and "0.50 m wide" in found.words


@pytest.mark.jit
def test_a_slalom_is_planned_flown_and_slower_than_planned():
    """Three gates around a triangle of 20 m, so that plan and flights are short."""
    from quadsim.parts.flown_slalom import fly_slalom

    gates = ((10.0, 0.0, -3.0), (27.0, 10.0, -3.0), (10.0, 20.0, -3.0))
    few = CONTEST.slalom.model_copy(update={"gates_m": gates, "laps": 1})
    found = fly_slalom(craft_of("slalom"), SITE, CONTEST.model_copy(update={"slalom": few}))
    assert 1.0 < found.planned < found.lap < 2.1 * found.planned
    assert f"planned {found.planned:.2f} s" in found.words
