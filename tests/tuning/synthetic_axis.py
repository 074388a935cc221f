"""An axis in closed form, for the search: an integrator behind a rotor's lag and a delay, and a PID in continuous time."""

from __future__ import annotations

import math

import numpy as np

from quadsim.tuning.axis_loop import AxisPlant, Basis
from quadsim.tuning.axis_search import Axis

HERTZ = 2.0 * math.pi
BOUNDS = np.array([[0.0, 400.0], [0.0, 4000.0], [0.0, 5.0], [0.0, 60.0]])


def synthetic_axis(
    lag: float = 0.025, delay: float = 0.005, scales: tuple[float, ...] = (1.0,), mode_Hz: float = 0.0,
    uses_d: bool = True, to_command: float = 0.0,
) -> Axis:  # fmt: skip
    """Rate per acceleration asked for k e^(-s delay)/(s (1 + s lag)), a corner for each k; the derivative's filter at 80 Hz."""
    w = HERTZ * np.geomspace(0.05, 400.0, 101)
    s = 1j * w
    rate = np.array([k * np.exp(-s * delay) / (s * (1.0 + s * lag)) for k in scales])
    one = np.ones(len(w), complex)
    slope = s / (1.0 + s / (HERTZ * 80.0))
    bounds = BOUNDS.copy()
    if not uses_d:
        bounds[2] = 0.0
    return Axis(
        plant=AxisPlant(0, w, rate, rate / s), basis=Basis(one, 1.0 / s, slope, slope), filter_=one, feed_forward=0.0,
        to_command=to_command, density=1e-4, shake=0.0, rotor_Hz=200.0, mode_Hz=mode_Hz, bounds=bounds, uses_d=uses_d,
    )  # fmt: skip
