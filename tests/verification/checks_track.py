"""Checks of the guide that flies a line, against closed forms; each takes the guide, so that it runs on wrong copies too."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
from checks_place import near
from point_mass import CRAFT, G0, PointMass

from controllers import Mode

STEP = 2e-3


def line_mass(guide: Callable, dt: float = STEP, **gains: float) -> PointMass:
    """In the air, told to be where it is, heading north; nothing integrated, no lag on the rates."""
    own = {
        "PLACE_P": 1.0,
        "PLACE_D": 2.0,
        "PLACE_I": 0.0,
        "PLACE_FREQUENCY": 200.0,
        "INFLOW_LOSS": 0.0,
    } | gains
    mass = PointMass(Mode.TRAJECTORY, guide=guide, dt=dt, **own)
    mass.s.airborne = 1.0
    return mass


def circle_of_a_coordinated_turn(guide: Callable) -> None:
    """Level circle, r = 5 m at 10 m/s: bank atan(v^2/(r g)) = 63.87979 deg, thrust 2.271406 m g, and the thrust turns at
    Omega sin(bank) = 1.795745 rad/s (D. Mellinger, V. Kumar, ICRA 2011, flat map; statics of the coordinated turn).
    Feeding the turn from samples of 2 ms, smoothed over 5 ms: 0.3 %."""
    radius, speed = 5.0, 10.0
    mass, turn = line_mass(guide, TILT_MAX=1.5), speed / radius
    s = mass.s
    for k in range(300):
        c, n = math.cos(turn * k * STEP), math.sin(turn * k * STEP)
        s.target_north, s.target_east = s.position[0], s.position[1] = radius * c, radius * n
        s.target_velocity[:2] = s.velocity[:2] = -speed * n, speed * c
        s.target_acceleration[:2] = -speed * turn * c, -speed * turn * n
        guide(s, CRAFT, mass.gains, mass.memory)
        s.attitude[:] = s.attitude_wanted
    near(math.degrees(mass.tilt), 63.87979, 0.02)
    near(s.thrust_wanted / (CRAFT.mass * G0), 2.271406, 2e-3)
    near(math.hypot(s.rates_fed_forward[0], s.rates_fed_forward[1]), 1.795745, 6e-3)


def off_the_line(guide: Callable) -> None:
    """x'' = -P x - D x' with P = 1, D = 2 in all three axes: x = x0 (1 + t) exp(-t), critically damped (closed form); a sample of
    2 ms and its two runs of the guide: 3 mm of 0.4 m. The height is held by the same pull."""
    mass = line_mass(guide)
    mass.s.target_north, mass.s.target_east, mass.s.target_height = -0.3, 0.4, 10.2
    places = mass.fly(2.0, lambda: mass.x.copy())
    t = STEP * np.arange(1, len(places) + 1)
    left = (1.0 + t) * np.exp(-t)
    near(places - np.array([-0.3, 0.4, -10.2]), np.outer(left, (0.3, -0.4, 0.2)), 3e-3)


def line_in_steady_wind(guide: Callable) -> None:
    """Statics: drag of 0.6 m/s2 to the north and to the east, and 0.3 m/s2 up; with an integral nothing is left of it."""
    mass = line_mass(guide, 0.02, PLACE_P=2.0, PLACE_D=2.5, PLACE_I=1.0)
    mass.drag, mass.wind, mass.lift = 0.2, np.array([3.0, 3.0, 0.0]), 0.3
    mass.s.target_height = 10.0
    mass.fly(16.0)
    near(mass.x, (0.0, 0.0, -10.0), 4e-3)


def thrust_lost_in_a_climb(guide: Callable) -> None:
    """Upright, climbing at 4 m/s as asked: the thrust is m (g + c w sqrt(g g)) with c w = 0.2, so 1.2 m g."""
    mass = line_mass(guide, INFLOW_LOSS=0.05)
    s = mass.s
    s.velocity[2], s.climb_rate, s.target_velocity[2] = -4.0, 4.0, -4.0
    for _ in range(50):
        guide(s, CRAFT, mass.gains, mass.memory)
    near(s.thrust_wanted / (CRAFT.mass * G0), 1.2, 1e-4)


def never_beyond_its_tilt(guide: Callable) -> None:
    """Asked for 40 m/s2 to the north at a greatest tilt of 60 deg: 60 deg, by more lift."""
    mass = line_mass(guide, TILT_MAX=math.radians(60.0))
    mass.s.target_acceleration[0] = 40.0
    for _ in range(100):
        guide(mass.s, CRAFT, mass.gains, mass.memory)
        mass.s.attitude[:] = mass.s.attitude_wanted
    near(math.degrees(mass.tilt), 60.0, 0.05)


CHECKS = (
    circle_of_a_coordinated_turn, off_the_line, line_in_steady_wind, thrust_lost_in_a_climb, never_beyond_its_tilt,
)  # fmt: skip
