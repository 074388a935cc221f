"""All five stock blocks together on a bare rigid body with motor lag: take-off, turn, landing, and a bad start."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest

from controllers import DEFAULTS, MEMORY_SIZE, SIGNALS, SLOTS, Mode, example_craft, load_block, rows
from controllers.rotation import down_in_body, from_euler, to_euler, turn

CRAFT, G0, DT, LAG, DELAY = example_craft(), 9.80665, 2e-3, 0.025, 2
BLOCKS = [load_block(DEFAULTS[slot], slot).block for slot in SLOTS]


class Body:
    """A rigid body with first-order rotors, delayed gyroscope and ideal accelerometer and barometer."""

    def __init__(self, height: float = 0.0, euler: tuple = (0.0, 0.0, 0.0), bias: float = 0.0) -> None:
        self.s = rows(SIGNALS)[0]
        self.memory = [np.zeros(MEMORY_SIZE) for _ in BLOCKS]
        self.gains = [b.default_gains() for b in BLOCKS]
        self.height, self.climb, self.q, self.w = height, 0.0, np.array(from_euler(*euler)), np.zeros(3)
        self.thrust = np.full(4, CRAFT.mass * G0 / 4.0 if height > 0.0 else 0.0)
        self.past, self.bias = [np.zeros(3)] * (DELAY + 1), bias
        self.s.attitude[:], self.s.battery_voltage, self.s.link = self.q, CRAFT.nominal_voltage, 1.0

    def step(self) -> None:
        s, down = self.s, np.array(down_in_body(*self.q))
        upward = float(self.thrust.sum()) * down[2] / CRAFT.mass - G0
        grounded = self.height <= 0.0 and upward <= 0.0
        self.past.append(self.w.copy())
        s.dt, s.baro_height, s.gyro[:] = DT, self.height, self.past[-1 - DELAY] + self.bias
        s.accel[:] = -G0 * down if grounded else (0.0, 0.0, -self.thrust.sum() / CRAFT.mass)
        for block, gains, memory in zip(BLOCKS, self.gains, self.memory, strict=True):
            block(s, CRAFT, gains, memory)
        share = CRAFT.thrust_curve * s.motor**2 + (1.0 - CRAFT.thrust_curve) * s.motor
        self.thrust = self.thrust + DT / LAG * (CRAFT.max_thrust * share - self.thrust)
        if grounded:
            self.climb, self.w = 0.0, np.zeros(3)
            return
        turning = np.linalg.solve(CRAFT.inertia, np.cross(self.w, CRAFT.inertia @ self.w))
        self.w = self.w + DT * ((CRAFT.effectiveness @ self.thrust)[:3] - turning)
        self.q = np.array(turn(*self.q, *self.w, DT))
        self.climb += DT * upward
        self.height = max(self.height + DT * self.climb, 0.0)

    def fly(self, seconds: float, watch: Callable[[], float] = lambda: 0.0) -> np.ndarray:
        seen = []
        for _ in range(round(seconds / DT)):
            self.step()
            seen.append(watch())
        return np.array(seen)


def test_take_off_turn_and_land() -> None:
    body = Body(bias=0.01)
    body.s.mode = Mode.SETPOINT
    body.fly(2.0)
    assert body.s.airborne == 0.0
    assert body.s.motor == pytest.approx([CRAFT.idle] * 4, abs=1e-9)
    body.s.target_height = 2.0
    heights = body.fly(6.0, lambda: body.height)
    assert heights[-1] == pytest.approx(2.0, abs=0.05)
    assert heights.max() < 2.3
    body.s.target_roll, body.s.target_yaw = 0.3, 1.0
    rolls = body.fly(1.0, lambda: to_euler(*body.q)[0])
    assert rolls[-1] == pytest.approx(0.3, abs=0.05)
    assert rolls.max() < 0.36
    body.s.target_roll = 0.0
    body.fly(2.0)
    assert to_euler(*body.q)[2] == pytest.approx(1.0, abs=0.06)
    assert body.height == pytest.approx(2.0, abs=0.1)
    body.s.target_height = 0.0
    body.fly(9.0)
    assert body.s.airborne == 0.0
    assert body.s.motor == pytest.approx([CRAFT.idle] * 4, abs=1e-9)


def test_recovers_from_a_bank_of_two_radians() -> None:
    body = Body(height=30.0, euler=(2.0, 0.0, 0.5))
    body.s.mode, body.s.stick[3] = Mode.HEIGHT_HOLD, 0.5
    heights = body.fly(4.0, lambda: body.height)
    assert np.degrees(to_euler(*body.q)[:2]) == pytest.approx([0.0, 0.0], abs=2.0)
    assert heights.min() > 22.0
    assert abs(body.climb) < 0.6


def test_rate_command_reaches_its_rate() -> None:
    body = Body(height=50.0)
    body.s.mode, body.s.stick[:] = Mode.RATE_COMMAND, (0.0, 0.0, 0.5, CRAFT.hover_throttle)
    rates = body.fly(1.5, lambda: body.w[2])
    wanted = 2.5 * (0.7 * 0.5 + 0.3 * 0.125)
    assert rates[-1] == pytest.approx(wanted, rel=0.03)
    assert math.isclose(body.w[0], 0.0, abs_tol=1e-6)
