"""Predictions of the contest against hand calculation: payload limit, top speed by drag balance, sag at constant power."""

import math

import numpy as np
import pytest

from quadsim.config import load_craft, resolve_plant
from quadsim.contest.crowd import crowd_of
from quadsim.contest.feed import Store, feed
from quadsim.contest.lift import Ratings, first_limit, hard_margins
from quadsim.contest.loaded import LoadedCrowd
from quadsim.contest.rules import LiftRule
from quadsim.contest.steady import Trim, trim
from quadsim.environment.atmosphere import Site

G = 9.80665
RHO = 1.225


def textbook(mass=0.65, ct=0.11, cp=0.045, drag_area=0.0):
    """A plant without anything that a textbook's balance leaves out: CT and CP constant, no losses, drag the same on all axes."""
    plant = resolve_plant(load_craft("siskin"), Site()).copy()
    plant.mass, plant.air_density, plant.gravity = mass, RHO, G
    plant.per_disc_mass = 1.0 / (2.0 * RHO * math.pi * float(plant.rotor_radius) ** 2)
    plant.rotor_map[:], plant.rotor_trend[:] = 0.0, 0.0
    plant.rotor_map[..., 0], plant.rotor_map[..., 1] = ct, cp
    plant.installed_loss, plant.download[:], plant.slipstream_drag = 0.0, 0.0, 0.0
    plant.drag_area[:], plant.drag_centre[:] = drag_area, 0.0
    plant.rotor_position[:] -= np.mean(np.asarray(plant.rotor_position), axis=0)
    return plant


def test_payload_limit_by_hand():
    # motors without resistance turn at V/kt: T = 4 CT rho n^2 D^4 (definition, e.g. UIUC AE 15-01 eq. 1), payload T/g - m
    plant = textbook()
    plant.motor_resistance = plant.esc_resistance = plant.pack_resistance = plant.lead_resistance = 1e-9
    plant.relaxation_resistance, plant.avionics_current = 1e-9, 0.0
    plant.no_load_current = plant.no_load_slope = 0.0
    plant.current_limit, plant.capacity = 1e6, 1e12
    volts, kt = float(plant.cells * plant.full_cell_voltage), float(plant.torque_constant)
    turns, diameter = volts / kt / (2.0 * math.pi), 2.0 * float(plant.rotor_radius)
    by_hand = 4.0 * 0.11 * RHO * turns**2 * diameter**4 / G - 0.65
    loaded = LoadedCrowd(crowd_of([plant]), np.zeros((1, 3)), 4.0 * by_hand)
    unlimited = Ratings(*(np.array([1e9]) for _ in range(4)))
    assert first_limit(loaded, LiftRule(), unlimited, hard_margins)[0] == pytest.approx(by_hand, rel=1e-5)


@pytest.mark.parametrize(
    ("mass", "ratio", "area", "speed"), [(0.65, 4.0, 0.012, 57.95570), (0.9, 3.0, 0.015, 52.12612)]
)
def test_top_speed_by_drag_balance(mass, ratio, area, speed):
    # statics, closed form: v = sqrt(2 m g sqrt(n^2 - 1)/(rho CdA)) takes thrust n m g at a tilt of acos(1/n)
    assert math.sqrt(2.0 * mass * G * math.sqrt(ratio**2 - 1.0) / (RHO * area)) == pytest.approx(
        speed, rel=1e-6
    )
    crowd = crowd_of([textbook(mass, drag_area=area)])
    flown = trim(crowd, crowd.mass, speed)
    assert 4.0 * flown.thrust[0] == pytest.approx(ratio * mass * G, rel=1e-4)
    assert flown.tilt[0] == pytest.approx(math.acos(1.0 / ratio), abs=2e-5)


def test_tilt_against_drag():
    # statics: tan(tilt) = D/(m g): 14.54412 deg at 15 m/s for 0.65 kg and 0.012 m2
    crowd = crowd_of([textbook(drag_area=0.012)])
    assert math.degrees(trim(crowd, crowd.mass, 15.0).tilt[0]) == pytest.approx(14.54412, abs=1e-3)


def test_hover_power_of_an_ideal_rotor():
    # T = 3 N on D = 0.254 m at 1.225 kg/m3: ideal power 14.74756 W, 22.68855 W at a figure of merit of 0.65.
    # J. G. Leishman, Principles of Helicopter Aerodynamics, 2nd ed. (2006), ch. 2; FM = CT^1.5 sqrt(2/pi)/CP
    ct = 0.11
    plant = textbook(12.0 / G, ct, ct**1.5 * math.sqrt(2.0 / math.pi) / 0.65)
    plant.rotor_radius = 0.127
    plant.per_disc_mass = 1.0 / (2.0 * RHO * math.pi * 0.127**2)
    crowd = crowd_of([plant])
    flown = trim(crowd, crowd.mass)
    assert flown.torque[0] * flown.rotor_speed[0] == pytest.approx(22.688554, rel=5e-4)
    assert flown.thrust[0] * math.sqrt(flown.flow_squared[0]) == pytest.approx(14.747560, rel=5e-4)


def test_sag_at_constant_power():
    # 16.8 V behind 0.03 ohm at 300 W: I = 18.466063 A, V = 16.246018 V; Ohm's law, P = I (V - I R)
    plant = textbook()
    plant.motor_resistance = plant.esc_resistance = plant.lead_resistance = 0.0
    plant.no_load_current = plant.no_load_slope = plant.avionics_current = 0.0
    plant.cells, plant.full_cell_voltage, plant.pack_resistance = 4, 4.2, 0.03
    plant.cold_resistance = plant.low_charge_resistance = 0.0
    crowd = crowd_of([plant])
    one = np.ones(1)
    flown = Trim(0.0 * one, one, 500.0 * one, 0.15 * one, 500.0 * one, 0.15 * one, one, one)
    at = feed(crowd, flown, Store.full(crowd))
    assert at.pack_current[0] == pytest.approx(18.466063, rel=1e-6)
    assert at.volts[0] == pytest.approx(16.246018, rel=1e-6)
