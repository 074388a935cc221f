"""An estimate for tests of homing: the stock one, and the place of the last fix carried on with its velocity."""

from __future__ import annotations

from typing import Any

import numpy as np

from controllers.estimate import complementary

COUNT, AGE = 500, 501
"""Places in the memory that the stock estimate leaves free: fixes seen, and the age of the last [s]."""
GAINS = complementary.default_gains()


def placed(s: Any, craft: Any, gains: np.ndarray, memory: np.ndarray) -> None:
    """Place and velocity of the last fix; the heading is the one it started with, kept by the gyro."""
    complementary(s, craft, GAINS, memory)  # a plain function declares no gains of its own
    memory[AGE] += s.dt
    if s.gnss_count != memory[COUNT]:
        memory[COUNT], memory[AGE] = s.gnss_count, craft.gnss_delay
    s.velocity[:2], s.velocity[2] = s.gnss_velocity[:2], -s.climb_rate
    s.position[:2], s.position[2] = s.gnss_position[:2] + memory[AGE] * s.gnss_velocity[:2], -s.height
    s.position_known, s.heading_known = s.gnss_fix, 1.0
