"""A bench for the sensors of place: hand-made records, served tick by tick as the loop does."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np
from hand_made import body, calm, state

from controllers.signals import SIGNALS, rows
from quadsim.sensors.place_records import NO_DROP, Slow
from quadsim.sensors.records import SENSORS
from quadsim.sensors.slow import serve_slow_sensors
from quadsim.simulation.carried import CARRIED

DEG = math.pi / 180.0
FIELD = np.array([20e-6, 1e-6, 45e-6])
"""The Earth's field on the bench, north-east-down [T]."""
H = 1e-3
"""A tick [s]."""


class Bench:
    """Perfect sensors of one kind, sampled every 10 ticks of 1 ms, until a field of `sensors` says otherwise."""

    def __init__(self, kind: Slow, serve: Callable = serve_slow_sensors, **changes: Any) -> None:
        self.serve = serve
        self.sensors, self.carried, self.signals = rows(SENSORS)[0], rows(CARRIED)[0], rows(SIGNALS)[0]
        self.plant, self.held, self.x = body(), calm(), state()
        s = self.sensors
        s.slow_every[kind], s.slow_drop[:] = 10.0, NO_DROP
        s.baro_blend = s.baro_scale = s.gnss_keep = 1.0
        s.mag_matrix[:] = np.eye(3)
        s.range_limits[:], s.range_upright = (0.1, 100.0), math.cos(60.0 * DEG)
        self.plant.magnetic_field[:] = FIELD
        self.carried.key, self.carried.wiring[:] = 11, np.arange(4)
        self.tick = 0
        for name, value in changes.items():
            s[name] = value

    def run(self, ticks: int = 1) -> Any:
        """Serve what is due in the next ticks, as the loop does; returns the signals."""
        for _ in range(ticks):
            if self.tick >= self.carried.slow_due:
                self.serve(
                    self.tick, H, self.x, self.held, self.plant, self.sensors, self.carried, self.signals
                )
            self.tick += 1
        return self.signals

    def seen(self, name: str, count: int) -> np.ndarray:
        """Values of a signal after each of `count` samples."""
        return np.array([np.array(self.run(10)[name]) for _ in range(count)])
