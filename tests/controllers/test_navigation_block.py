"""The guide that flies places: fall-backs, landing, the way home, limits."""

from __future__ import annotations

import math

import numpy as np
import pytest
from point_mass import CRAFT, PointMass

from controllers import Mode
from controllers.guide_gains import GuideGain, Memory
from controllers.guide_home import Phase


@pytest.mark.parametrize(
    ("asked", "flown"),
    [
        (Mode.POSITION_HOLD, Mode.HEIGHT_HOLD), (Mode.WAYPOINT, Mode.SETPOINT), (Mode.TRAJECTORY, Mode.SETPOINT),
        (Mode.LANDING, Mode.LANDING), (Mode.HOMING, Mode.LANDING), (Mode.HEIGHT_HOLD, Mode.HEIGHT_HOLD),
    ],
)  # fmt: skip
@pytest.mark.parametrize("lacking", ["position_known", "heading_known"])
def test_without_a_place_the_nearest_mode_is_flown_level(asked: Mode, flown: Mode, lacking: str) -> None:
    mass = PointMass(asked)
    mass.s.target_north, mass.s.target_roll = 50.0, 0.3
    mass.s[lacking] = 0.0
    mass.fly(2.0)
    assert int(mass.s.mode_in_force) == flown
    assert mass.tilt < 1e-6


def test_the_mode_asked_for_comes_back_with_the_place() -> None:
    mass = PointMass(Mode.WAYPOINT)
    mass.s.target_north = 30.0
    mass.fly(3.0)
    mass.s.position_known = 0.0
    mass.fly(2.0)
    assert int(mass.s.mode_in_force) == Mode.SETPOINT
    mass.s.position_known = 1.0
    before = mass.tilt
    mass.step()
    assert int(mass.s.mode_in_force) == Mode.WAYPOINT
    assert abs(mass.tilt - before) < 0.01
    mass.fly(15.0)
    assert mass.x[:2] == pytest.approx((30.0, 0.0), abs=0.05)


def test_sticks_command_a_velocity_in_heading_axes_and_centred_hold_the_place() -> None:
    """Nose east, stick forward: full speed east; let go, it brakes and stays."""
    mass = PointMass(Mode.POSITION_HOLD)
    mass.s.attitude[:] = math.cos(math.pi / 4.0), 0.0, 0.0, math.sin(math.pi / 4.0)
    mass.s.stick[1] = -1.0
    mass.fly(6.0)
    assert mass.v[:2] == pytest.approx((0.0, GuideGain.SPEED_MAX.default), abs=0.05)
    mass.s.stick[1] = 0.0
    mass.fly(15.0)
    held = mass.x.copy()
    assert np.linalg.norm(mass.v) < 0.01
    mass.fly(5.0)
    assert mass.x == pytest.approx(held, abs=0.02)


def test_a_change_over_at_speed_brakes_without_a_jump() -> None:
    mass = PointMass(Mode.ATTITUDE_COMMAND)
    mass.s.stick[1], mass.s.stick[3] = -0.4, 0.5
    mass.fly(1.5)
    mass.s.mode, mass.s.stick[1] = Mode.POSITION_HOLD, 0.0
    before = mass.s.attitude_wanted.copy()
    mass.step()
    assert mass.s.attitude_wanted == pytest.approx(before, abs=0.02)
    speeds = mass.fly(12.0, lambda: float(np.hypot(*mass.v[:2])))
    assert speeds[-1] < 0.02


@pytest.mark.jit
def test_the_integral_waits_at_the_tilt_limit() -> None:
    """A wind that pulls harder than the greatest tilt: carried off by 82 m, it comes back once the wind has died, and stops."""
    mass = PointMass(Mode.POSITION_HOLD, PLACE_I=0.6)
    mass.drag, mass.wind = 0.2, np.array([0.0, 40.0, 0.0])
    mass.fly(10.0)
    assert mass.x[1] > 20.0
    assert mass.tilt == pytest.approx(GuideGain.PLACE_TILT.default, abs=1e-3)
    assert abs(mass.memory[Memory.EAST_INTEGRAL]) < 2.0
    mass.wind = np.zeros(3)
    places = mass.fly(40.0, lambda: float(mass.x[1]))
    assert places.min() > -2.0
    assert places[-1] == pytest.approx(0.0, abs=0.1)


def test_on_the_ground_the_place_asked_for_waits() -> None:
    """Standing, held by the ground in a wind of errors: level, nothing winds up; after lift-off it rises before it leaves."""
    mass = PointMass(Mode.WAYPOINT, height=0.0)
    mass.s.target_height, mass.s.target_north = -1.0, 20.0
    for k in range(500):
        mass.step()
        mass.s.position[:2] = 2.0 * math.sin(0.1 * k), 1.5
    assert mass.s.airborne == 0.0
    assert mass.tilt < 1e-6
    assert mass.memory[Memory.NORTH_INTEGRAL] == mass.memory[Memory.EAST_INTEGRAL] == 0.0
    mass.s.target_height = 3.0
    rising = mass.fly(20.0, lambda: mass.x.copy())
    low = rising[-rising[:, 2] < 0.5 * GuideGain.LANDING_HEIGHT.default]
    assert np.abs(low[:, 0]).max() < 0.05
    assert mass.x == pytest.approx((20.0, 0.0, -3.0), abs=0.05)


