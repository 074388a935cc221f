"""A pack under the pulses of a flight: its resistance and capacity must come out, and be called untold where they cannot."""

import numpy as np
import pytest

from quadsim.config import load_craft
from quadsim.environment.atmosphere import Site
from quadsim.logs.along import discharge, model_of
from quadsim.logs.flight_log import FlightLog
from quadsim.logs.pack_fit import fit_pack
from quadsim.logs.regression import INTERVAL_95


@pytest.fixture(scope="module")
def model():
    return model_of(load_craft("siskin"), Site())


def flown(model, seconds, resistance, capacity, seed=1, pulses=10.0):
    """Voltage of a pack that is another than its file says, with the noise and steps of a sensor."""
    t = np.arange(0.0, seconds, 0.1)
    draw = np.random.default_rng(seed)
    current = 14.0 + pulses * (np.sin(0.9 * t) + np.sin(0.23 * t + 1.0) > 0.8)
    plant = model.plant.copy()
    plant.pack_resistance *= resistance
    plant.relaxation_resistance *= resistance
    plant.relaxation_capacitance /= resistance
    plant.capacity *= capacity
    volts = discharge(model, t, current, plant, 0.97) * 1.002 + 0.01 * draw.standard_normal(len(t))
    return FlightLog(None, t, {"current": current, "voltage": np.round(volts, 2)})


def fitted(model, log):
    return fit_pack(model, log, np.ones(len(log), dtype=bool))


def test_voltages_kept_back_are_not_looked_at(model):
    log, rows = flown(model, 60.0, 1.3, 1.0), np.arange(600) % 150 < 100
    told = fit_pack(model, log, rows)[0][0]
    log.channels["voltage"][~rows] -= 3.0
    assert fit_pack(model, log, rows)[0][0] == told
    assert abs(told.value / told.expected - 1.25) < 0.1  # 1.3 on the cells' share of the resistance


@pytest.mark.parametrize(("resistance", "capacity", "seed"), [(1.0, 1.0, 1), (1.5, 0.9, 2), (0.8, 1.05, 3)])
def test_resistance_and_capacity(model, resistance, capacity, seed):
    told, untold = fitted(model, flown(model, 200.0, resistance, capacity, seed))
    by = {one.name: one for one in told}
    plant = model.plant
    whole = 1e3 * float(resistance * plant.pack_resistance + plant.lead_resistance)
    assert untold == []
    assert abs(by["pack_resistance"].value - whole) <= INTERVAL_95 * by["pack_resistance"].sigma
    assert abs(by["capacity"].value - 1500.0 * capacity) <= INTERVAL_95 * by["capacity"].sigma
    assert by["pack_resistance"].sigma < 0.05 * whole
    assert by["capacity"].sigma < 60.0
    cell = 4.2 * resistance
    assert by["pack_resistance"].key.value == pytest.approx(cell, rel=0.06)


def test_a_short_flight_tells_no_capacity_and_a_steady_one_no_resistance(model):
    told, untold = fitted(model, flown(model, 30.0, 1.3, 1.0))
    assert [one.name for one in told] == ["pack_resistance"]
    assert [one.name for one in untold] == ["capacity"]
    told, untold = fitted(model, flown(model, 30.0, 1.3, 1.0, pulses=0.5))
    assert told == []
    assert "the current changed by" in untold[0].why
    assert "full throttle for 3 s" in untold[0].flight


def test_packs_changed_in_one_log_do_not_run_the_fit_away(model):
    one = flown(model, 200.0, 1.0, 1.0)
    t = np.arange(8 * len(one)) * 0.1
    many = FlightLog(None, t, {name: np.tile(values, 8) for name, values in one.channels.items()})
    told, untold = fitted(model, many)
    assert told == []
    assert "several in one log" in untold[0].why


def test_without_a_current_sensor(model):
    log = flown(model, 30.0, 1.0, 1.0)
    del log.channels["current"]
    told, untold = fitted(model, log)
    assert (told, untold[0].why) == ([], "the log has no current")
