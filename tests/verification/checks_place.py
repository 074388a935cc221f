"""Checks of the guide's place control against closed forms; each takes the guide, so that it runs on wrong copies too."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
from point_mass import CRAFT, G0, PointMass

from controllers import Mode


def near(value: object, expected: object, atol: float) -> None:
    np.testing.assert_allclose(np.asarray(value), np.asarray(expected), rtol=0.0, atol=atol)


def _in_wind(guide: Callable, **gains: float) -> PointMass:
    """Held in a wind to the east that pulls with 1.2 m/s2 on a craft at rest."""
    mass = PointMass(Mode.POSITION_HOLD, guide=guide, dt=0.01, PLACE_P=1.5, PLACE_D=2.4, **gains)
    mass.drag, mass.wind = 0.2, np.array([0.0, 6.0, 0.0])
    return mass


def hold_in_steady_wind(guide: Callable) -> None:
    """Statics: drag a_w = 1.2 m/s2 and a = P e leave e = a_w/P = 0.8 m downwind, at a tilt of atan(a_w/g) = 6.97637 deg."""
    mass = _in_wind(guide, PLACE_I=0.0)
    mass.fly(20.0)
    near(mass.x[:2], (0.0, 0.8), 1e-4)
    near(math.degrees(mass.tilt), 6.97637, 1e-3)


def hold_in_steady_wind_with_integral(guide: Callable) -> None:
    """Statics: with an integral nothing is left, and the tilt is the same."""
    mass = _in_wind(guide, PLACE_I=0.6)
    mass.fly(36.0)
    near(mass.x[:2], (0.0, 0.0), 1e-4)
    near(math.degrees(mass.tilt), 6.97637, 1e-3)


def pushed_off_its_place(guide: Callable) -> None:
    """x'' = -P x - D x' with P = 1, D = 2: x = x0 (1 + t) exp(-t), critically damped (closed form). The filter on the
    acceleration, 60 rad/s, delays by 2/60 s: that is what the tolerance is for (simulated without it: 1e-3)."""
    mass = PointMass(
        Mode.POSITION_HOLD,
        guide=guide,
        PLACE_P=1.0,
        PLACE_D=2.0,
        PLACE_I=0.0,
        PLACE_FREQUENCY=60.0,
        JERK_MAX=300.0,
    )
    mass.fly(0.1)
    mass.x[:2] = mass.s.position[:2] = (0.6, -0.8)
    places = mass.fly(6.0, lambda: mass.x[:2].copy())
    t = 4e-3 * np.arange(1, len(places) + 1)
    expected = (1.0 + t) * np.exp(-t)
    near(places, np.outer(expected, (0.6, -0.8)), 0.035)
    near(np.hypot(*places[-1]), expected[-1], 0.004)


def circle(guide: Callable) -> None:
    """A circle of R = 6 m at w = 0.8 rad/s is flown at a bank of atan(w2 R/g) = 21.38 deg towards its middle (statics in the
    turning frame); the filter of 60 rad/s passes 1/(1 + (w/60)2) of it, 2 atan(w/60) late, within a sample of 3 mrad. Body
    rates are 2 q* q' of the attitude asked for."""
    w, radius = 0.8, 6.0
    mass = PointMass(
        Mode.TRAJECTORY, guide=guide, PLACE_I=0.0, PLACE_FREQUENCY=60.0, JERK_MAX=300.0, PLACE_TILT=1.0
    )
    s, dt, worst, before = mass.s, 4e-3, 0.0, None
    for k in range(700):
        t = k * dt
        c, n = math.cos(w * t), math.sin(w * t)
        s.target_north, s.target_east = s.position[0], s.position[1] = radius * c, radius * n
        s.target_velocity[:2] = s.velocity[:2] = -radius * w * n, radius * w * c
        s.target_acceleration[:2] = -radius * w * w * c, -radius * w * w * n
        s.target_yaw = 0.4 * t
        guide(s, CRAFT, mass.gains, mass.memory)
        s.attitude[:] = s.attitude_wanted
        if before is not None and k > 300:
            worst = max(
                worst, float(np.abs(_rates(before, s.attitude_wanted, dt) - s.rates_fed_forward).max())
            )
        before = np.array(s.attitude_wanted)
    near(
        math.degrees(mass.tilt), math.degrees(math.atan(w * w * radius / (1.0 + (w / 60.0) ** 2) / G0)), 0.02
    )
    outward = _down(s.attitude_wanted)[:2]
    lag = 2.0 * math.atan(w / 60.0)
    near(math.remainder(math.atan2(outward[1], outward[0]) - (w * 699 * dt - lag), 2.0 * math.pi), 0.0, 5e-3)
    near(worst, 0.0, 0.01)


def trajectory_climbs_as_it_leans(guide: Callable) -> None:
    """Acceleration (a, 0, -a_up) asked for: the thrust points along (a, 0, -(g + a_up)), tilt atan(a/(g + a_up)) (statics)."""
    mass = PointMass(Mode.TRAJECTORY, guide=guide)
    for _ in range(250):
        mass.s.target_acceleration[:] = 3.0, 0.0, -2.0
        mass.guide(mass.s, CRAFT, mass.gains, mass.memory)
    near(mass.tilt, math.atan(3.0 / (G0 + 2.0)), 1e-4)


def _down(q: np.ndarray) -> np.ndarray:
    w, x, y, z = q
    return np.array([2.0 * (x * z + w * y), 2.0 * (y * z - w * x), 1.0 - 2.0 * (x * x + y * y)])


def _rates(before: np.ndarray, after: np.ndarray, dt: float) -> np.ndarray:
    w = before[0] * after[0] + before[1:] @ after[1:]
    v = before[0] * after[1:] - after[0] * before[1:] - np.cross(before[1:], after[1:])
    return 2.0 * v / dt / w


CHECKS = (
    hold_in_steady_wind, hold_in_steady_wind_with_integral, pushed_off_its_place, circle, trajectory_climbs_as_it_leans,
)  # fmt: skip
