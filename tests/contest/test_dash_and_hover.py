"""Top speed and endurance: limits, timing rules, the straight, and one rule for minutes."""

import math
from dataclasses import replace

import numpy as np
import pytest

from quadsim.analysis.hover import LANDING_CELL_V, cut_off, hover_endurance, landing, plant_endurance
from quadsim.analysis.inspection import inspect_craft
from quadsim.config import load_craft, resolve_plant
from quadsim.config.quantity import Uncertain
from quadsim.contest.crowd import crowd_of
from quadsim.contest.dash import course, margins, speed_limits, top_speeds
from quadsim.contest.dash_prediction import dash_of
from quadsim.contest.hover_prediction import predict_hover, stated_end
from quadsim.contest.lift import ratings
from quadsim.contest.rules import DashRule
from quadsim.environment.atmosphere import Site

SITE = Site()


@pytest.fixture(scope="module")
def williwaw():
    craft = load_craft("williwaw")
    plant = resolve_plant(craft, SITE)
    dash = dash_of(craft, DashRule())
    crowd, rated = crowd_of([plant]), ratings(craft, plant)
    return craft, crowd, dash, rated, speed_limits(crowd, dash, rated)


def test_each_limit_bites_where_it_says(williwaw):
    _, crowd, dash, rated, limits = williwaw
    for name, speed in limits.items():
        if math.isfinite(speed):
            below, above = (
                margins(crowd, np.array([speed + d]), dash, rated)[name][0] for d in (-0.05, 0.05)
            )
            assert below > 0.0 > above, name
    first = min(limits.values())
    assert top_speeds(crowd, dash, rated, first)[0] == pytest.approx(first, abs=0.01)
    assert top_speeds(crowd, dash, rated, 0.9 * first)[0] == pytest.approx(first, abs=0.01)


def test_the_crafts_own_tilt_bounds_it(williwaw):
    craft, crowd, dash, rated, limits = williwaw
    assert dash.tilt == pytest.approx(craft.gains["guide"]["tilt_max"])
    slower = speed_limits(crowd, replace(dash, tilt=0.6), rated)
    assert min(slower, key=lambda name: slower[name]) == "tilt"
    assert min(slower.values()) < min(limits.values())


def test_timing_rules(williwaw):
    # mean of speeds V; mean of times the harmonic mean (V^2 - w^2)/V; a standing start is slower
    _, crowd, dash, _, limits = williwaw
    speed = min(limits.values())
    windy = replace(dash, rule=DashRule(wind_m_s=6.0))
    assert course(crowd, speed, windy, 0.2).scored_speed == pytest.approx(speed)
    times = replace(dash, rule=DashRule(wind_m_s=6.0, mean_of="times"))
    assert course(crowd, speed, times, 0.2).scored_speed == pytest.approx((speed**2 - 36.0) / speed)
    one_way = replace(dash, rule=DashRule(wind_m_s=6.0, mean_of="one way"))
    assert course(crowd, speed, one_way, 0.2).scored_speed == pytest.approx(speed - 6.0)
    standing = course(crowd, speed, replace(dash, rule=DashRule(start="standing")), 0.2)
    flying = course(crowd, speed, dash, 0.2)
    assert standing.scored_speed < flying.scored_speed
    assert standing.field_m < flying.field_m
    # room before a flying start: none is a standing one, plenty loses 1 - SETTLED at most, more is never slower
    by_room = [
        course(crowd, speed, replace(dash, rule=DashRule(run_up_m=room)), 0.2).scored_speed
        for room in (0.0, 20.0, 60.0, 500.0)
    ]
    assert by_room[0] == pytest.approx(standing.scored_speed, rel=1e-9)
    assert by_room == sorted(by_room) and by_room[-1] == pytest.approx(speed, rel=0.01)
    assert 1 <= flying.runs_per_pack < 20


def test_one_rule_wherever_minutes_are_shown():
    craft = load_craft("bonxie")
    inspected = inspect_craft(craft, SITE).endurance
    assert inspected is not None
    predicted = predict_hover(craft, SITE, samples=20)
    assert predicted.at_end == inspected == hover_endurance(craft, SITE)
    assert predicted.at_cut_off.minutes > predicted.at_end.minutes
    assert predicted.ideal_power < predicted.power
    low, high = predicted.spread.interval
    assert low < predicted.at_end.minutes < high


def test_draws_lie_around_the_answer_down_to_an_empty_pack():
    # the draws' rough steps alone count 3 % too much where the voltage falls steeply; 60 of 5.5 % leave 0.7 %
    craft = load_craft("bonxie")
    found = predict_hover(craft, SITE, end=stated_end(craft, 100.0, 3.3), samples=60)
    assert found.at_end.limited_by == "stated voltage"
    assert np.median(found.spread.samples) == pytest.approx(found.at_end.minutes, rel=0.015)


def test_the_landing_voltage_may_come_first():
    craft = load_craft("siskin")
    tired = craft.battery.model_copy(update={"cell_resistance_mohm": Uncertain(30.0)})
    plant = resolve_plant(craft.model_copy(update={"battery": tired}), SITE)
    end = plant_endurance(plant, landing(tired), 400)
    assert end.limited_by == "landing voltage" and landing(tired).cell_V == LANDING_CELL_V
    assert end.minutes < plant_endurance(plant, cut_off(tired), 400).minutes
    early = craft.battery.model_copy(update={"cutoff_cell_V": Uncertain(3.6)})
    assert landing(early).cell_V == 3.6 and landing(early).voltage == "cut-off voltage"


def test_payload_and_a_stated_end_shorten_it():
    craft = load_craft("bonxie")
    free = predict_hover(craft, SITE, samples=5).at_end.minutes
    assert predict_hover(craft, SITE, 0.5, samples=5).at_end.minutes < free
    half = predict_hover(craft, SITE, end=stated_end(craft, used_pct=40.0), samples=5).at_end
    assert half.minutes == pytest.approx(0.5 * free, rel=0.05)
