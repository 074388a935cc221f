"""Checks of the quick solver behind `lift`, `dash` and `hover` against hand calculation; as checks.py, each takes `of`, which
gives a module of quadsim.contest by name: the shipped one, or a copy with one thing wrong."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np
from checks import near
from hand_made import G0
from scipy.linalg import expm

from quadsim.config import load_craft, resolve_plant
from quadsim.environment.atmosphere import Site

RHO = 1.225
ONE = np.ones(1)
Of = Callable[[str], Any]


def textbook(mass: float = 0.65, ct: float = 0.11, cp: float = 0.045, drag_area: float = 0.0) -> Any:
    """PLANT without what a textbook's balance leaves out: CT and CP constant, no losses, drag the same on all axes."""
    plant = resolve_plant(load_craft("siskin"), Site()).copy()
    plant.mass, plant.air_density, plant.gravity = mass, RHO, G0
    plant.per_disc_mass = 1.0 / (2.0 * RHO * math.pi * float(plant.rotor_radius) ** 2)
    plant.rotor_map[:], plant.rotor_trend[:] = 0.0, 0.0
    plant.rotor_map[..., 0], plant.rotor_map[..., 1] = ct, cp
    plant.installed_loss, plant.download[:], plant.slipstream_drag = 0.0, 0.0, 0.0
    plant.drag_area[:], plant.drag_centre[:] = drag_area, 0.0
    plant.rotor_position[:] -= np.mean(np.asarray(plant.rotor_position), axis=0)
    return plant


def bare_drive(plant: Any) -> Any:
    """Without resistances, no-load and avionics currents; a store that neither empties nor warms."""
    plant.motor_resistance = plant.esc_resistance = plant.pack_resistance = plant.lead_resistance = 0.0
    plant.no_load_current = plant.no_load_slope = plant.avionics_current = 0.0
    plant.cold_resistance = plant.low_charge_resistance = plant.copper_per_kelvin = plant.cold_capacity = 0.0
    plant.relaxation_resistance, plant.relaxation_capacitance = 1e-9, 1e12
    plant.current_limit, plant.capacity, plant.winding_limit = 1e6, 1e12, 1e9
    return plant


def crowd(of: Of, plant: Any) -> Any:
    return of("crowd").crowd_of([plant])


def greatest_payload(of: Of, plant: Any, most: float) -> float:
    """Where a hover in still air fails [kg], the load at the centre of mass."""
    loaded = of("loaded").LoadedCrowd(crowd(of, plant), np.zeros((1, 3)), most)
    lift, rule = of("lift"), of("rules").LiftRule()
    unlimited = lift.Ratings(*(1e9 * ONE for _ in range(4)))
    return float(lift.first_limit(loaded, rule, unlimited, lift.hard_margins)[0])


def fixed_load(of: Of, speed: float, torque: float) -> Any:
    """A steady flight of four equal rotors [rad/s], [N m] in air that moves past the motors at 5 m/s."""
    return of("steady").Trim(
        0.0 * ONE, ONE, speed * ONE, torque * ONE, speed * ONE, torque * ONE, ONE, 25.0 * ONE
    )


def payload_without_losses(of: Of) -> None:
    """Motors without resistance turn at V/kt: T = 4 CT rho n^2 D^4 (definition, e.g. UIUC AE 15-01 eq. 1), payload T/g - m."""
    plant = bare_drive(textbook())
    turns = float(plant.cells * plant.full_cell_voltage / plant.torque_constant) / (2.0 * math.pi)
    by_hand = 4.0 * 0.11 * RHO * turns**2 * (2.0 * float(plant.rotor_radius)) ** 4 / G0 - 0.65
    near(greatest_payload(of, plant, 4.0 * by_hand), by_hand, 1e-5 * by_hand)