def test_landing_holds_the_place_and_stops_the_motors() -> None:
    mass = PointMass(Mode.WAYPOINT, height=6.0)
    mass.drag, mass.wind = 0.2, np.array([3.0, 0.0, 0.0])
    mass.fly(25.0)
    mass.s.mode = Mode.LANDING
    sinks = mass.fly(12.0, lambda: float(mass.v[2]))
    assert mass.x == pytest.approx((0.0, 0.0, 0.0), abs=0.1)
    assert sinks.max() < GuideGain.SINK_MAX.default + 0.1
    assert (mass.s.airborne, mass.s.armed) == (0.0, 0.0)
    mass.s.mode, mass.s.target_height = Mode.WAYPOINT, 2.0
    mass.fly(6.0)
    assert (mass.s.airborne, mass.s.armed) == (1.0, 1.0)


def test_a_rangefinder_slows_the_landing_on_higher_ground() -> None:
    """Ground two metres above the take-off point: with the rangefinder the last metre is at the landing rate."""
    craft = CRAFT.copy()
    craft.rangefinder = 1.0

    def sink(finder: bool) -> float:
        mass = PointMass(Mode.LANDING, height=6.0)
        mass.step()
        mass.s.range_distance = 0.4 if finder else 0.0
        mass.s.height, mass.memory[Memory.CLIMB] = 2.4, -1.2
        for _ in range(60):
            mass.guide(mass.s, craft, mass.gains, mass.memory)
        return float(-mass.memory[Memory.CLIMB])

    assert sink(finder=True) == pytest.approx(GuideGain.LANDING_RATE.default, abs=1e-6)
    assert sink(finder=False) > 1.0


def test_the_way_home_rises_returns_and_lands() -> None:
    mass = PointMass(Mode.HOMING, height=4.0, HOMING_HEIGHT=12.0)
    mass.x[:2] = 20.0, -15.0
    mass._tell()
    mass.wind, mass.drag = np.array([4.0, 0.0, 0.0]), 0.2
    rows = mass.fly(
        35.0, lambda: np.array([*mass.x, *mass.v[:2], mass.s.mode_in_force, mass.memory[Memory.PHASE]])
    )
    rising = rows[rows[:, 6] == Phase.RISING]
    back = rows[rows[:, 6] == Phase.RETURNING]
    assert np.hypot(rising[:, 0] - 20.0, rising[:, 1] + 15.0).max() < 0.8
    assert -back[:, 2].max() > 11.0
    assert np.hypot(back[:, 3], back[:, 4]).max() < GuideGain.HOMING_SPEED.default + 0.6
    assert np.abs(back[:, 0] * 0.6 + back[:, 1] * 0.8).max() < 1.0  # on the line home
    assert mass.x == pytest.approx((0.0, 0.0, 0.0), abs=0.5)
    assert mass.s.armed == 0.0


def test_near_home_it_lands_at_once_and_on_the_ground_it_stays() -> None:
    mass = PointMass(Mode.HOMING, height=4.0)
    heights = mass.fly(10.0, lambda: float(-mass.x[2]))
    assert heights.max() < 4.1
    assert mass.s.armed == 0.0
    standing = PointMass(Mode.HOMING, height=0.0)
    standing.x[:2] = 50.0, 0.0
    standing._tell()
    standing.fly(5.0)
    assert standing.s.thrust_wanted == 0.0


def test_the_nose_follows_the_track_when_asked() -> None:
    mass = PointMass(Mode.WAYPOINT, ALONG_TRACK=1.0)
    mass.s.target_east = 30.0
    mass.fly(5.0)
    q = mass.s.attitude_wanted
    assert math.atan2(
        2.0 * (q[0] * q[3] + q[1] * q[2]), 1.0 - 2.0 * (q[2] ** 2 + q[3] ** 2)
    ) == pytest.approx(math.pi / 2.0, abs=0.02)


def test_a_trajectory_is_followed_within_the_delay_of_the_filter() -> None:
    """A swing of 4 m at w = 1 rad/s: acceleration comes 2 w/PLACE_FREQUENCY late, which leaves
    A w2 (2 w/PLACE_FREQUENCY) / |P - w2 + i D w| = 0.22 m (linear)."""
    mass = PointMass(Mode.TRAJECTORY, PLACE_I=0.0)
    errors = []
    for k in range(4000):
        t = 4e-3 * k
        mass.s.target_north = 4.0 * (1.0 - math.cos(t))
        mass.s.target_velocity[0], mass.s.target_acceleration[0] = 4.0 * math.sin(t), 4.0 * math.cos(t)
        mass.step()
        errors.append(abs(mass.x[0] - mass.s.target_north))
    assert max(errors[2000:]) == pytest.approx(0.22, abs=0.03)


@pytest.mark.parametrize("mode", [Mode.POSITION_HOLD, Mode.WAYPOINT, Mode.SETPOINT, Mode.HEIGHT_HOLD])
def test_a_wind_that_carries_the_craft_is_no_touch_down(mode: Mode) -> None:
    """Wind across the rotors carries 40 % of the weight: the height is held with little thrust, and the motors go on."""
    mass = PointMass(mode)
    mass.lift = 0.4 * 9.80665
    mass.fly(8.0)
    assert mass.s.thrust_wanted < 0.7 * 9.80665 * CRAFT.mass
    assert mass.s.airborne == 1.0
    assert mass.x[2] == pytest.approx(-10.0, abs=0.6)
