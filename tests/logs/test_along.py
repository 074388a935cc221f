"""The model led along a log: a hover must carry the craft, and a pack must fall as its circuit says."""

import numpy as np
import pytest

from quadsim.config import load_craft
from quadsim.config.equilibrium import hover_balance, open_circuit_cell
from quadsim.environment.atmosphere import Site
from quadsim.errors import InputError
from quadsim.logs.along import along, discharge, model_of
from quadsim.logs.flight_log import FlightLog


@pytest.fixture(scope="module")
def model():
    return model_of(load_craft("siskin"), Site())


def hover_log(model, seconds, speeds):
    """Level, still, at the command and the voltage of hover."""
    at = hover_balance(model.plant, winding=float(model.plant.air_temperature))
    t = np.arange(0.0, seconds, 0.01)
    n = len(t)
    log = FlightLog(None, t, {
        "gyro": np.zeros((n, 3)), "attitude": np.tile([1.0, 0.0, 0.0, 0.0], (n, 1)), "motor": np.full((n, 4), at.duty),
        "voltage": np.full(n, at.pack_voltage),
    })  # fmt: skip
    if speeds:
        log.channels["rotor_speed"] = np.full((n, 4), at.rotor_speed)
    return log, at


@pytest.mark.parametrize("speeds", [False, True])
def test_the_thrust_of_hover_carries_the_craft(model, speeds):
    log, at = hover_log(model, 0.15, speeds)
    said = along(model, log)
    assert said.thrust[-1] == pytest.approx(float(model.plant.gravity), rel=2e-3)
    assert said.rotor_speed[-1] == pytest.approx([at.rotor_speed] * 4, rel=2e-3)
    assert said.current[-1] == pytest.approx(at.pack_current, rel=5e-3)
    assert abs(said.specific[-1, 1]) < 0.01  # ahead it feels the pitching of a mass that is not in the middle
    assert said.thrust.min() > 9.0, "every row is told"


def test_a_climb_takes_thrust_where_a_log_has_no_velocity(model):
    log, _ = hover_log(model, 0.1, True)
    still = along(model, log).thrust[-1]
    log.channels["climb_rate"] = np.full(len(log), 2.0)
    climbing = along(model, log).thrust[-1]
    assert climbing < 0.95 * still
    log.channels["height"] = 10.0 + 2.0 * log.t_s
    del log.channels["climb_rate"]
    assert along(model, log).thrust[-1] == pytest.approx(climbing, rel=1e-6)


def test_more_on_the_left_rolls_right(model):
    log, _ = hover_log(model, 0.1, False)
    log["motor"][:, 2:] += 0.05
    assert along(model, log).turning[-1, 0] > 1.0


def test_what_lacks_the_motors_cannot_be_led(model):
    log, _ = hover_log(model, 0.1, False)
    del log.channels["motor"]
    with pytest.raises(InputError, match="has no motor"):
        along(model, log)


def test_a_pack_under_a_constant_current_in_closed_form():
    model = model_of(load_craft("siskin"), Site.stated(temperature_C=20.0))
    plant = model.plant.copy()
    plant.pack_heat = plant.low_charge_resistance = 0.0
    t, amps = np.linspace(0.0, 20.0, 401), 20.0
    volts = discharge(model, t, np.full(len(t), amps), plant, 0.9)
    charge = 0.9 - amps * t[-1] / float(plant.capacity)
    slow = float(plant.relaxation_resistance * plant.relaxation_capacitance)
    relaxed = amps * float(plant.relaxation_resistance) * (1.0 - np.exp(-t[-1] / slow))
    source = float(plant.cells) * open_circuit_cell(charge, float(plant.full_cell_voltage))
    said = source - amps * float(plant.pack_resistance + plant.lead_resistance) - relaxed
    assert volts[-1] == pytest.approx(said, abs=2e-3)
