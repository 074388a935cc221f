"""Warmth of motors and pack: closed forms of two nodes, time constants, the energy balance of a flown second."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hand_made import OpenLoop, body, calm, smooth_map, state
from mutants_heat import HEAT_MUTANTS, constant_load, plain_warm_drive, steady_nodes, time_constants
from numpy.testing import assert_allclose
from scipy.linalg import expm

from quadsim.config import load_craft, resolve_plant
from quadsim.config.flight_loader import parse_flight
from quadsim.config.resolve_drive import cylinder_cooling
from quadsim.config.warmth import settled_temperatures
from quadsim.dynamics.battery import warm_pack
from quadsim.dynamics.motor_heat import case_to_air, flow_squared, warm_drive, winding_resistance
from quadsim.dynamics.state import X
from quadsim.environment.atmosphere import Site
from quadsim.simulation.session import Session

CHECKS = (steady_nodes, time_constants)


@pytest.mark.jit
@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.__name__)
def test_check_passes_on_the_shipped_kernel_and_on_the_plain_source(check) -> None:
    check(warm_drive)
    check(plain_warm_drive())


@pytest.mark.jit
@pytest.mark.parametrize("mutant", HEAT_MUTANTS, ids=lambda mutant: mutant.wrong)
def test_mutant_is_noticed(mutant) -> None:
    with pytest.raises(AssertionError, match="Not equal to tolerance"):
        mutant.check(mutant.kernel())


def test_copper() -> None:
    """R(100 deg C)/R(20 deg C) = 1 + 0.00393 * 80 = 1.3144 (IEC 60028, 1925); the ESC's part stays."""
    plant = resolve_plant(load_craft("siskin"), Site())
    warm, cold = winding_resistance(373.15, plant), winding_resistance(293.15, plant)
    assert cold == pytest.approx(0.078)
    assert (warm - 0.006) / (cold - 0.006) == pytest.approx(1.3144, rel=1e-12)


def test_air_over_a_cylinder() -> None:
    """Nu = 61.1 at Re = 12 650 in air, by hand from S. W. Churchill & M. Bernstein, J. Heat Transfer 99(2), 1977, eq. 10
    (from memory); the correlation itself is good to 20 to 30 %."""
    density, viscosity = 1.2041, 1.813e-5  # 20 deg C, ICAO Doc 7488
    flow = 12650.0 * viscosity / (density * 0.0275)
    assert cylinder_cooling(0.0275, flow, density, 293.15) * 0.0275 / 0.0257 == pytest.approx(61.1, rel=0.003)


def test_cooling_grows_with_the_root_of_the_flow_from_still_air() -> None:
    """The two stated ends, and twice the gain at four times the flow (Nu ~ Re^(1/2))."""
    plant = resolve_plant(load_craft("bonxie"), Site())
    hover, still = float(plant.case_to_air), float(plant.case_to_still_air)
    weight = float(plant.mass * plant.gravity)
    assert case_to_air(0.0, plant) == still
    assert case_to_air(flow_squared(weight / 4.0, 0.0, plant), plant) == pytest.approx(hover, rel=1e-9)
    four = flow_squared(4.0 * weight, 0.0, plant)  # thrust goes with the square of the flow
    assert case_to_air(four, plant) - still == pytest.approx(2.0 * (hover - still), rel=1e-9)
    induced = math.sqrt(
        weight / 4.0 / (2.0 * 1.225 * math.pi * 0.127**2)
    )  # W. Johnson, Helicopter Theory, sec. 2-1
    assert math.sqrt(flow_squared(weight / 4.0, 0.0, plant)) == pytest.approx(induced, rel=1e-4)


@pytest.mark.jit
def test_a_motor_on_a_stand_in_the_flight_loop() -> None:
    """Four motors at half duty drive a constant propeller for ten minutes, fifteen time constants: speed, current and both
    temperatures settle where circuit and nodes agree (fixed point over the closed form of each)."""
    plant = body(mass=1.0, inertia=(1e6, 1e6, 1e6), rotor_inertia=2e-5)
    plant.gravity = 0.0
    smooth_map(plant, (0.0,) * 4, (1.5e-7 * (2.0 * math.pi) ** 3 / (1.225 * 0.2**5), 0.0, 0.0, 0.0))
    constant_load(plant)
    plant.case_to_still_air = 0.4
    plant.motor_resistance, plant.no_load_current, plant.no_load_slope, plant.braking = 0.13, 0.3, 4e-4, 1.0
    stand = OpenLoop(state(rotors=700.0), plant, 1e-3, motor=0.5)
    stand.held.winding_temperature[:] = stand.held.case_temperature[:] = stand.held.pack_temperature = 293.15
    x = stand.fly(600.0)
    volts, kt, winding = 0.5 * 4.0 * 4.1029, 0.01, 293.15
    for _ in range(60):
        r = 0.13 * (1.0 + 0.00393 * (winding - 293.15))
        slope, drive = kt * (kt / r + 4e-4), kt * (volts / r - 0.3)
        speed = (-slope + math.sqrt(slope**2 + 4.0 * 1.5e-7 * drive)) / 3e-7
        current = (volts - kt * speed) / r
        winding, case = settled_temperatures(plant, current, speed, 0.0)
    assert winding > 320.0
    assert_allclose(x[X.ROTORS : X.ROTORS + 4], speed, rtol=1e-6)
    assert_allclose(stand.held.motor_current, current, rtol=1e-5)
    assert_allclose(stand.held.winding_temperature, winding, rtol=1e-5)
    assert_allclose(stand.held.case_temperature, case, rtol=1e-5)


