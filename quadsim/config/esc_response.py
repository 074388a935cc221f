"""From a measured speed response of motor and propeller to the lag that the ESC must have on its command.

A small step of command passes the ESC's lag T and then the motor, whose own time constant follows from circuit, inertia and
propeller (J over the slope of the torque balance, linearised). Measured is the 63 % time of both together.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from quadsim.config.craft_schema import Craft
from quadsim.config.equilibrium import balance_at_voltage, circuit_resistance, static_factors
from quadsim.config.resolve_drive import NOMINAL_CELL
from quadsim.sensors.records import BLENDS
from quadsim.units import MILLI

RISEN = 1.0 - math.exp(-1.0)
"""Share of a step at which a time constant is read."""
BISECTIONS = 60


@dataclass(frozen=True)
class LagPoint:
    """One measured throttle: the motor's own time constant and the ESC's lags that explain the measurement [s]."""

    command: float
    own: float
    up: float
    down: float
    measured: float
    """The smaller of the two measured times [s]."""

    @property
    def too_fast(self) -> bool:
        """True when the measurement is faster than the motor of this craft can be, whatever its ESC."""
        return self.measured < self.own


def own_time_constant(plant: Any, command: float, pack_voltage: float) -> float:
    """Time constant of a motor with its propeller at a command [s]: J/(kt (kt/R + i01) + dQ/domega).

    Linearisation of J domega/dt = kt (i - i00 - i01 omega) - Q with Q = q omega^2 and u V = i R + kt omega, on a stiff supply.
    """
    kt = float(plant.torque_constant)
    speed = balance_at_voltage(plant, command, pack_voltage).rotor_speed
    above, below = (static_factors(plant, speed * near)[1] * (speed * near) ** 2 for near in (1.0001, 0.9999))
    propeller = (above - below) / (2e-4 * speed)
    slope = kt * (kt / circuit_resistance(plant) + float(plant.no_load_slope)) + propeller
    return float(plant.rotor_inertia) / slope


def risen(t: float, first: float, second: float) -> float:
    """Step response at a time of two first-order lags in series [-]: 1 - (a e^(-t/a) - b e^(-t/b))/(a - b)."""
    if first <= 0.0 or second <= 0.0:
        return 1.0 - math.exp(-t / max(first, second))
    if abs(first - second) < 1e-6 * first:
        return 1.0 - (1.0 + t / first) * math.exp(-t / first)
    spread = first * math.exp(-t / first) - second * math.exp(-t / second)
    return 1.0 - spread / (first - second)


def extra_lag(measured: float, own: float) -> float:
    """Lag [s] that with a lag of `own` [s] makes a 63 % time of `measured` [s]; 0 when `own` alone takes longer."""
    if measured <= own:
        return 0.0
    low, high = 0.0, measured
    for _ in range(BISECTIONS):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if risen(measured, middle, own) > RISEN else (low, middle)
    return 0.5 * (low + high)


def lag_points(craft: Craft, plant: Any) -> list[LagPoint]:
    """Every measured throttle of a craft, in rising order; at the loaded pack's 3.7 V per cell."""
    points = []
    for one in sorted(craft.esc.response, key=lambda r: r.throttle_pct):
        command = one.throttle_pct / 100.0
        own = own_time_constant(plant, command, NOMINAL_CELL * craft.battery.cells)
        up, down = one.tau_up_ms * MILLI, one.tau_down_ms * MILLI
        points.append(LagPoint(command, own, extra_lag(up, own), extra_lag(down, own), min(up, down)))
    return points


def lags(craft: Craft, plant: Any) -> np.ndarray:
    """Lags of the ESC down and up [s], shape (2, BLENDS), at equal steps of command."""
    if not craft.esc.response:
        return np.full((2, BLENDS), craft.esc.lag_ms * MILLI)
    points = lag_points(craft, plant)
    steps, commands = np.linspace(0.0, 1.0, BLENDS), [p.command for p in points]
    return np.array([np.interp(steps, commands, [getattr(p, way) for p in points]) for way in ("down", "up")])
