"""Winners flown: how a log is read, what counts as level and held, and who is first by what was flown."""

from dataclasses import replace

import numpy as np
import pytest

from quadsim.config.contest_schema import load_contest
from quadsim.config.parts_loader import load_catalogue
from quadsim.config.quantity import Uncertain
from quadsim.parts import confirm, figures
from quadsim.parts.bill import Terms
from quadsim.parts.build import build_craft, craft_text
from quadsim.parts.choice import Choice, Fitted, Shared
from quadsim.parts.flown_dash import LEAN_AT_S, dash_gains, timed
from quadsim.parts.neighbours import event_figures
from quadsim.parts.search import Found, Ranked, market
from quadsim.simulation.run import Run

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


def log(t, place, current=10.0, status="done"):
    """A run that was at places north-east-down."""
    data = {"t_s": t, "position_m": place, "battery_current_A": np.full(len(t), current)}
    return Run(
        flight="f", craft="c", status=status, status_text=status, data=data, events=[], view={}, meta={}
    )


def dash_log(sink):
    t = np.arange(0.0, 8.0, 0.01)
    since = np.maximum(t - LEAN_AT_S, 0.0)
    north = np.where(since < 2.0, 5.0 * since**2, 20.0 * since - 20.0)  # 10 m/s2 for 2 s, then 20 m/s
    return log(t, np.column_stack([north, 0.0 * t, -40.0 + sink * since]))


def test_a_timed_distance_by_hand():
    found = timed(dash_log(0.0), np.array([60.0, 110.0]), 40.0)
    assert found.speed == pytest.approx(20.0, rel=1e-6)
    assert found.pack == pytest.approx(0.25)
    standing = timed(dash_log(0.0), np.array([0.0, 50.0]), 40.0)
    assert standing.speed == pytest.approx(50.0 / 3.5, rel=2e-3)  # 20 m in 2 s, 30 m in 1.5 s


@pytest.mark.parametrize(("sink", "level"), [(0.2, True), (-0.3, True), (0.41, False), (-0.41, False)])
def test_what_sinks_or_climbs_faster_than_two_per_cent_is_not_level(sink, level):
    assert (timed(dash_log(sink), np.array([60.0, 110.0]), 40.0).speed > 0.0) is level


def test_height_lost_in_the_run_up_and_a_line_not_reached_count_as_nothing():
    run = dash_log(0.0)
    early = (run.t_s > 1.5) & (run.t_s < 2.5)
    run.data["position_m"][early, 2] += 2.1
    assert timed(run, np.array([60.0, 110.0]), 40.0).speed == 0.0
    assert timed(dash_log(0.0), np.array([60.0, 500.0]), 40.0).speed == 0.0


def test_gains_let_a_craft_lean_as_far_as_it_was_flown_and_stand_in_its_file():
    for lean in (30.0, 60.0, 79.0):
        gains = dash_gains(lean)
        assert np.radians(lean) < gains["tilt_max"] <= 1.4
        assert gains["tilt_factor_max"] == pytest.approx(min(1.05 / np.cos(np.radians(lean)), 5.0), abs=0.01)
    assert "[gains.guide]\ntilt_max" in craft_text(SHARED, FITTED, "dash", MARKET, CONTEST, dash_gains(60.0))
    assert "gains" not in craft_text(SHARED, FITTED, "dash", MARKET, CONTEST)


FLOWN = {"slalom": 12.0, "lift": 1.0, "dash": 30.0}


@pytest.fixture
def here():
    return market(MARKET, CONTEST, Terms())


def ranked(choice, points):
    return Ranked(choice, dash=30.0, lift=1.0, lap=12.0, price=400.0, points=points)


def test_the_first_by_what_was_flown_is_first_and_no_craft_flies_twice(here, monkeypatch):
    """Two choices that differ in the dash alone; the one that was second flies its dash as estimated, the first does not."""
    first, second = ranked(CHOICE, 100.0), ranked(replace(CHOICE, dash=OTHER), 99.0)
    asked = []

    def fly_event(_, one, event, __):
        asked.append(confirm.craft_key(one.choice, event))
        slow = event == "dash" and one.choice.dash is FITTED
        return confirm.Flown(event, FLOWN[event], 0.5 * FLOWN[event] if slow else FLOWN[event], "", {})

    monkeypatch.setattr(confirm, "fly_event", fly_event)
    found = confirm.confirm(here, Found(2, 2, 500.0, [first, second], []))
    assert [one.ranked for one in found.first] == [second, first]
    assert len(asked) == len(set(asked)) == 4
    assert not found.agrees
    assert [one.event for one in found.every if not one.agrees] == [
        "dash",
        "dash",
    ]  # in the front, and as the best


def test_what_cannot_be_flown_earns_nothing(here, monkeypatch):
    lost = {"slalom": np.inf, "lift": 1.0, "dash": 30.0}
    monkeypatch.setattr(
        confirm,
        "fly_event",
        lambda _, one, event, __: confirm.Flown(event, FLOWN[event], lost[event], "", {}),
    )
    found = confirm.confirm(here, Found(1, 1, 500.0, [ranked(CHOICE, 100.0)], []))
    assert found.first[0].points == 0.0 and not found.agrees


@pytest.mark.jit
def test_dash_and_lift_of_a_choice_are_flown_as_estimated(here):
    """One lean near the best is enough: it is 3 % slower at most, and 15 degrees less lose a third of the push."""
    from quadsim.parts.flown_dash import fly_lean
    from quadsim.parts.flown_lift import fly_load

    dash, lift, _ = event_figures(here, CHOICE)
    speeds = [fly_lean(craft_of("dash"), SITE, CONTEST, lean).speed for lean in (60.0, 68.0, 76.0)]
    assert max(speeds) == pytest.approx(dash, rel=0.1)
    assert fly_load(craft_of("lift"), SITE, CONTEST, 0.88 * lift).kept
    assert not fly_load(craft_of("lift"), SITE, CONTEST, 1.15 * lift).kept


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
