"""Steady flight of many craft at once against the plant's own trim and against momentum theory."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from quadsim.config import load_craft, resolve_plant
from quadsim.config.equilibrium import hover_balance, speed_for
from quadsim.contest.crowd import crowd_of
from quadsim.contest.feed import Store, feed
from quadsim.contest.steady import trim
from quadsim.environment.atmosphere import Site

CRAFTS = ("siskin", "bonxie", "williwaw")
PLANTS = {name: resolve_plant(load_craft(name), Site()) for name in CRAFTS}


@pytest.mark.parametrize("name", CRAFTS)
def test_hover_is_the_static_balance(name):
    plant = PLANTS[name]
    crowd = crowd_of([plant])
    flown = trim(crowd, crowd.mass)
    assert flown.rotor_speed[0] == pytest.approx(speed_for(plant, plant.mass * plant.gravity / 4.0), rel=1e-6)
    warm = Store.full(crowd)
    warm.winding[:] = plant.working_temperature
    at, known = feed(crowd, flown, warm), hover_balance(plant)
    assert at.pack_current[0] == pytest.approx(known.pack_current, rel=1e-5)
    assert at.volts[0] == pytest.approx(known.pack_voltage, rel=1e-6)


@pytest.mark.jit
@pytest.mark.parametrize(("forward", "climb"), [(0.0, 2.0), (5.0, 0.0), (8.0, 2.0), (15.0, 0.0), (20.0, 0.0)])
@pytest.mark.parametrize("name", CRAFTS)
def test_trim_is_that_of_the_plant(name, forward, climb):
    from quadsim.analysis.operating_point import steady_flight
    from quadsim.dynamics.state import X

    crowd = crowd_of([PLANTS[name]])
    known, flown = steady_flight(PLANTS[name], forward, climb), trim(crowd, crowd.mass, forward, climb)
    speeds = known.x[X.ROTORS : X.ROTORS + 4]
    assert flown.tilt[0] == pytest.approx(-known.euler[1], abs=1e-3)
    assert flown.rotor_speed[0] == pytest.approx(float(np.mean(speeds)), rel=2e-3)
    assert flown.worst_speed[0] == pytest.approx(float(np.max(speeds)), rel=2e-3)


def test_rows_do_not_see_each_other():
    both = crowd_of([PLANTS["siskin"], PLANTS["bonxie"]])
    together = trim(both, both.mass, 12.0)
    for k, name in enumerate(("siskin", "bonxie")):
        alone = crowd_of([PLANTS[name]])
        assert trim(alone, alone.mass, 12.0).rotor_speed[0] == pytest.approx(
            together.rotor_speed[k], rel=1e-12
        )


@settings(max_examples=40, deadline=None)
@given(st.sampled_from(CRAFTS), st.floats(0.0, 1.5), st.floats(0.0, 25.0), st.floats(0.0, 4.0))
def test_no_flight_beats_ideal_power(name, payload, forward, climb):
    # momentum theory: P >= T (w + v_i), v_i of Glauert's disc, w along the shaft; plus nothing. H. Glauert, ARC R&M 1111 (1926)
    plant = PLANTS[name]
    crowd = crowd_of([plant])
    mass = crowd.mass * (1.0 + payload)
    flown = trim(crowd, mass, forward, climb)
    if np.isnan(flown.tilt[0]):
        return
    tilt, thrust = float(flown.tilt[0]), float(flown.thrust[0])
    w, u = forward * np.sin(tilt) + climb * np.cos(tilt), forward * np.cos(tilt) - climb * np.sin(tilt)
    induced = np.sqrt(thrust * float(plant.per_disc_mass))
    for _ in range(200):
        induced = 0.5 * (induced + thrust * float(plant.per_disc_mass) / np.hypot(u, w + induced))
    assert flown.torque[0] * flown.rotor_speed[0] >= thrust * (w + induced)


def test_what_cannot_be_flown_is_not_a_number():
    crowd = crowd_of([PLANTS["siskin"]])
    assert np.isnan(trim(crowd, crowd.mass, 500.0).tilt[0])
