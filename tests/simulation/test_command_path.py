"""From the command computed to the duty in force: delay, wiring, resolution, lag."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from controllers.signals import rows
from quadsim.dynamics.records import HELD
from quadsim.sensors.records import RING, SENSORS
from quadsim.simulation.carried import CARRIED
from quadsim.simulation.command_path import command_motors


class Path:
    """The command path alone, ideal until a field of `sensors` says otherwise."""

    def __init__(self, **changes: Any) -> None:
        self.sensors, self.carried, self.held = rows(SENSORS)[0], rows(CARRIED)[0], rows(HELD)[0]
        self.sensors.motor_blend, self.sensors.motor_levels = 1.0, 1e12
        self.carried.wiring[:] = np.arange(4)
        for name, value in changes.items():
            self.sensors[name] = value

    def tick(self, tick: int, command: Any) -> np.ndarray:
        """Duties at a tick for which `command` was computed one tick before, as the loop files it."""
        self.carried.motor_line[tick % RING] = command
        command_motors(tick, True, self.sensors, self.carried, self.held)
        return np.array(self.held.duty)


@pytest.mark.parametrize("delay", [0, 1, 7, 40])
def test_delay_is_exact_in_ticks(delay: int) -> None:
    path = Path(motor_delay=float(delay))
    for tick in range(100):
        duty = path.tick(tick, tick * 1e-3)
        assert duty == pytest.approx([max(tick - delay, 0) * 1e-3] * 4, abs=1e-9)


def test_lag_as_a_step_response() -> None:
    """First-order: 1 - exp(-t/T) for T = 2 ms at 4 kHz (closed form)."""
    path = Path(motor_blend=1.0 - math.exp(-1.0 / (2e-3 * 4000.0)))
    for tick in range(1, 30):
        assert path.tick(tick, 1.0)[0] == pytest.approx(1.0 - math.exp(-tick / 8.0), abs=1e-9)


def test_lag_up_and_down_and_over_the_command() -> None:
    """1 - exp(-t/T) with T = 2 ms up and 5 ms down; above half command twice as slow (closed form within one node)."""
    path = Path()
    lag = np.array([[5e-3], [2e-3]]) * np.where(np.arange(21) > 10, 2.0, 1.0)
    path.sensors.motor_blend[:] = 1.0 - np.exp(-1.0 / (lag * 4000.0))
    for tick in range(1, 30):
        assert path.tick(tick, 0.4)[0] == pytest.approx(0.4 * (1.0 - math.exp(-tick / 8.0)), abs=1e-9)
    begin = path.held.duty[0]
    for tick in range(30, 60):
        wanted = 0.1 + (begin - 0.1) * math.exp(-(tick - 29) / 20.0)
        assert path.tick(tick, 0.1)[0] == pytest.approx(wanted, abs=1e-9)
    path.carried.motor_smooth[:] = 0.6
    for tick in range(60, 90):
        wanted = 0.9 - 0.3 * math.exp(-(tick - 59) / 16.0)
        assert path.tick(tick, 0.9)[0] == pytest.approx(wanted, abs=1e-9)


def test_commands_are_taken_over_at_the_escs_own_rate() -> None:
    """Every eighth tick: a ramp of commands becomes a staircase that is never early."""
    path = Path(motor_every=8.0)
    for tick in range(64):
        duty = path.tick(tick, tick * 1e-3)
        assert duty == pytest.approx([(tick - tick % 8) * 1e-3] * 4, abs=1e-9)


def test_resolution() -> None:
    """Nearest of 50 steps: 0.333 is between 16 and 17 fiftieths, nearer to 0.34."""
    assert Path(motor_levels=50.0).tick(1, (0.333, 0.0, 1.0, 0.031)) == pytest.approx(
        (0.34, 0.0, 1.0, 0.04), abs=1e-12
    )


def test_wiring_and_a_disconnected_motor() -> None:
    path = Path()
    path.carried.wiring[:] = (1, 0, 2, 3)
    path.carried.disconnected[2] = 1.0
    assert path.tick(1, (0.1, 0.2, 0.3, 0.4)) == pytest.approx((0.2, 0.1, -1.0, 0.4), abs=1e-12)
