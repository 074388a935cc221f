"""Motor, ESC and battery: constants, points of the published curve, and the circuit under limits."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from hand_made import OFF, calm, rate, state

from quadsim.config import load_craft, resolve_plant
from quadsim.config.equilibrium import circuit_resistance
from quadsim.config.warmth import begin_at
from quadsim.dynamics.battery import CURVE_FULL, cell_voltage
from quadsim.dynamics.derivative import full_derivative
from quadsim.dynamics.state import X
from quadsim.environment.atmosphere import Site
from quadsim.units import torque_constant


def test_torque_constant() -> None:
    """kt = 60/(2 pi Kv): 920 rpm/V gives 0.0103796702 N m/A. M. Drela, First-Order DC Electric Motor Model (MIT, 2007)."""
    assert torque_constant(920.0) == pytest.approx(0.010379670201645347, abs=1e-12)


@pytest.mark.parametrize(
    ("charge", "volts"),
    [(1.0, 4.1029), (0.8, 3.9459791999992877), (0.5, 3.803362474111599), (0.2, 3.725028649693513),
     (0.1, 3.67456859769159), (0.05, 3.5163645768025913), (0.0, 2.654)],
)  # fmt: skip
def test_open_circuit_voltage_of_a_cell(charge: float, volts: float) -> None:
    """Chen & Rincon-Mora, IEEE Trans. Energy Conversion 21(2), 2006: 850 mAh polymer cell, full at 4.1029 V."""
    assert cell_voltage(charge, CURVE_FULL) == pytest.approx(volts, abs=1e-9)


def test_a_raised_cell_is_full_at_its_own_voltage_and_equal_when_empty() -> None:
    assert cell_voltage(1.0, 4.2) == pytest.approx(4.2, abs=1e-12)
    assert cell_voltage(0.0, 4.2) == pytest.approx(2.654, abs=1e-12)
    assert cell_voltage(1.3, 4.2) == cell_voltage(1.0, 4.2)  # held outside 0..1
    assert cell_voltage(-0.2, 4.2) == cell_voltage(0.0, 4.2)


def pack() -> tuple:
    """16.8 V behind 0.03 ohm with four motors of 0.1 ohm, kt 0.01, whatever the temperatures."""
    plant = resolve_plant(load_craft("siskin"), Site())
    for name in (
        "copper_per_kelvin",
        "esc_resistance",
        "no_load_slope",
        "lead_resistance",
        "cold_resistance",
    ):
        plant[name] = 0.0
    plant.low_charge_resistance = 0.0
    plant.cells, plant.full_cell_voltage, plant.pack_resistance, plant.avionics_current = 4.0, 4.2, 0.03, 0.0
    plant.motor_resistance, plant.torque_constant, plant.no_load_current, plant.current_limit = (
        0.1,
        0.01,
        0.0,
        1e9,
    )
    return plant, calm()


SAG = (18.466063387559593, 16.246018098373213)
"""Pack current [A] and voltage [V] of 300 W from 16.8 V behind 0.03 ohm: P = I (V - I R)."""


def test_sag_at_constant_power() -> None:
    """Four motors that take 75 W each: 10 A at 7.5 V across them, 6.5 V of it back-emf."""
    plant, held = pack()
    held.duty[:] = 7.5 / SAG[1]
    rate(full_derivative, state(rotors=650.0), plant, held)
    assert (held.battery_current, held.battery_voltage) == pytest.approx(SAG, rel=1e-9)


def test_sag_at_constant_power_under_the_current_limit() -> None:
    """The same 75 W each, but at full duty with the ESC's limit of 10 A at work."""
    plant, held = pack()
    plant.current_limit, held.duty[:] = 10.0, 1.0
    rate(full_derivative, state(rotors=650.0), plant, held)
    assert held.motor_current == pytest.approx([10.0] * 4, abs=1e-12)
    assert (held.battery_current, held.battery_voltage) == pytest.approx(SAG, rel=1e-9)


def test_more_power_than_the_pack_has() -> None:
    """V^2/(4 R) = 2352 W is the most: asked for 4000 W the voltage falls to half and stays finite."""
    plant, held = pack()
    plant.current_limit, held.duty[:] = 100.0, 1.0
    plant.motor_resistance = 0.01
    rate(full_derivative, state(rotors=900.0), plant, held)
    assert 0.0 < held.battery_voltage <= 16.8
    assert held.battery_current * held.battery_voltage < 2352.0 * 1.001


@pytest.mark.parametrize("craft", ["siskin", "bonxie", "williwaw"])
@pytest.mark.parametrize("limit", [1e9, 40.0, 10.0])
def test_power_balance_of_the_circuit(craft: str, limit: float) -> None:
    """V = E - R I and V I = motor power + avionics, whatever is limited, floating, braking or disconnected (Kirchhoff)."""
    plant = resolve_plant(load_craft(craft), Site())
    plant.current_limit = limit
    rm, kt = circuit_resistance(plant), float(plant.torque_constant)
    speeds = np.array([0.0, 500.0, 900.0, 1500.0])
    for duty in itertools.product((OFF, 0.05, 0.6, 1.0), repeat=4):
        held = calm(duty=duty)
        begin_at(held, plant, float(plant.working_temperature))
        rate(full_derivative, state(rotors=speeds), plant, held)
        volts, amps, currents = (
            float(held.battery_voltage),
            float(held.battery_current),
            np.array(held.motor_current),
        )
        assert volts == pytest.approx(
            float(held.open_circuit_voltage) - held.pack_resistance * amps, abs=0.02
        )
        across = currents * rm + kt * speeds
        assert volts * amps == pytest.approx(volts * plant.avionics_current + currents @ across, rel=1e-9)
        assert np.all(np.abs(currents) <= limit)
        assert np.all(currents[np.array(duty) < 0.0] == 0.0)
        if not plant.braking:
            assert np.all(currents >= 0.0)


def test_braking_feeds_current_back_and_floating_does_not() -> None:
    """600 rad/s makes 6 V; 0.1 of 16.8 V across the motor: with braking -43 A flow back, without none."""
    plant, held = pack()
    held.duty[:] = 0.1
    for braking, sign in ((1.0, -1.0), (0.0, 0.0)):
        plant.braking = braking
        rate(full_derivative, state(rotors=600.0), plant, held)
        assert np.sign(held.motor_current) == pytest.approx([sign] * 4)
        assert np.sign(held.battery_current) == sign
        assert np.sign(held.motor_torque) == pytest.approx([sign] * 4)
    assert held.battery_voltage == pytest.approx(16.8, abs=1e-12)


def test_a_stopped_rotor_stays_stopped() -> None:
    """No duty, no flow: the no-load friction of a motor at rest moves nothing; turning either way it slows."""
    plant, held = pack()
    plant.no_load_current, held.duty[:] = 1.0, 0.0
    plant.braking = 0.0
    dx = rate(full_derivative, state(rotors=0.0), plant, held)
    assert dx[X.ROTORS : X.ROTORS + 4] == pytest.approx([0.0] * 4, abs=1e-12)
    for speed in (-100.0, 100.0):
        held.duty[:] = OFF
        rate(full_derivative, state(rotors=speed), plant, held)
        assert held.motor_torque == pytest.approx([-math.copysign(0.01, speed)] * 4, abs=1e-12)
