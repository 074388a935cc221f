"""The guide: each response type, take-off and touch-down, and changing over without a jump."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest

from controllers import MEMORY_SIZE, SIGNALS, Mode, example_craft, rows
from controllers.guide import response
from controllers.guide_gains import GuideGain
from controllers.rotation import from_euler, to_euler

CRAFT = example_craft()
WEIGHT = 9.80665 * CRAFT.mass
DT = 4e-3


class Desk:
    """A guide with its signals; the craft follows height by its thrust, and attitude at once."""

    def __init__(self, mode: Mode, height: float = 5.0, **gains: float) -> None:
        self.s, self.memory, self.gains = rows(SIGNALS)[0], np.zeros(MEMORY_SIZE), response.default_gains()
        self.s.dt, self.s.mode, self.s.height, self.s.attitude[0] = DT, mode, height, 1.0
        self.s.stick[3] = 0.5
        for name, value in gains.items():
            self.gains[GuideGain[name]] = value

    def run(self, seconds: float, follow: bool = True, heavier: float = 1.0) -> list[float]:
        """Heights over time; the ground carries what the thrust does not."""
        heights = []
        for _ in range(round(seconds / DT)):
            response(self.s, CRAFT, self.gains, self.memory)
            if follow:
                self.s.attitude[:] = self.s.attitude_wanted
            upright = 1.0 - 2.0 * (self.s.attitude[1] ** 2 + self.s.attitude[2] ** 2)
            self.s.climb_rate += DT * (self.s.thrust_wanted * upright / (CRAFT.mass * heavier) - 9.80665)
            self.s.height += DT * self.s.climb_rate
            if self.s.height <= 0.0:
                self.s.height, self.s.climb_rate = 0.0, max(self.s.climb_rate, 0.0)
            heights.append(float(self.s.height))
        return heights


def test_rate_command() -> None:
    """Full stick is the full rate; half stick (1 - e)/2 + e/8 of it; attitude control is off."""
    desk = Desk(Mode.RATE_COMMAND, EXPONENTIAL=0.4, STICK_DEADBAND=0.0)
    desk.s.stick[:] = (1.0, 0.5, -1.0, 0.6)
    response(desk.s, CRAFT, desk.gains, desk.memory)
    full, yaw = GuideGain.RATE_FULL.default, GuideGain.YAW_RATE_FULL.default
    assert desk.s.rates_fed_forward == pytest.approx([full, 0.35 * full, -yaw], abs=1e-9)
    assert desk.s.attitude_weight == 0.0
    # k u^2 + (1 - k) u with k = 0.8: the stick is the motor command.
    assert desk.s.thrust_wanted == pytest.approx(4.0 * CRAFT.max_thrust * (0.8 * 0.36 + 0.2 * 0.6), abs=1e-9)


def test_attitude_command_settles_at_the_angle() -> None:
    desk = Desk(Mode.ATTITUDE_COMMAND, EXPONENTIAL=0.0, STICK_DEADBAND=0.0)
    desk.s.stick[:2] = (0.4, -0.3)
    desk.run(2.0)
    roll, pitch, yaw = to_euler(*desk.s.attitude_wanted)
    assert (roll, pitch, yaw) == pytest.approx((0.28, -0.21, 0.0), abs=1e-4)
    assert desk.s.rates_fed_forward == pytest.approx([0.0, 0.0, 0.0], abs=1e-3)
    assert desk.s.attitude_weight == 1.0


def test_tilt_is_limited_as_a_whole() -> None:
    desk = Desk(Mode.ATTITUDE_COMMAND)
    desk.s.stick[:2] = (1.0, 1.0)
    desk.run(3.0)
    roll, pitch, _ = to_euler(*desk.s.attitude_wanted)
    assert math.hypot(roll, pitch) == pytest.approx(GuideGain.TILT_MAX.default, abs=1e-4)


def test_fed_forward_rates_are_those_of_the_reference() -> None:
    """Body rates from the quaternion's own change: 2 q* q', independent of the Euler-rate formula."""
    desk = Desk(Mode.SETPOINT, height=5.0)
    desk.s.target_roll, desk.s.target_pitch, desk.s.target_yaw, desk.s.target_height = 0.5, -0.4, 1.5, 5.0
    worst = 0.0
    response(desk.s, CRAFT, desk.gains, desk.memory)
    for _ in range(200):
        before = np.array(desk.s.attitude_wanted)
        desk.s.attitude[:] = before
        response(desk.s, CRAFT, desk.gains, desk.memory)
        after = np.array(desk.s.attitude_wanted)
        w, v = before[0] * after[0] + before[1:] @ after[1:], before[0] * after[1:] - after[0] * before[1:]
        rates = 2.0 * (v - np.cross(before[1:], after[1:])) / DT / w
        worst = max(worst, np.abs(rates - desk.s.rates_fed_forward).max())
    assert worst < 0.05
    assert to_euler(*desk.s.attitude_wanted) == pytest.approx((0.5, -0.4, 1.5), abs=0.3)


def test_heading_goes_the_short_way_round() -> None:
    desk = Desk(Mode.SETPOINT)
    desk.s.attitude[:] = from_euler(0.0, 0.0, 3.0)
    desk.s.target_yaw, desk.s.target_height = -3.0, 5.0
    desk.run(0.5)
    assert desk.s.rates_fed_forward[2] > 0.0
    desk.run(4.0)
    assert to_euler(*desk.s.attitude_wanted)[2] == pytest.approx(-3.0, abs=1e-3)


def test_heading_does_not_run_away_from_the_craft() -> None:
    """A craft that cannot turn: the heading asked for stays within 0.6 rad of the one flown."""
    desk = Desk(Mode.HEIGHT_HOLD)
    desk.s.stick[2] = 1.0
    desk.run(5.0, follow=False)
    assert to_euler(*desk.s.attitude_wanted)[2] == pytest.approx(0.6, abs=0.02)


def test_height_step() -> None:
    desk = Desk(Mode.SETPOINT)
    desk.s.target_height = 6.0
    heights = desk.run(8.0)
    assert heights[-1] == pytest.approx(6.0, abs=0.01)
    assert max(heights) < 6.15
    assert min(heights) > 4.99


def test_more_mass_than_the_builder_knows_is_carried() -> None:
    desk = Desk(Mode.SETPOINT)
    desk.s.target_height = 5.0
    heights = desk.run(15.0, heavier=1.4)
    assert heights[-1] == pytest.approx(5.0, abs=0.02)
    assert min(heights) > 3.5


def test_tilt_is_made_up_for() -> None:
    desk = Desk(Mode.SETPOINT)
    desk.s.target_height, desk.s.target_roll = 5.0, 0.6
    heights = desk.run(5.0)
    assert min(heights) > 4.97
    assert desk.s.thrust_wanted == pytest.approx(WEIGHT / math.cos(0.6), rel=1e-3)


def test_no_climb_thrust_upside_down() -> None:
    desk = Desk(Mode.SETPOINT)
    desk.s.target_height = 50.0
    desk.run(0.1)
    desk.s.attitude[:] = (0.0, 1.0, 0.0, 0.0)
    response(desk.s, CRAFT, desk.gains, desk.memory)
    assert desk.s.thrust_wanted == pytest.approx(GuideGain.THRUST_LOW.default * WEIGHT, rel=1e-9)


def test_height_hold_climbs_and_captures() -> None:
    """Stick beyond the dead band: climb at its share of the greatest rate; centred again: stop and stay."""
    desk = Desk(Mode.HEIGHT_HOLD)
    desk.run(2.0)
    assert desk.s.height == pytest.approx(5.0, abs=0.01)
    desk.s.stick[3] = 1.0
    desk.run(4.0)
    assert desk.s.climb_rate == pytest.approx(GuideGain.CLIMB_MAX.default, rel=0.02)
    desk.s.stick[3] = 0.53  # within the dead band
    desk.run(4.0)
    held = float(desk.s.height)
    desk.run(4.0)
    assert desk.s.height == pytest.approx(held, abs=0.02)
    assert abs(desk.s.climb_rate) < 0.01


def idles(desk: Desk) -> bool:
    return desk.s.thrust_wanted == 0.0 and desk.s.airborne == 0.0


def wants_up(desk: Desk) -> None:
    desk.s.target_height, desk.s.stick[3] = 2.0, 0.8


def wants_down(desk: Desk) -> None:
    desk.s.target_height, desk.s.stick[3] = 0.0, 0.0


@pytest.mark.parametrize("mode", [Mode.HEIGHT_HOLD, Mode.SETPOINT])
@pytest.mark.parametrize("heavier", [1.0, 1.3])
def test_take_off_and_landing(mode: Mode, heavier: float) -> None:
    desk = Desk(mode, height=0.0)
    desk.run(2.0)
    assert idles(desk)
    wants_up(desk)
    desk.run(0.3, heavier=heavier)
    assert desk.s.airborne == 0.0
    assert 0.3 * WEIGHT < desk.s.thrust_wanted < WEIGHT
    heights = desk.run(6.0, heavier=heavier)
    assert desk.s.airborne == 1.0
    assert heights[-1] > 1.9
    wants_down(desk)
    speeds, seconds = [], 0.0
    while desk.s.height > 0.0 and seconds < 30.0:
        speeds.append(float(-desk.s.climb_rate))
        desk.run(DT, heavier=heavier)
        seconds += DT
    assert speeds[-1] == pytest.approx(GuideGain.LANDING_RATE.default, abs=0.12)
    assert max(speeds) < GuideGain.SINK_MAX.default + 0.1
    desk.run(3.0, heavier=heavier)
    assert idles(desk)


@pytest.mark.parametrize("mode", [Mode.RATE_COMMAND, Mode.ATTITUDE_COMMAND])
def test_airborne_by_the_throttle_stick(mode: Mode) -> None:
    desk = Desk(mode, height=0.0)
    desk.s.stick[3] = 0.3
    desk.run(1.0)
    assert desk.s.airborne == 0.0
    desk.s.stick[3] = 0.6
    desk.run(0.5)
    assert desk.s.airborne == 1.0
    desk.s.stick[3] = 0.0
    desk.run(5.0)
    assert desk.s.height == 0.0
    assert desk.s.airborne == 0.0


def test_a_flight_that_starts_in_the_air_is_airborne() -> None:
    desk = Desk(Mode.SETPOINT, height=5.0)
    desk.s.target_height = 5.0
    response(desk.s, CRAFT, desk.gains, desk.memory)
    assert desk.s.airborne == 1.0
    assert desk.s.thrust_wanted == pytest.approx(WEIGHT, rel=1e-6)


def to_setpoint(desk: Desk) -> None:
    desk.s.mode, desk.s.target_height = Mode.SETPOINT, float(desk.s.height)


def to_height_hold(desk: Desk) -> None:
    desk.s.mode, desk.s.stick[3] = Mode.HEIGHT_HOLD, 0.5


@pytest.mark.parametrize("change", [to_setpoint, to_height_hold])
def test_changing_over_starts_from_the_attitude_flown(change: Callable) -> None:
    desk = Desk(Mode.RATE_COMMAND)
    desk.s.attitude[:] = from_euler(0.4, -0.2, 1.0)
    desk.run(0.1)
    change(desk)
    response(desk.s, CRAFT, desk.gains, desk.memory)
    assert to_euler(*desk.s.attitude_wanted) == pytest.approx((0.4, -0.2, 1.0), abs=0.01)
