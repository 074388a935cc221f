"""A patient pilot made of a few gains: flies a course on the sticks alone, in height hold, to show the way round.

It steers like a driver who looks ahead along a line: pure pursuit (R. C. Coulter, Implementation of the Pure Pursuit Path
Tracking Algorithm, CMU-RI-TR-92-01, 1992) along the axis of the next gate. It is no measure of what a craft can do.
"""

from __future__ import annotations

import math

import numpy as np

from quadsim.kinematics.quaternion import to_euler
from quadsim.practice.practice_flight import PracticeFlight

AHEAD_M = 3.5
"""It looks this far ahead along the axis of a gate [m]."""
SPEED_M_S, PER_SPEED = 3.5, 1.6
"""Speed wanted, and acceleration per speed that is lacking [1/s]."""
PER_WIDTH = 1.3
"""Speed per width of the next gate at most [1/s]: it takes care where it is tight."""
STEEPEST = 0.35
"""Greatest tilt that it asks for [rad]."""
TILT_FULL_DEG = 35.0
"""Tilt at full stick where the craft does not state it [deg]; the default of the guides."""
CLIMB_PER_M, YAW_PER_RAD = 0.25, 0.45
"""Throttle stick per metre too low, yaw stick per radian off."""
GRAVITY = 9.81


class StickPilot:
    """Sticks for a practice flight, from what a pilot sees: where the craft is and where the next gate is."""

    def __init__(self, flight: PracticeFlight, speed_m_s: float = SPEED_M_S) -> None:
        self.flight, self.speed_m_s = flight, speed_m_s
        full = flight.craft.sticks.full_stick_tilt_deg or TILT_FULL_DEG
        self._full = math.radians(full)

    def __call__(self) -> tuple[float, float, float, float]:
        """Roll, pitch, yaw, throttle for the next frame."""
        seen = self.flight.now
        if seen is None:
            return 0.0, 0.0, 0.0, 0.5
        position, velocity, attitude = seen
        yaw = to_euler(*attitude)[2]
        target = self._target(position)
        off = target - position
        level = off[:2] / max(float(np.hypot(*off[:2])), 0.5)
        risen = min(max(-position[2] / 1.0, 0.0), 1.0)  # up first, then forward
        lacking = PER_SPEED * (risen * self._speed * level - velocity[:2])
        ahead = lacking[0] * math.cos(yaw) + lacking[1] * math.sin(yaw)
        aside = -lacking[0] * math.sin(yaw) + lacking[1] * math.cos(yaw)
        pitch = -min(max(math.atan2(ahead, GRAVITY), -STEEPEST), STEEPEST) / self._full
        roll = min(max(math.atan2(aside, GRAVITY), -STEEPEST), STEEPEST) / self._full
        turn = (math.atan2(off[1], off[0]) - yaw + math.pi) % (2.0 * math.pi) - math.pi
        throttle = 0.5 + min(max(-CLIMB_PER_M * off[2] - 0.08 * -velocity[2], -0.4), 0.45)
        return roll, pitch, min(max(YAW_PER_RAD * turn, -0.6), 0.6), throttle

    @property
    def _speed(self) -> float:
        """Speed wanted towards the next gate [m/s]."""
        return min(self.speed_m_s, PER_WIDTH * float(self.flight.watch.gate.width))

    def _target(self, place: np.ndarray) -> np.ndarray:
        """A point on the axis of the next gate, ahead of the craft; round the frame when the craft is beyond it."""
        gate = self.flight.watch.gate
        off = place - gate.centre
        along, aside = float(off @ gate.forward), float(off @ gate.right)
        height = np.array([0.0, 0.0, gate.centre[2]])
        level = gate.centre * np.array([1.0, 1.0, 0.0])
        if (along > -0.6 and abs(aside) > 0.4 * gate.width) or along > 0.5:
            side = math.copysign(0.5 * gate.width + 2.0, aside or 1.0)
            return level - 4.0 * gate.forward + side * gate.right + height
        reach = AHEAD_M if abs(aside) < 0.25 * gate.width else min(AHEAD_M, max(0.5, -along - 1.5))
        return level + (along + reach) * gate.forward + height
