"""A measured speed response of motor and propeller is what the craft then flies with."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from hand_made import OpenLoop, state
from scipy.integrate import solve_ivp

from quadsim.config import load_craft, resolve_plant, resolve_sensors
from quadsim.config.drive_schema import Response
from quadsim.config.equilibrium import balance_at_voltage
from quadsim.config.esc_response import RISEN, extra_lag, lag_points, own_time_constant, risen
from quadsim.config.warmth import begin_at
from quadsim.dynamics.state import X
from quadsim.environment.atmosphere import Site

MEASURED = (
    Response(throttle_pct=30.0, tau_up_ms=45.0, tau_down_ms=70.0),
    Response(throttle_pct=60.0, tau_up_ms=32.0, tau_down_ms=55.0),
)
STEP = 0.005


def craft_with(response: tuple[Response, ...]) -> Any:
    craft = load_craft("siskin")
    return craft.model_copy(
        update={"esc": craft.esc.model_copy(update={"response": response, "lag_ms": 0.0})}
    )


@pytest.mark.parametrize("first", [0.0, 0.004, 0.02])
def test_two_lags_in_series_against_an_integration(first: float) -> None:
    """Step response of 1/((a s + 1)(b s + 1)) with b = 20 ms at 33 ms, scipy's solve_ivp; equal lags are a case of their own."""

    def rhs(_t: float, y: np.ndarray) -> list[float]:
        into = 1.0 if first == 0.0 else y[0]
        return [(1.0 - y[0]) / max(first, 1e-9) if first else 0.0, (into - y[1]) / 0.02]

    found = solve_ivp(rhs, (0.0, 0.033), [0.0, 0.0], rtol=1e-10, atol=1e-12).y[1, -1]
    assert risen(0.033, first, 0.02) == pytest.approx(found, abs=1e-7)


def test_what_is_added_makes_the_measured_time() -> None:
    assert risen(0.045, extra_lag(0.045, 0.020), 0.020) == pytest.approx(RISEN, abs=1e-9)
    assert extra_lag(0.015, 0.020) == 0.0  # the motor alone is slower: no lag mends that


def test_own_time_constant_is_the_textbooks() -> None:
    """J/(kt^2/R + 2 q w): Kv 920 rpm/V, 0.13 ohm, Q = 1.5e-7 w^2, J = 2.5e-5 at 11.1 V without losses: 22.647067 ms."""
    plant = resolve_plant(load_craft("siskin"), Site())
    plant.torque_constant, plant.motor_resistance, plant.rotor_inertia = (
        60.0 / (2.0 * math.pi * 920.0),
        0.13,
        2.5e-5,
    )
    plant.esc_resistance = plant.copper_per_kelvin = plant.no_load_current = plant.no_load_slope = 0.0
    plant.current_limit = 1e9
    plant.rotor_trend[:] = 0.0
    plant.rotor_map[:, :, 1] = (
        1.5e-7 * (2.0 * math.pi) ** 3 / (plant.air_density * (2.0 * plant.rotor_radius) ** 5)
    )
    assert own_time_constant(plant, 1.0, 11.1) == pytest.approx(22.647066952892857e-3, rel=1e-6)


@pytest.mark.jit
@pytest.mark.parametrize("measured", MEASURED, ids=lambda one: f"{one.throttle_pct:g} %")
@pytest.mark.parametrize("up", [True, False], ids=["up", "down"])
def test_a_small_step_takes_the_measured_time(measured: Response, up: bool) -> None:
    """On a stiff supply of 3.7 V per cell, windings at working temperature, in the flight loop: 63 % time within 3 %."""
    craft = craft_with(MEASURED)
    plant = resolve_plant(craft, Site())
    sensors = resolve_sensors(craft, plant, 4000.0, 1)
    plant.inertia[:], plant.inertia_inverse[:] = np.eye(3) * 1e6, np.eye(3) * 1e-6
    plant.mass, plant.gravity, plant.pack_resistance, plant.lead_resistance = 1e6, 0.0, 0.0, 0.0
    plant.full_cell_voltage, plant.winding_heat, plant.relaxation_capacitance = 3.7, 0.0, 1e12
    command = measured.throttle_pct / 100.0
    steady = balance_at_voltage(plant, command, 3.7 * 4).rotor_speed
    bench = OpenLoop(state(rotors=steady), plant, 1.0 / 4000.0, motor=command)
    begin_at(bench.held, plant, float(plant.working_temperature))
    bench.sensors.motor_blend[:] = sensors.motor_blend
    change = STEP if up else -STEP
    bench.carried.motor_line[:] = bench.signals.motor[:] = command + change
    end = balance_at_voltage(plant, command + change, 3.7 * 4).rotor_speed
    wanted = (measured.tau_up_ms if up else measured.tau_down_ms) * 1e-3
    ticks, x = 0, bench.x
    while (x[X.ROTORS] - steady) / (end - steady) < RISEN:
        x = bench.fly(bench.h)
        ticks += 1
        assert ticks < 2000
    assert ticks * bench.h == pytest.approx(wanted, rel=0.03)


def test_faster_than_the_motor_can_be_is_noticed() -> None:
    craft = craft_with((Response(throttle_pct=50.0, tau_up_ms=3.0, tau_down_ms=40.0),))
    (point,) = lag_points(craft, resolve_plant(craft, Site()))
    assert point.too_fast
    assert (point.up, point.down > 0.0) == (0.0, True)
