"""The crowd's circuit, battery and warmth against the plant's own formulas, of which they are the quick copies."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from controllers.signals import rows
from quadsim.config import load_craft, resolve_plant
from quadsim.config.equilibrium import balance_at_voltage, hover_balance, plain
from quadsim.contest.crowd import crowd_of
from quadsim.contest.feed import Store, feed, hold, raised_current
from quadsim.contest.steady import Trim, trim
from quadsim.dynamics.battery import battery_rates, hold_battery, warm_pack
from quadsim.dynamics.motor_heat import TURNS, warm_motor, winding_resistance
from quadsim.dynamics.records import HELD
from quadsim.dynamics.state import SIZE, X
from quadsim.environment.atmosphere import Site

PLANTS = {name: resolve_plant(load_craft(name), Site()) for name in ("siskin", "bonxie", "williwaw")}
FLOWN = {name: trim(crowd, crowd.mass) for name, crowd in ((one, crowd_of([PLANTS[one]])) for one in PLANTS)}


@settings(max_examples=60)
@given(
    st.sampled_from(sorted(PLANTS)), st.floats(0.02, 1.0), st.floats(255.0, 330.0), st.floats(255.0, 420.0)
)
def test_feed_is_the_static_balance_at_any_charge_and_temperature(name, charge, pack, winding):
    plant = PLANTS[name]
    known = hover_balance(plant, charge, winding=winding, pack=pack)
    store = Store.full(crowd_of([plant]), charge)
    store.pack[:], store.winding[:] = pack, winding
    at = feed(crowd_of([plant]), FLOWN[name], store)
    if known is None:
        worst = max(at.command[0], at.worst_current[0] / plant.current_limit)
        assert worst > 1.0
        return
    assert at.pack_current[0] == pytest.approx(known.pack_current, rel=1e-5)
    assert at.volts[0] == pytest.approx(known.pack_voltage, rel=1e-6)
    assert at.current[0] == pytest.approx(known.motor_current, rel=1e-5)
    assert at.across[0] / at.volts[0] == pytest.approx(known.duty, rel=1e-5)


@pytest.mark.parametrize(("name", "duty"), [("siskin", 0.4), ("siskin", 0.8), ("bonxie", 0.6)])
def test_the_current_of_a_raised_command_is_that_of_the_bench(name, duty):
    # standing rotors on a stiff supply; the motor's resistance takes a little of the raised command: up to 6 % of the current
    plant = resolve_plant(load_craft(name), Site())
    volts, more = float(plant.cells) * 3.8, 0.05
    now, then = (balance_at_voltage(plant, one, volts) for one in (duty, duty + more))
    raised = raised_current(
        plant, np.array([now.rotor_speed]), np.array([now.motor_current]), np.array([duty]), more
    )
    assert 0.0 <= raised[0] / then.motor_current - 1.0 < 0.06


@pytest.mark.jit
@pytest.mark.parametrize("air_C", [-10.0, 25.0])
def test_a_hold_is_the_plants_own_store(air_C):
    # the plant's formulas for battery and motor advanced by 50 ms at the same constant load; the hold takes 20 steps for 20 s
    plant = resolve_plant(load_craft("siskin"), Site(temperature_C=air_C)).copy()
    speed, torque = 1500.0, 0.02
    crowd = crowd_of([plant])
    flow = np.array([float(plant.per_disc_mass) * 1.5])
    ones = np.ones(1)
    flown = Trim(0.0 * ones, 1.5 * ones, speed * ones, torque * ones, speed * ones, torque * ones, ones, flow)
    store = Store.full(crowd, 0.15)
    hold(crowd, flown, 20.0, store)
    held, x = rows(HELD)[0], np.zeros(SIZE)
    held.pack_temperature = plant.pack_temperature
    held.winding_temperature[:] = held.case_temperature[:] = plant.air_temperature
    x[X.CHARGE], x[X.ROTORS], held.thrust[0] = 0.15, speed, 1.5
    for _ in range(400):
        own_step(plant, held, x, speed, torque, 0.05)
    assert store.charge[0] == pytest.approx(x[X.CHARGE], abs=2e-4)
    assert store.relaxation[0] == pytest.approx(x[X.RELAXATION], rel=0.02)
    assert store.pack[0] == pytest.approx(held.pack_temperature, abs=0.05)
    assert store.winding[0] == pytest.approx(held.winding_temperature[0], abs=1.0)
    assert store.case[0] == pytest.approx(held.case_temperature[0], abs=0.3)


def own_step(plant, held, x, speed, torque, step):
    """One step of the flight's formulas."""
    hold_battery(x, held, plant)
    current = plant.no_load_current + plant.no_load_slope * speed + torque / plant.torque_constant
    ohms = winding_resistance(held.winding_temperature[0], plant)
    power = 4.0 * current * (current * ohms + plant.torque_constant * speed)
    e = held.open_circuit_voltage - x[X.RELAXATION] - held.pack_resistance * plant.avionics_current
    volts = 0.5 * (e + np.sqrt(e * e - 4.0 * held.pack_resistance * power))
    held.battery_current = plant.avionics_current + power / volts
    charge, relaxation = battery_rates(x, held)
    warm_pack(x, step, held, plant)
    held.current_square[0] = TURNS * current**2
    plain(warm_motor)(0, x, step, held, plant)
    x[X.CHARGE] += step * charge
    x[X.RELAXATION] += step * relaxation
