"""Where the warmth of motors and pack settles, solved without a flight: the same nodes as quadsim.dynamics.motor_heat."""

from __future__ import annotations

import math
from typing import Any

from quadsim.config.equilibrium import hover_balance, plain
from quadsim.dynamics.battery import ROOM
from quadsim.dynamics.motor_heat import case_to_air, flow_squared, no_load_loss

_case_to_air, _flow_squared, _no_load_loss = map(plain, (case_to_air, flow_squared, no_load_loss))


def settled_temperatures(plant: Any, current: float, omega: float, thrust: float) -> tuple[float, float]:
    """Winding and case [K] when a standing craft has drawn a motor current [A] for long; infinite when they run away.

    Closed form of the steady nodes with R(T_w): P = i^2 R20 (1 + a (T_w - T20)), T_c - T_air = (P + P0)/G and
    T_w - T_c = P/G_wc, so P = i^2 R20 (1 + a (T_air - T20 + P0/G)) / (1 - i^2 R20 a (1/G + 1/G_wc)).

    omega, thrust : speed [rad/s] and thrust [N] of its rotor
    """
    air, a = float(plant.air_temperature), float(plant.copper_per_kelvin)
    per_air = 1.0 / float(_case_to_air(_flow_squared(thrust, 0.0, plant), plant))
    per_inside = 1.0 / float(plant.winding_to_case)
    lost, cold = float(_no_load_loss(omega, plant)), current * current * float(plant.motor_resistance)
    room = 1.0 - cold * a * (per_air + per_inside)
    if room <= 0.0:
        return math.inf, math.inf
    copper = cold * (1.0 + a * (air - ROOM + lost * per_air)) / room
    case = air + (copper + lost) * per_air
    return case + copper * per_inside, case


def settled_in_hover(plant: Any) -> float:
    """Winding temperature of long hover [K], at most its limit; that of the air for a craft that cannot hover.

    The current of hover does not depend on the resistance, the torque sets it: no iteration is needed.
    """
    at = hover_balance(plant, winding=float(plant.air_temperature))
    if at is None:
        return float(plant.air_temperature)
    return min(
        settled_temperatures(plant, at.motor_current, at.rotor_speed, at.thrust)[0],
        float(plant.winding_limit),
    )


def begin_at(held: Any, plant: Any, motors: float | None = None) -> None:
    """Set the temperatures that a flight begins with: motors at the air's [K] or a given one, pack at the plant's."""
    held.winding_temperature[:] = held.case_temperature[:] = (
        plant.air_temperature if motors is None else motors
    )
    held.pack_temperature = plant.pack_temperature
