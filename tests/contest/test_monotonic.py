"""What must never help: more mass, resistance, loss or age, a stricter rule; and no prediction beats ideal power."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from quadsim.analysis.hover import landing, plant_endurance
from quadsim.config import load_craft, resolve_plant
from quadsim.contest.crowd import crowd_of
from quadsim.contest.dash import margins as dash_margins
from quadsim.contest.dash_prediction import dash_of
from quadsim.contest.feed import Store, feed
from quadsim.contest.lift import first_limit, hard_margins, margins, ratings
from quadsim.contest.loaded import loaded_crowd, probe
from quadsim.contest.rules import DashRule, LiftRule
from quadsim.contest.steady import trim
from quadsim.contest.uncertainty import drawn, moved_plants, unknowns
from quadsim.dynamics.state import X
from quadsim.environment.atmosphere import Site

SITE, RULE = Site(temperature_C=25.0), LiftRule()
"""Warm: in the cold a pack that loses more also warms itself and gives more."""
CRAFTS = {name: load_craft(name) for name in ("siskin", "bonxie", "williwaw")}
PLANTS = {name: resolve_plant(craft, SITE) for name, craft in CRAFTS.items()}
PROBES = {name: probe(craft, SITE) for name, craft in CRAFTS.items()}
ANY = st.sampled_from(sorted(CRAFTS))
WORSE = {
    "mass": 1.1, "motor_resistance": 1.3, "esc_resistance": 1.5, "pack_resistance": 1.3, "lead_resistance": 2.0,
    "no_load_current": 1.5, "no_load_slope": 1.5, "installed_loss": 1.2, "relaxation_resistance": 1.5,
    "avionics_current": 1.5, "capacity": 0.8, "full_cell_voltage": 0.98, "winding_heat": 0.8,
}  # fmt: skip
"""Fields of PLANT and a factor that makes a craft worse."""
EPS = 1e-6
"""Slack for the searches inside a trim."""


def helps(least):
    """Whether the second of two, which is worse, has more left; how far a limit is passed says nothing."""
    good, bad = least
    return bad >= 0.0 if good < 0.0 else bad > good + EPS


def worse(plant, field, share):
    """A copy with one field on the way to its worse value."""
    other = plant.copy()
    other[field] = plant[field] * (1.0 + share * (WORSE[field] - 1.0))
    return other


def lift_margins(name, plants, payload, rule=RULE):
    loaded = loaded_crowd(plants, *PROBES[name])
    rated = ratings(CRAFTS[name], PLANTS[name], len(plants))
    found = margins(loaded, np.broadcast_to(payload, (len(plants),)), rule, rated)
    return np.array(list(found.values()))


@given(ANY, st.floats(0.0, 4.0), st.floats(0.001, 1.0))
@settings(max_examples=15)
def test_more_payload_leaves_less_of_every_limit(name, share, more):
    # what the search for the greatest payload rests on
    mass = float(PLANTS[name].mass)
    found = lift_margins(name, [PLANTS[name]] * 2, mass * np.array([share, share + more]))
    assert np.all(found[:, 1] <= found[:, 0] + EPS)


@given(ANY, st.sampled_from(sorted(WORSE)), st.floats(0.1, 1.0), st.floats(0.0, 3.0))
@settings(max_examples=40)
def test_a_worse_craft_never_lifts_more(name, field, share, payload):
    plants = [PLANTS[name], worse(PLANTS[name], field, share)]
    found = lift_margins(name, plants, payload * float(PLANTS[name].mass)).min(axis=0)
    assert not helps(found), field


@given(
    ANY,
    st.floats(0.0, 3.0),
    st.floats(1.01, 3.0),
    st.sampled_from(("time_s", "moment_reserve", "climb_m_s", "cell_V")),
)
@settings(max_examples=20)
def test_a_stricter_rule_never_lifts_more(name, payload, harder, key):
    value = getattr(RULE, key)
    strict = replace(RULE, **{key: value + 0.1 * harder if key == "cell_V" else harder * value})
    least = [
        lift_margins(name, [PLANTS[name]], payload * PLANTS[name].mass, rule).min() for rule in (RULE, strict)
    ]
    assert not helps(least), key


@given(ANY, st.sampled_from(sorted(set(WORSE) - {"winding_heat"})), st.floats(0.1, 1.0))
@settings(max_examples=40)
def test_a_worse_craft_never_hovers_longer(name, field, share):
    end = landing(CRAFTS[name].battery)
    good, bad = (
        plant_endurance(plant, end, 12).minutes for plant in (PLANTS[name], worse(PLANTS[name], field, share))
    )
    assert bad <= good * (1.0 + EPS), field


@given(ANY, st.floats(0.0, 0.5), st.floats(0.0, 0.5), st.floats(3.3, 3.6), st.floats(0.0, 0.1))
@settings(max_examples=8)
def test_an_earlier_end_is_never_later(name, reserve, more, volts, higher):
    end = replace(landing(CRAFTS[name].battery), reserve=reserve, cell_V=volts)
    minutes = plant_endurance(PLANTS[name], end, 200).minutes
    for earlier in (replace(end, reserve=reserve + more), replace(end, cell_V=volts + higher)):
        assert plant_endurance(PLANTS[name], earlier, 200).minutes <= minutes + 0.02


@given(
    ANY,
    st.sampled_from(sorted(set(WORSE) - {"mass", "installed_loss"})),
    st.floats(0.1, 1.0),
    st.floats(5.0, 45.0),
)
@settings(max_examples=30)
def test_a_worse_drive_never_flies_faster(name, field, share, speed):
    # not of mass: near the pitch speed a heavier craft leans less, so that less air comes through its rotors
    plants = [PLANTS[name], worse(PLANTS[name], field, share)]
    dash, rated = dash_of(CRAFTS[name], DashRule()), ratings(CRAFTS[name], PLANTS[name], 2)
    found = dash_margins(crowd_of(plants), np.full(2, speed), dash, rated)
    least = np.min(np.array(list(found.values())), axis=0)
    assert not helps(least), field


@pytest.mark.jit
def test_a_heavier_craft_may_be_faster():
    # near the pitch speed; the plant's own trim says the same: it leans less and needs less rotor speed
    from quadsim.analysis.operating_point import steady_flight

    name, speed = "siskin", 27.0
    heavy = PLANTS[name].copy()
    heavy.mass *= 1.05
    light, other = (steady_flight(plant, speed) for plant in (PLANTS[name], heavy))
    rotors = slice(X.ROTORS, X.ROTORS + 4)
    slower = np.mean(other.x[rotors]) - np.mean(light.x[rotors])
    assert -other.euler[1] < -light.euler[1] and slower < 0.0
    both = crowd_of([PLANTS[name], heavy])
    flown = trim(both, both.mass, speed)
    assert flown.rotor_speed[1] - flown.rotor_speed[0] == pytest.approx(slower, rel=0.05)


@pytest.mark.parametrize("name", sorted(CRAFTS))
def test_no_failure_payload_beats_ideal_power(name):
    # 4 T v_i <= power of the rotors: momentum theory (W. Johnson, Helicopter Theory, 1980, sec. 2-1), of 100 craft drawn twice
    # as far out as they should be
    inputs = unknowns(CRAFTS[name], SITE, PLANTS[name])
    plants = moved_plants(CRAFTS[name], SITE, inputs, 2.0 * drawn(100, inputs, seed=5))
    loaded = loaded_crowd(plants, *PROBES[name])
    failure = first_limit(loaded, RULE, ratings(CRAFTS[name], PLANTS[name], 100), hard_margins, 14)
    crowd = loaded.with_payload(failure)
    thrust = crowd.mass * crowd.gravity
    ideal = thrust * np.sqrt(thrust / 4.0 * crowd.per_disc_mass)
    flown = trim(crowd, crowd.mass)
    assert np.all(ideal < 4.0 * flown.torque * flown.rotor_speed)
    at = feed(crowd, flown, Store.full(crowd))
    assert 0.3 < np.median(ideal / (at.volts * at.pack_current)) < 0.8  # near enough to mean something


@pytest.mark.parametrize("name", sorted(CRAFTS))
def test_no_minutes_beat_ideal_power(name):
    # energy of the cells at open circuit over ideal power, down to the reserve
    inputs = unknowns(CRAFTS[name], SITE, PLANTS[name])
    end = landing(CRAFTS[name].battery)
    for plant in moved_plants(CRAFTS[name], SITE, inputs, 2.0 * drawn(20, inputs, seed=6)):
        thrust = float(plant.mass * plant.gravity)
        energy = float(plant.cells * plant.full_cell_voltage * plant.capacity) * (1.0 - end.reserve)
        bound = energy / (thrust * np.sqrt(thrust / 4.0 * float(plant.per_disc_mass))) / 60.0
        assert 0.1 * bound < plant_endurance(plant, end, 12).minutes < bound
