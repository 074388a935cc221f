"""How far a craft goes that falls, coasts or sinks: plain point masses with the craft's drag, for its footprint on the ground.

Vacuum: x = v sqrt(2 h/g), and with drag A no faster than sqrt(2 m g/(rho A)) (elementary mechanics); the tests compare with both.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True)
class Landing:
    """Where something comes down: after a time [s], at a distance ahead [m], with speeds over ground forward and down [m/s]."""

    time_s: float
    distance_m: float
    forward_m_s: float
    sink_m_s: float

    @property
    def speed_m_s(self) -> float:
        """Speed at the ground [m/s]."""
        return math.hypot(self.forward_m_s, self.sink_m_s)


@dataclass(frozen=True)
class Body:
    """What falls: mass [kg], drag area [m2], in air of a density [kg/m3] under gravity [m/s2]; and the thrust that is left of
    rotors that run down: at first `lift` and `push` [N] upward and forward, times 1/(1 + t/tau)^2."""

    mass: float
    drag_area: float
    density: float
    gravity: float
    lift: float = 0.0
    push: float = 0.0
    run_down_s: float = 0.0


def fall(height: float, forward: float, wind: float, body: Body, climb: float = 0.0) -> Landing:
    """A body let go at a height [m] with speeds forward over ground and up [m/s], wind from behind positive.

    m dV/dt = m g - rho/2 A |V - W| (V - W) + F/(1 + t/tau)^2, by an embedded Runge-Kutta method of order 8 up to the ground.
    """
    from scipy.integrate import solve_ivp

    per_mass = 0.5 * body.density * body.drag_area / body.mass

    def rates(t: float, x: np.ndarray) -> list[float]:
        through = x[2] - wind
        drag = per_mass * math.hypot(through, x[3])
        left = (1.0 + t / body.run_down_s) ** -2 / body.mass if body.run_down_s > 0.0 else 0.0
        return [x[2], x[3], left * body.push - drag * through, body.gravity - left * body.lift - drag * x[3]]

    def above(_t: float, x: np.ndarray) -> float:
        return height - x[1]

    above.terminal = True  # type: ignore[attr-defined]
    longest = 60.0 + 10.0 * height + 2.0 * max(climb, 0.0)
    flown = solve_ivp(
        rates, (0.0, longest), [0.0, 0.0, forward, -climb], "DOP853", events=above, rtol=1e-9, atol=1e-9
    )
    x = flown.y[:, -1]
    return Landing(float(flown.t[-1]), float(x[0]), float(x[2]), float(x[3]))


def coast(
    forward: float,
    wind: float,
    mass: float,
    drag: Callable[[float], float],
    duration: float,
    push: float = 0.0,
) -> tuple[float, float]:
    """Distance [m] and last speed over ground [m/s] of a level craft that its drag slows, from a speed over ground.

    drag : force [N] at a speed through the air [m/s]
    push : force [N] forward, as of a craft that is not quite level
    """
    from scipy.integrate import solve_ivp

    def rates(_t: float, x: np.ndarray) -> list[float]:
        through = x[1] - wind
        return [x[1], (push - math.copysign(drag(abs(through)), through)) / mass]

    flown = solve_ivp(rates, (0.0, duration), [0.0, forward], "RK45", rtol=1e-8, atol=1e-8)
    return float(flown.y[0, -1]), float(flown.y[1, -1])


def sinking_time(height: float, sink: float, slow: float, slow_height: float, rate: float) -> float:
    """Time [s] to come down from a height [m] at `sink`, slowed to `slow` [m/s] below `slow_height` [m].

    dh/dt = -min(sink, max(slow, slow + rate (h - slow_height))): straight, an exponential, straight.
    """
    slow = min(slow, sink)
    bend = slow_height + (sink - slow) / rate if rate > 0.0 else slow_height
    fast = max(height - bend, 0.0) / sink
    middle = max(min(height, bend) - slow_height, 0.0)
    easing = math.log1p(rate * middle / slow) / rate if rate > 0.0 else middle / sink
    return fast + easing + min(height, slow_height) / slow
