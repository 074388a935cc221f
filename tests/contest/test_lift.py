"""Payload limits: order, monotony, sensitivities, the spread of drawn craft, and the ladder."""

import numpy as np
import pytest

from quadsim.config import load_craft, mass_properties, resolve_plant
from quadsim.contest.changes import CHANGES, sensitivities
from quadsim.contest.lift import WORDS, first_limit, hard_margins, margins, payload_limits, ratings
from quadsim.contest.lift_prediction import ladder, rated_payloads, times_to_failure
from quadsim.contest.loaded import loaded_crowd, probe
from quadsim.contest.rules import LiftRule
from quadsim.contest.uncertainty import moved_plants, unknowns
from quadsim.environment.atmosphere import Site

SITE, RULE = Site(), LiftRule()


def rated_payload(craft, site, rule):
    return float(rated_payloads([craft], site, rule)[0])


@pytest.fixture(scope="module")
def siskin():
    craft = load_craft("siskin")
    bare, boxed = probe(craft, SITE)
    return craft, bare, boxed, loaded_crowd([bare], bare, boxed)


def test_the_box_weighs_what_it_weighs(siskin):
    # a payload put on the crowd gives the plant that resolve_plant makes of it
    from quadsim.config.flight_schema import AttachSection
    from quadsim.config.loose_load import fixed_load

    craft, _, _, loaded = siskin
    plant = resolve_plant(craft, SITE, [fixed_load(AttachSection(mass_g=700.0))])
    crowd = loaded.with_payload(np.array([0.7]))
    assert crowd.mass[0] == pytest.approx(float(plant.mass), rel=1e-12)
    assert crowd.hubs[0] == pytest.approx(np.asarray(plant.rotor_position), abs=1e-4)
    assert crowd.drag_area[0] == pytest.approx(np.asarray(plant.drag_area), rel=1e-9)
    assert crowd.drag_centre[0] == pytest.approx(np.asarray(plant.drag_centre), abs=1e-4)
    assert crowd.download[0] == pytest.approx(float(np.mean(plant.download)), abs=1e-12)


def test_each_limit_bites_where_it_says(siskin):
    craft, bare, _, loaded = siskin
    rated = ratings(craft, bare)
    limits = payload_limits(loaded, RULE, rated, tuple(WORDS), margins)
    for name, payload in limits.items():
        if np.isfinite(payload):
            below, above = (
                margins(loaded, np.array([f * payload]), RULE, rated)[name][0] for f in (0.999, 1.001)
            )
            assert below > 0.0 > above, name
    first = first_limit(loaded, RULE, rated, margins)[0]
    assert first == pytest.approx(min(limits.values()), abs=1e-5)
    assert first < first_limit(loaded, RULE, rated, hard_margins)[0]


@pytest.mark.parametrize(
    "harder",
    [
        LiftRule(time_s=120.0),
        LiftRule(moment_reserve=0.2),
        LiftRule(climb_m_s=15.0),
        LiftRule(gust_m_s=14.0),
        LiftRule(cell_V=3.7),
    ],
)
def test_a_harder_rule_never_lifts_more(siskin, harder):
    craft, bare, _, loaded = siskin
    rated = ratings(craft, bare)
    assert (
        first_limit(loaded, harder, rated, margins)[0] < first_limit(loaded, RULE, rated, margins)[0] - 0.005
    )


def test_time_to_failure_meets_the_failure_payload(siskin):
    craft, bare, _, loaded = siskin
    failure = first_limit(loaded, RULE, ratings(craft, bare), hard_margins)
    below, at, above = times_to_failure(loaded, failure[0] * np.array([0.97, 1.0, 1.05]))
    assert at == pytest.approx(RULE.time_s, abs=2.0)
    assert above < at < below


def test_thin_air_lifts_less(siskin):
    craft = siskin[0]
    high = rated_payload(craft, Site(temperature_C=30.0, pressure_hPa=850.0), RULE)
    assert high < rated_payload(craft, SITE, RULE)


def test_sensitivities_are_half_the_difference():
    found = sensitivities(
        load_craft("bonxie"), lambda crafts: [mass_properties(craft).mass_kg for craft in crafts]
    )
    effects = {one.input: one.effect for one in found}
    assert effects.pop("mass of the frame") == pytest.approx(1e-3, rel=1e-9)
    assert set(effects.values()) == {0.0} and len(effects) == len(CHANGES) - 1


def test_nothing_moved_is_the_craft_itself(siskin):
    craft, bare, _, _ = siskin
    inputs = unknowns(craft, SITE, bare)
    (same,) = moved_plants(craft, SITE, inputs, np.zeros((1, len(inputs))))
    for name in bare.dtype.names:
        assert np.asarray(same[name]) == pytest.approx(np.asarray(bare[name]), rel=1e-9, nan_ok=True), name


def test_ladder_goes_down_in_the_steps_asked_for():
    holds = np.linspace(0.3001, 0.6001, 301)
    rungs = ladder(holds, 0.05)
    assert rungs[0] == pytest.approx((0.3, 1.0)) and rungs[-1][1] <= 0.01
    assert [one for one, _ in rungs] == pytest.approx(np.arange(0.3, 0.651, 0.05)[: len(rungs)])
    assert dict((round(a, 2), b) for a, b in rungs)[0.45] == pytest.approx(0.5, abs=0.01)