def test_a_pack_warms_like_one_node() -> None:
    """T = T_air + I^2 R/G (1 - exp(-G t/C)): 20 A through 0.05 ohm, 0.4 W/K, 150 J/K."""
    plant, held = body(), calm()
    plant.pack_heat, plant.pack_to_air, plant.air_temperature = 150.0, 0.4, 283.15
    held.battery_current, held.pack_resistance, held.pack_temperature = 20.0, 0.05, 283.15
    for _ in range(20000):
        warm_pack(state(), 0.01, held, plant)
    assert held.pack_temperature == pytest.approx(
        283.15 + 50.0 * (1.0 - math.exp(-200.0 * 0.4 / 150.0)), abs=1e-3
    )


def test_two_nodes_against_the_matrix_exponential() -> None:
    """Constant losses, no resistance change: T(t) = T_s + expm(A t)(T_0 - T_s), scipy."""
    plant, held = body(), calm()
    constant_load(plant)
    plant.copper_per_kelvin, held.motor_current[:] = 0.0, 8.0
    held.winding_temperature[:] = held.case_temperature[:] = 293.15
    for look in range(5000):
        warm_drive(look, 1e-3, state(), held, plant)
    a = np.array([[-0.8 / 3.0, 0.8 / 3.0], [0.8 / 12.0, -(0.8 + 0.1) / 12.0]])
    steady = np.linalg.solve(a, [-(64.0 * 0.1) / 3.0, -0.1 * 293.15 / 12.0])
    wanted = steady + expm(a * 5.0) @ (293.15 - steady)
    assert_allclose((held.winding_temperature[0], held.case_temperature[0]), wanted, atol=0.02)


@pytest.mark.jit
@pytest.mark.parametrize("craft", ["siskin", "bonxie"])
def test_energy_of_a_flown_second(craft: str) -> None:
    """First law: what leaves the cells' open-circuit voltage is found again, within 0.1 %, as avionics, shaft work, heat in
    windings and cases (from their temperatures and what the air took), in ESCs and in the pack."""
    text = (
        f'title = "t"\ncraft = "{craft}"\nduration_s = 4\n[start]\nheight_m = 20\nmode = "attitude_command"\n'
    )
    text += "[[at]]\nt_s = 1.2\nstick_throttle = 0.75\n[[at]]\nt_s = 1.6\nstick_roll = 0.6\nstick_throttle = 0.4\n"
    session = Session(load_craft(craft), parse_flight(text))
    session.advance(round(1.0 / session.h))
    plant, held, x = session.plant, session.held, session.x
    begin = [np.array(held[k]) for k in ("winding_temperature", "case_temperature")]
    given, taken, air = 0.0, np.zeros(4), 0.0
    for _ in range(round(1.0 / session.h)):
        session.advance(1)
        amps, volts, currents = (
            float(held.battery_current),
            float(held.battery_voltage),
            np.array(held.motor_current),
        )
        given += float(held.open_circuit_voltage) * amps
        motors = x[X.ROTORS : X.ROTORS + 4] @ np.array(held.motor_torque)
        in_pack = amps**2 * float(held.pack_resistance) + float(x[X.RELAXATION]) * amps
        taken += (
            volts * float(plant.avionics_current),
            motors,
            currents @ currents * float(plant.esc_resistance),
            in_pack,
        )
        flow = [flow_squared(t, float(x[3:6] @ x[3:6]), plant) for t in np.array(held.thrust)]
        conductance = np.array([case_to_air(one, plant) for one in flow])
        air += conductance @ (np.array(held.case_temperature) - float(plant.air_temperature))
    heat = (held.winding_temperature - begin[0]) * plant.winding_heat + (
        held.case_temperature - begin[1]
    ) * plant.case_heat
    found = (np.sum(taken) + air) * session.h + float(np.sum(heat))
    assert found == pytest.approx(given * session.h, rel=1e-3)
    assert float(np.sum(heat)) > 0.02 * found  # the part that only the nodes know is no trifle
