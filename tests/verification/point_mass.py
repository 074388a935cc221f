"""A point mass under the guide: it takes the attitude asked for at once; thrust, gravity, linear drag, and nothing else."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from controllers import MEMORY_SIZE, SIGNALS, Mode, example_craft, rows
from controllers.guide_gains import GuideGain
from controllers.navigation import navigation

CRAFT, G0 = example_craft(), 9.80665


class PointMass:
    """Position and velocity north-east-down, known exactly; `drag` over mass [1/s] against a wind [m/s], its `lift` [m/s2]."""

    def __init__(
        self,
        mode: Mode,
        *,
        guide: Callable = navigation,
        dt: float = 4e-3,
        height: float = 10.0,
        **gains: float,
    ) -> None:
        self.s: Any = rows(SIGNALS)[0]
        self.guide, self.memory, self.gains = guide, np.zeros(MEMORY_SIZE), navigation.default_gains()
        for name, value in gains.items():
            self.gains[GuideGain[name]] = value
        self.s.dt, self.s.mode, self.s.attitude[0], self.s.stick[3] = dt, mode, 1.0, 0.5
        self.s.position_known = self.s.heading_known = self.s.link = 1.0
        self.s.target_height = height
        self.x, self.v = np.array([0.0, 0.0, -height]), np.zeros(3)
        self.drag, self.wind, self.lift = 0.0, np.zeros(3), 0.0
        self._tell()

    def _tell(self) -> None:
        self.s.position[:], self.s.velocity[:] = self.x, self.v
        self.s.height, self.s.climb_rate = -self.x[2], -self.v[2]

    @property
    def tilt(self) -> float:
        """Tilt of the attitude asked for [rad]."""
        q = self.s.attitude_wanted
        return float(np.arccos(1.0 - 2.0 * (q[1] ** 2 + q[2] ** 2)))

    def step(self) -> None:
        """One run of the guide and the motion until the next."""
        s = self.s
        self.guide(s, CRAFT, self.gains, self.memory)
        s.attitude[:] = s.attitude_wanted
        w, x, y, z = s.attitude_wanted
        up = np.array([2.0 * (x * z + w * y), 2.0 * (y * z - w * x), 1.0 - 2.0 * (x * x + y * y)])
        acceleration = np.array([0.0, 0.0, G0 - self.lift]) - s.thrust_wanted / CRAFT.mass * up
        self.v = self.v + s.dt * (acceleration - self.drag * (self.v - self.wind))
        self.x = self.x + s.dt * self.v
        if self.x[2] >= 0.0:
            self.x[2], self.v = 0.0, np.zeros(3)
        self._tell()

    def fly(self, seconds: float, watch: Callable[[], Any] = lambda: None) -> np.ndarray:
        """Fly on; what `watch` returned after every step."""
        seen = []
        for _ in range(round(seconds / float(self.s.dt))):
            self.step()
            seen.append(watch())
        return np.array(seen)