def payload_with_motor_losses(of: Of) -> None:
    """Kv 920 rpm/V, 0.13 ohm, Q = 1.5e-7 w^2 N m, 11.1 V: 8758.147 rpm. M. Drela, First-Order DC Electric Motor Model, MIT 2007.
    With half of the 0.13 ohm left in the winding, a tenth in the ESC and four tenths in pack and leads, which carry four times
    the current and so have a quarter of it, the speed at full command is the same."""
    for motor, esc, pack, leads in (
        (0.13, 0.0, 0.0, 0.0),
        (0.065, 0.013, 0.013 * 0.5, 0.013 * 0.5),
    ):
        plant = bare_drive(textbook(0.1))
        plant.cells, plant.full_cell_voltage = 3, 3.7
        plant.torque_constant = 60.0 / (2.0 * math.pi * 920.0)
        plant.motor_resistance, plant.esc_resistance = motor, esc
        plant.pack_resistance, plant.lead_resistance = pack, leads
        diameter = 2.0 * float(plant.rotor_radius)
        plant.rotor_map[..., 1] = 1.5e-7 * 8.0 * math.pi**3 / (RHO * diameter**5)
        by_hand = 4.0 * 0.11 * RHO * (8758.146789944007 / 60.0) ** 2 * diameter**4 / G0 - 0.1
        near(greatest_payload(of, plant, 4.0 * by_hand), by_hand, 1e-5 * by_hand)


def top_speed_by_drag_balance(of: Of) -> None:
    """Statics: v = sqrt(2 m g sqrt(n^2 - 1)/(rho CdA)) takes thrust n m g at a tilt of acos(1/n)."""
    for mass, ratio, area, speed in ((0.65, 4.0, 0.012, 57.95570), (0.9, 3.0, 0.015, 52.12612)):
        near(math.sqrt(2.0 * mass * G0 * math.sqrt(ratio**2 - 1.0) / (RHO * area)), speed, 1e-4)
        one = crowd(of, textbook(mass, drag_area=area))
        flown = of("steady").trim(one, one.mass, speed)
        near(4.0 * flown.thrust[0], ratio * mass * G0, 1e-4 * ratio * mass * G0)
        near(flown.tilt[0], math.acos(1.0 / ratio), 2e-5)
        tilt_bites_at(of, one, math.acos(1.0 / ratio), speed)


def tilt_bites_at(of: Of, one: Any, tilt: float, speed: float) -> None:
    """`dash` sees a greatest tilt passed at a speed [m/s], within a thousandth."""
    dash, rules, lift = of("dash"), of("rules"), of("lift")
    unlimited = lift.Ratings(*(1e9 * ONE for _ in range(4)))
    bound = dash.Dash(rules.DashRule(), tilt, 0.0)
    left = [dash.margins(one, f * speed * ONE, bound, unlimited)["tilt"][0] for f in (0.999, 1.001)]
    near(np.sign(left), (1.0, -1.0), 0.0)


def top_speed_with_rotor_drag(of: Of) -> None:
    """Drag in the discs' plane proportional to the airspeed along it, d per mass: tan(tilt) = d v/g. M. Faessler, A. Franchi &
    D. Scaramuzza, IEEE RA-L 3(2), 2018, sec. VII-C: 0.544 1/s for a craft of 0.61 kg, 15.502036 deg at 5 m/s, 10.407853 m/s at
    30 deg (read second-hand). Ours is k sqrt(T) u for each rotor, so k is chosen for the thrust at that tilt."""
    for speed, tilt in ((5.0, math.radians(15.502035874388376)), (10.407852973066989, math.radians(30.0))):
        plant = bare_drive(textbook(0.61))
        thrust = 0.61 * G0 * math.cos(tilt)
        plant.slipstream_drag = 0.61 * 0.544 / 4.0 / math.sqrt(thrust / 4.0)
        one = crowd(of, plant)
        flown = of("steady").trim(one, one.mass, speed)
        near(math.degrees(flown.tilt[0]), math.degrees(tilt), 2e-3)
        tilt_bites_at(of, one, tilt, speed)


def tilt_against_drag(of: Of) -> None:
    """Statics: tan(tilt) = D/(m g): 14.54412 deg at 15 m/s for 0.65 kg and 0.012 m2."""
    one = crowd(of, textbook(drag_area=0.012))
    near(math.degrees(of("steady").trim(one, one.mass, 15.0).tilt[0]), 14.54412, 1e-3)


