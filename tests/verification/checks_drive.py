"""Checks of motor, battery and ground in the plant's derivative against closed forms; used as in checks.py."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np
from checks import QUATERNION, RATES, ROTORS, VELOCITY, near
from hand_made import G0, OFF, body, calm, rate, smooth_map, state, travel

from quadsim.dynamics.state import X

RPM = 2.0 * math.pi / 60.0


def motor(kv: float, resistance: float, no_load: float, rotor_inertia: float = 2.5e-5) -> Any:
    """Plant of four equal motors [rpm/V, ohm, A] on a stiff one-cell pack, on a body too heavy to turn."""
    plant = body(mass=1.0, inertia=(1e6, 1e6, 1e6), rotor_inertia=rotor_inertia)
    plant.torque_constant, plant.motor_resistance, plant.no_load_current = (
        1.0 / (kv * RPM),
        resistance,
        no_load,
    )
    plant.cells, plant.braking = 1.0, 1.0
    return plant


def at_voltage(plant: Any, volts: float, motors: int = 4) -> Any:
    """HELD with `volts` across the first motors: full duty on one cell raised to that voltage when full."""
    plant.full_cell_voltage = volts
    duty = np.full(4, OFF)
    duty[:motors] = 1.0
    return calm(duty=duty)


def motor_points(f: Callable) -> None:
    """Kv 2760 rpm/V, 0.31 ohm, 0.77 A at 8 V: no load 21421.19 rpm, stall 25.806 A and 0.0866234 N m, best efficiency
    0.684367 at 4.45769 A. M. Drela, First-Order DC Electric Motor Model (MIT, 2007)."""
    plant = motor(2760.0, 0.31, 0.77)
    held = at_voltage(plant, 8.0)
    dx = rate(f, state(rotors=21421.188 * RPM), plant, held)
    near(dx[ROTORS] * 2.5e-5, np.zeros(4), 1e-8)
    near(held.motor_current, np.full(4, 0.77), 1e-6)
    rate(f, state(rotors=0.0), plant, held)
    near(held.motor_current, np.full(4, 25.806451612903228), 1e-9)
    plant.no_load_current = 0.0
    rate(f, state(rotors=0.0), plant, held)
    near(held.motor_torque, np.full(4, 25.806451612903228 / (2760.0 * RPM)), 1e-12)
    plant.no_load_current = 0.77
    best = []
    for speed in np.linspace(12000.0, 21000.0, 901) * RPM:
        rate(f, state(rotors=speed), plant, held)
        best.append((held.motor_torque[0] * speed / (8.0 * held.motor_current[0]), held.motor_current[0]))
    efficiency, current = max(best)
    near(efficiency, 0.6843668065975059, 1e-4)
    near(current, 4.457686366483793, 0.02)  # the grid of speeds is 0.01 A wide


def motor_with_propeller(f: Callable) -> None:
    """Kv 920, 0.13 ohm, Q = 1.5e-7 w^2 at 11.1 V: 8758.147 rpm, small disturbances die with 22.647 ms (linearisation)."""
    plant = motor(920.0, 0.13, 0.0)
    smooth_map(plant, (0.0,) * 4, (1.5e-7 * (2.0 * math.pi) ** 3 / (1.225 * 0.2**5), 0.0, 0.0, 0.0))
    held = at_voltage(plant, 11.1)
    steady = travel(f, state(rotors=900.0), plant, held, 1.0)[-1, X.ROTORS]
    near(steady / RPM, 8758.146789944007, 0.05)
    times = np.array([0.01, 0.03])
    left = travel(f, state(rotors=steady + 1.0), plant, held, times)[:, X.ROTORS] - steady
    near((times[1] - times[0]) / math.log(left[0] / left[1]), 22.647066952892857e-3, 1e-5)


def battery_feeds_motors(f: Callable) -> None:
    """Power and voltage laws of the circuit: V = E - v_RC - R I, V I = sum of V_motor i + V I_avionics."""
    plant = motor(920.0, 0.13, 0.5)
    plant.cells, plant.pack_resistance, plant.avionics_current = 4.0, 0.03, 0.7
    duty, speeds = np.array([0.5, 0.62, 0.71, 0.4]), np.array([400.0, 500.0, 520.0, 300.0])
    held = calm(duty=duty)
    x = state(rotors=speeds)
    x[X.RELAXATION] = 0.15
    dx = rate(f, x, plant, held)
    volts, amps, currents = (
        float(held.battery_voltage),
        float(held.battery_current),
        np.array(held.motor_current),
    )
    kt = 1.0 / (920.0 * RPM)
    near(volts, 4.0 * 4.1029 - 0.15 - 0.03 * amps, 1e-9)
    near(currents * 0.13 + kt * speeds, duty * volts, 1e-9)
    near(volts * amps, 0.7 * volts + duty * volts @ currents, 1e-9)
    near(dx[ROTORS] * 2.5e-5, kt * (currents - 0.5), 1e-7)


def battery_discharges(f: Callable) -> None:
    """Charge used is the integral of current; the RC pair relaxes to R I with time R C: linear circuit theory."""
    plant = body()
    plant.avionics_current, plant.capacity = 6.0, 3600.0
    plant.relaxation_resistance, plant.relaxation_capacitance, plant.pack_resistance = 0.02, 500.0, 0.05
    held = calm()
    x = travel(f, state(), plant, held, (5.0, 20.0))
    near(x[:, X.CHARGE], 1.0 - np.array([5.0, 20.0]) * 6.0 / 3600.0, 1e-9)
    near(x[:, X.RELAXATION], 0.12 * (1.0 - np.exp(-np.array([5.0, 20.0]) / 10.0)), 1e-8)
    settled = x[-1].copy()
    settled[X.RELAXATION] = 0.12
    near(rate(f, settled, plant, held)[X.RELAXATION], 0.0, 1e-12)
    s = settled[X.CHARGE]
    curve = 4.0 * (-1.031 * math.exp(-35.0 * s) + 3.685 + 0.2156 * s - 0.1178 * s**2 + 0.3201 * s**3)
    near(
        held.battery_voltage, curve - 0.12 - 0.05 * 6.0, 1e-9
    )  # E - R_RC I - R I; curve: Chen & Rincon-Mora (2006)


def warm_motors_on_a_cold_pack(f: Callable) -> None:
    """Four windings of different warmth on a pack at -5 deg C and 8 % charge: all laws of the circuit, solved by numpy.

    R(T) = R20 (1 + 0.00393 (T - 20 deg C)) + R_esc (IEC 60028); kt (i - i00 - i01 w) turns the rotors (M. Drela, MIT,
    2006); R_cells exp(B (1/T - 1/T20)) (1 + 2.1 exp(-24.37 s)) + R_leads (Arrhenius; Chen & Rincon-Mora 2006).
    """
    plant = motor(920.0, 0.13, 0.3)
    plant.copper_per_kelvin, plant.esc_resistance, plant.no_load_slope = 0.00393, 0.01, 5e-4
    plant.cells, plant.pack_resistance, plant.lead_resistance, plant.avionics_current = 4.0, 0.03, 0.005, 0.7
    plant.cold_resistance, plant.low_charge_resistance = 2000.0, 0.1562 / 0.07446
    plant.cold_capacity, plant.capacity = 0.006, 5400.0
    duty, speeds, held = np.array([0.5, 0.62, 0.71, 0.4]), np.array([400.0, 500.0, 520.0, 300.0]), calm()
    warm = np.array([20.0, 60.0, 110.0, -10.0]) + 273.15
    held.duty[:], held.winding_temperature[:], held.pack_temperature = duty, warm, 268.15
    dx = rate(f, state(rotors=speeds, charge=0.08), plant, held)
    ohms, kt = 0.13 * (1.0 + 0.00393 * (warm - 293.15)) + 0.01, 1.0 / (920.0 * RPM)
    low = 1.0 + 0.1562 / 0.07446 * math.exp(-24.37 * 0.08)
    inside = 0.03 * math.exp(2000.0 * (1.0 / 268.15 - 1.0 / 293.15)) * low + 0.005
    source = 4.0 * (-1.031 * math.exp(-2.8) + 3.685 + 0.08 * (0.2156 + 0.08 * (-0.1178 + 0.08 * 0.3201)))
    a, b = np.eye(5), np.zeros(5)  # unknown: four motor currents and the pack voltage
    a[:4, :4], a[:4, 4], b[:4] = np.diag(ohms), -duty, -kt * speeds
    a[4, :4], b[4] = inside * duty, source - inside * 0.7
    found = np.linalg.solve(a, b)
    near(np.array(held.motor_current), found[:4], 1e-9)
    near(held.battery_voltage, found[4], 1e-9)
    near(dx[ROTORS] * 2.5e-5, kt * (found[:4] - 0.3 - 5e-4 * speeds), 1e-9)
    near(-dx[X.CHARGE] * 5400.0 * (1.0 - 0.006 * 25.0), 0.7 + duty @ found[:4], 1e-9)


def weak_cell_in_the_pack(f: Callable) -> None:
    """Kirchhoff over four cells, one with 70 % of the capacity and thrice the resistance: at 55 % charge it has 35.71 %."""
    plant, held = body(), calm()
    plant.pack_resistance, plant.avionics_current = 0.04, 8.0
    held.cell_shortfall, held.cell_excess = 0.3, 2.0
    rate(f, state(charge=0.55), plant, held)

    def curve(s: float) -> float:
        return -1.031 * math.exp(-35.0 * s) + 3.685 + 0.2156 * s - 0.1178 * s**2 + 0.3201 * s**3

    loaded = 3.0 * (curve(0.55) - 8.0 * 0.01) + curve(1.0 - 0.45 / 0.7) - 8.0 * 0.03
    near(held.battery_voltage, loaded, 1e-9)


def standing() -> Any:
    """A body of 1.5 kg on four springs of 2000 N/m with friction 0.6, feet 0.1 m below its centre."""
    plant = body(mass=1.5)
    plant.contact_stiffness, plant.contact_damping, plant.friction = 2000.0, 30.0, 0.6
    return plant


SAG = 1.5 * G0 / (4.0 * 2000.0)


def stands_still(f: Callable) -> None:
    """Statics: the springs sink by m g/(4 k) and carry the weight."""
    held = calm()
    dx = rate(f, state(position=(0.0, 0.0, SAG - 0.1)), standing(), held)
    near(dx, np.zeros(dx.size), 1e-12)
    near(held.contact_force, 1.5 * G0, 1e-9)


def ground_opposes_motion(f: Callable) -> None:
    """Coulomb friction mu g against sliding; a damper 4 c/m against sinking; a tilt is righted by k times lever."""
    plant, place = standing(), (0.0, 0.0, SAG - 0.1)
    dx = rate(f, state(position=place, velocity=(0.3, -0.4, 0.0)), plant, calm())
    near(dx[VELOCITY], (-0.6 * G0 * 0.6, 0.6 * G0 * 0.8, 0.0), 1e-9)
    grip = 0.6 * 1.5 * G0
    near(dx[RATES] * np.diag(plant.inertia), (-0.1 * 0.8 * grip, -0.1 * 0.6 * grip, 0.0), 1e-9)
    dx = rate(f, state(position=place, velocity=(0.0, 0.0, 0.02)), plant, calm())
    near(dx[X.VELOCITY + 2], -4.0 * 30.0 * 0.02 / 1.5, 1e-9)
    x = state(position=place)
    x[QUATERNION] = (
        math.cos(5e-4),
        math.sin(5e-4),
        0.0,
        0.0,
    )  # 1 mrad to the right: the right feet press harder
    near(rate(f, x, plant, calm())[X.RATES] * 0.01, -(4.0 * 2000.0 * 0.16**2 - 1.5 * G0 * 0.1) * 1e-3, 1e-5)


def lies_on_its_back(f: Callable) -> None:
    """Statics: upside down the four hubs, 0.02 m above the centre, carry the weight at the same sag."""
    x = state(position=(0.0, 0.0, SAG - 0.02), quaternion=(0.0, 1.0, 0.0, 0.0))
    held = calm()
    near(rate(f, x, standing(), held), np.zeros(x.size), 1e-12)
    near(held.contact_force, 1.5 * G0, 1e-9)
