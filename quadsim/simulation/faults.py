"""Faults and wiring mistakes: what each does to the records of a flight."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np

from quadsim.config import Craft
from quadsim.config.flight_schema import ActionSection, FaultSection
from quadsim.dynamics.state import ROTOR_NAMES
from quadsim.errors import InputError, Problem
from quadsim.sensors.inertial import Trouble
from quadsim.units import DEG, GRAM, MICRO, MM

BACKWARDS_THRUST = 0.55
"""Thrust of a propeller driven trailing edge first, share of its normal thrust [-]; assumed (blunt leading edge, camber
turned over; bench figures of the trade scatter from 0.4 to 0.7, common practice, no source)."""
BACKWARDS_TORQUE = 0.9
"""Its torque, share of the normal torque [-]; assumed, as above."""


def apply_fault(fault: FaultSection, held: Any, sensors: Any, carried: Any) -> str:
    """Change the records as `fault` says; returns what happened in words."""
    place = fault.rotor.replace("_", " ") if fault.rotor else ""
    rotor = ROTOR_NAMES.index(fault.rotor) if fault.rotor else -1
    match fault.kind:
        case "rotor_weak":
            share = fault.remaining_pct / 100.0
            held.thrust_factor[rotor] *= share
            return f"{place} rotor keeps {fault.remaining_pct:g} % of its thrust"
        case "rotor_lost":
            carried.disconnected[rotor] = 1.0
            held.thrust_factor[rotor] = held.torque_factor[rotor] = 0.0
            return f"{place} rotor lost"
        case "rotor_stuck":
            held.blocked[rotor] = 1.0
            return f"{place} rotor blocked"
        case "esc_desync":
            carried.disconnected[rotor] += 1.0
            return f"{place} ESC out of step with its motor for {fault.lasts_s:g} s"
        case "cell_weak":
            held.cell_shortfall = 1.0 - fault.capacity_pct / 100.0
            held.cell_excess = fault.resistance_factor - 1.0
            kept = f"{fault.capacity_pct:g} % of its capacity and {fault.resistance_factor:g} times its resistance"
            return f"one cell has {kept}"
        case "rotors_swapped":
            first, second = (ROTOR_NAMES.index(name) for name in fault.rotors or ())
            carried.wiring[[first, second]] = carried.wiring[[second, first]]
            return (
                f"{ROTOR_NAMES[first].replace('_', ' ')} and {ROTOR_NAMES[second].replace('_', ' ')} swapped"
            )
        case "spin_reversed":
            held.turning[rotor] *= -1.0
            held.thrust_factor[rotor] *= -BACKWARDS_THRUST
            held.torque_factor[rotor] *= BACKWARDS_TORQUE
            return f"{place} motor turns the wrong way"
        case "propeller_upside_down":
            held.thrust_factor[rotor] *= BACKWARDS_THRUST
            held.torque_factor[rotor] *= BACKWARDS_TORQUE
            return f"{place} propeller upside down"
        case "propeller_imbalance":
            sensors.imbalance[rotor] += fault.imbalance_gmm * GRAM * MM
            sensors.shaking = 1.0
            return f"{place} propeller out of balance by {fault.imbalance_gmm:g} g mm"
        case "baro_stuck" | "gnss_lost" | "compass_disturbed" | "rangefinder_lost":
            change_place_sensor(fault, 1.0, carried)
            return _words_of(fault)
        case "sensor_turned":
            sensors.mounting_believed[:] = _turn(fault.turned_deg) @ np.asarray(sensors.mounting_believed)
            return f"sensor turned by {fault.turned_deg:g} deg"
        case "sensor_stuck" | "sensor_lost":
            return trouble_sensor(fault, carried)
        case _:
            axis = ("roll", "pitch", "yaw").index(fault.axis or "roll")
            sensors.gyro_matrix[axis] *= -1.0
            sensors.gyro_g[axis] *= -1.0
            return f"gyro axis {fault.axis} reversed"


def find_lost_rotor(fault: FaultSection, signals: Any) -> str:
    """The flight controller has found out that a rotor does not answer; returns that in words."""
    signals.rotor_lost[ROTOR_NAMES.index(fault.rotor or "")] = 1.0
    return f"found: the {(fault.rotor or '').replace('_', ' ')} rotor does not answer, yaw is given up"


def end_fault(fault: FaultSection, carried: Any) -> str:
    """Undo a fault that lasts for a stated time; returns what happened in words."""
    if fault.sensor:
        carried["gyro_trouble" if fault.sensor == "gyro" else "accel_trouble"] = Trouble.NONE
        return f"{fault.sensor} back"
    if fault.kind in PLACE_SENSOR_FAULTS:
        change_place_sensor(fault, -1.0, carried)
        return PLACE_SENSOR_FAULTS[fault.kind][2]
    place = (fault.rotor or "").replace("_", " ")
    carried.disconnected[ROTOR_NAMES.index(fault.rotor or "")] -= 1.0
    return f"{place} ESC back in step"


def trouble_sensor(fault: FaultSection, carried: Any) -> str:
    """A whole sensor stuck or lost; a later fault of the same sensor replaces it."""
    stuck = fault.kind == "sensor_stuck"
    carried["gyro_trouble" if fault.sensor == "gyro" else "accel_trouble"] = (
        Trouble.STUCK if stuck else Trouble.LOST
    )
    lasting = f" for {fault.duration_s:g} s" if fault.duration_s is not None else ""
    return f"{fault.sensor} {'stuck at its last value' if stuck else 'lost, reads zero'}{lasting}"


PLACE_SENSOR_FAULTS = {
    "baro_stuck": ("", "barometer stuck at its last height", "barometer free again"),
    "gnss_lost": ("gnss", "satellites lost", "satellites back"),
    "compass_disturbed": ("compass", "magnetometer disturbed", "magnetometer undisturbed"),
    "rangefinder_lost": ("rangefinder", "rangefinder sees nothing", "rangefinder sees again"),
}
"""Faults of the sensors of place: the section of the craft file that they need, and what happens then and at their end."""


def change_place_sensor(fault: FaultSection, change: float, carried: Any) -> None:
    """Bring such a fault on (`change` = 1) or take it away (-1); two at once end one after the other."""
    match fault.kind:
        case "baro_stuck":
            carried.baro_stuck += change
        case "gnss_lost":
            carried.gnss_lost += change
        case "rangefinder_lost":
            carried.range_lost += change
        case _:
            carried.mag_disturbance[:] += change * np.array(fault.disturbance_uT) * MICRO


def _words_of(fault: FaultSection) -> str:
    strength = f" by {math.hypot(*fault.disturbance_uT):g} uT" if fault.kind == "compass_disturbed" else ""
    lasting = f" for {fault.duration_s:g} s" if fault.duration_s is not None else ""
    return PLACE_SENSOR_FAULTS[fault.kind][1] + strength + lasting


def check_faults(actions: Sequence[ActionSection], craft: Craft) -> None:
    """Refuse a fault of a sensor that the craft does not carry.

    Raises
    ------
    InputError
        that lists every such fault.
    """
    problems = []
    for k, action in enumerate(actions):
        section = PLACE_SENSOR_FAULTS.get(action.fault.kind, ("",))[0] if action.fault else ""
        if action.fault and section and getattr(craft, section) is None:
            allowed = f"{craft.name} has no [{section}]"
            problems.append(
                Problem(
                    f"at#{k + 1}.fault",
                    f"is {action.fault.kind}",
                    allowed,
                    "Add that section to the craft, or fly another",
                )
            )
    if problems:
        raise InputError(problems)


def _turn(angle_deg: float) -> np.ndarray:
    """Rotation about the body's z axis, shape (3, 3)."""
    c, s = math.cos(angle_deg * DEG), math.sin(angle_deg * DEG)
    return np.array([[c, -s, 0.0], [s, c, 0.0], [0.0, 0.0, 1.0]])