def thrust_in_a_climb(of: Of) -> None:
    """Statics: T = m g + rho CdA c^2/2: 0.65 kg and 0.012 m2 at 10 m/s, 6.374323 + 0.735 N; level, and the nose not moved."""
    one = crowd(of, textbook(drag_area=0.012))
    flown = of("steady").trim(one, one.mass, 0.0, 10.0)
    near(4.0 * flown.thrust[0], 0.65 * G0 + 0.735, 1e-9)
    near(flown.tilt[0], 0.0, 0.0)


def hover_power_of_an_ideal_rotor(of: Of) -> None:
    """T = 3 N on D = 0.254 m at 1.225 kg/m3: ideal power 14.74756 W, 22.68855 W at a figure of merit of 0.65. J. G. Leishman,
    Principles of Helicopter Aerodynamics, 2nd ed. (2006), ch. 2; FM = CT^1.5 sqrt(2/pi)/CP."""
    ct = 0.11
    plant = textbook(12.0 / G0, ct, ct**1.5 * math.sqrt(2.0 / math.pi) / 0.65)
    plant.rotor_radius = 0.127
    plant.per_disc_mass = 1.0 / (2.0 * RHO * math.pi * 0.127**2)
    one = crowd(of, plant)
    flown = of("steady").trim(one, one.mass)
    near(flown.torque[0] * flown.rotor_speed[0], 22.688554, 5e-4 * 22.7)
    near(flown.thrust[0] * math.sqrt(flown.flow_squared[0]), 14.747560, 5e-4 * 14.7)


def load_off_the_middle(of: Of) -> None:
    """Statics: the centre of mass o ahead of the rotors' middle and s to the right, arms a and b: the rotor that carries most has
    1 + o/a + s/b times the mean, and turns with the root of that."""
    plant = textbook()
    arms = np.mean(np.abs(np.asarray(plant.rotor_position)), axis=0)
    plant.rotor_position[:] -= (0.1 * arms[0], 0.05 * arms[1], 0.0)
    one = crowd(of, plant)
    flown = of("steady").trim(one, one.mass)
    near(flown.worst_speed[0] / flown.rotor_speed[0], math.sqrt(1.15), 1e-6)
    near(flown.least_share[0], 0.85, 1e-9)


def payload_off_the_middle(of: Of) -> None:
    """Statics: 0.35 kg hung 0.02 m ahead of the centre of mass of 0.65 kg moves it by 0.007 m."""
    plant = textbook()
    loaded = of("loaded").LoadedCrowd(crowd(of, plant), np.array([[0.02, 0.0, 0.0]]), 1.0)
    one = loaded.with_payload(0.35 * ONE)
    near(one.mass, 1.0, 1e-12)
    near(one.hubs[0] - np.asarray(plant.rotor_position), np.tile((-0.007, 0.0, 0.0), (4, 1)), 1e-12)


def sag_at_constant_power(of: Of) -> None:
    """16.8 V behind 0.03 ohm at 300 W: 18.466063 A, 16.246018 V; P = I (V - I R), at most V^2/4R = 2352 W. Ohm's law."""
    plant = bare_drive(textbook())
    plant.cells, plant.full_cell_voltage, plant.pack_resistance = 4, 4.2, 0.03
    one, feed = crowd(of, plant), of("feed")
    at = feed.feed(one, fixed_load(of, 500.0, 0.15), feed.Store.full(one))
    near(at.pack_current[0], 18.466063, 2e-5)
    near(at.volts[0], 16.246018, 2e-5)
    for watts, fed in ((2351.0, True), (2353.0, False)):
        at = feed.feed(one, fixed_load(of, 500.0, watts / 2000.0), feed.Store.full(one))
        near(bool(np.isfinite(at.command[0])), fed, 0.0)


def charge_drawn(of: Of) -> None:
    """Amperes times seconds: 20 A for 90 s out of 5 Ah leave 0.9 of it; current held by a torque that a stiff pack feeds."""
    plant = bare_drive(textbook())
    plant.capacity, plant.avionics_current, plant.no_load_current, plant.no_load_slope = (
        18000.0,
        20.0,
        0.0,
        0.0,
    )
    one, feed = crowd(of, plant), of("feed")
    store = feed.Store.full(one)
    feed.hold(one, fixed_load(of, 500.0, 0.0), 90.0, store)
    near(store.charge[0], 0.9, 1e-9)


def slow_drop_of_the_pack(of: Of) -> None:
    """First-order circuit: I R1 (1 - exp(-t/tau)), 20 A, 0.02 ohm, tau = 30 s, after 60 s: 0.345866 V; 20 implicit
    steps to 2 %."""
    plant = bare_drive(textbook())
    plant.avionics_current = 20.0
    plant.relaxation_resistance, plant.relaxation_capacitance = 0.02, 1500.0
    one, feed = crowd(of, plant), of("feed")
    store = feed.Store.full(one)
    feed.hold(one, fixed_load(of, 500.0, 0.0), 60.0, store)
    near(store.relaxation[0], 0.345866, 0.02 * 0.345866)


def winding_and_case(of: Of) -> None:
    """Two nodes of 3 and 12 J/K, 0.8 W/K between them, 0.4 W/K to air, 10 A through 0.1 ohm and an ESC: matrix exponential; 20
    implicit steps to 2 %."""
    plant = bare_drive(textbook())
    plant.motor_resistance, plant.esc_resistance, plant.torque_constant = 0.1, 0.05, 0.01
    plant.winding_heat, plant.case_heat, plant.winding_to_case = 3.0, 12.0, 0.8
    plant.case_to_air, plant.case_to_still_air, plant.hover_flow_squared = 0.4, 0.1, 25.0
    one, feed = crowd(of, plant), of("feed")
    a = np.array([[-0.8 / 3.0, 0.8 / 3.0], [0.8 / 12.0, -1.2 / 12.0]])
    heat = np.array([10.0 / 3.0, 0.0])
    for seconds in (30.0, 600.0):
        store = feed.Store.full(one)
        feed.hold(one, fixed_load(of, 500.0, 0.1), seconds, store)
        rise = np.linalg.solve(a, (expm(a * seconds) - np.eye(2)) @ heat)
        found = np.array([store.winding[0], store.case[0]]) - float(plant.air_temperature)
        near(found, rise, 0.02 * float(rise[0]))


def endurance_by_energy_balance(of: Of) -> None:
    """22.09 min for 185 W from 68.1 Wh (15.2 V x 4.48 Ah), within 10 %; the maker's figure is 23 min.

    Hover power from the whole-vehicle runs of Russell, Jung, Willink & Glasner, NASA/TM-2018-219758 (second-hand
    transcription); pack from memory, four cells of 4.35 V when full, 8 mohm a cell assumed.
    """
    plant = bare_drive(textbook())
    plant.cells, plant.full_cell_voltage, plant.capacity = 4, 4.35, 4.48 * 3600.0
    plant.pack_resistance, plant.relaxation_resistance = 0.032, 0.032 * 0.63
    plant.relaxation_capacitance = 33.0 / float(plant.relaxation_resistance)
    one, feed = crowd(of, plant), of("feed")
    store, minutes = feed.Store.full(one), 0.0
    while store.charge[0] > 0.0 and minutes < 60.0:
        feed.hold(one, fixed_load(of, 500.0, 185.0 / 2000.0), 6.0, store, 2)
        minutes += 0.1
    near(minutes, 22.087776557399376, 0.1 * 22.1)


CHECKS = (
    payload_without_losses, payload_with_motor_losses, top_speed_by_drag_balance, top_speed_with_rotor_drag, tilt_against_drag,
    thrust_in_a_climb, hover_power_of_an_ideal_rotor, load_off_the_middle, payload_off_the_middle, sag_at_constant_power,
    charge_drawn, slow_drop_of_the_pack, winding_and_case, endurance_by_energy_balance,
)  # fmt: skip
