"""Place control and trajectories against closed forms; wrong copies of the guide are noticed."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
from checks_place import CHECKS
from mutants_place import MUTANTS, PlaceMutant, plain_guide
from point_mass import PointMass

from controllers import Mode
from controllers.guide_position import speed_before_stop
from controllers.navigation import navigation
from quadsim.config.trajectory import make_trajectory


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.__name__)
def test_check_passes_on_the_shipped_guide(check: Callable) -> None:
    check(navigation)


@pytest.mark.jit
@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.__name__)
def test_check_passes_on_the_plain_source(check: Callable) -> None:
    check(plain_guide())


@pytest.mark.jit
@pytest.mark.parametrize("mutant", MUTANTS, ids=lambda mutant: mutant.wrong)
def test_mutant_is_noticed(mutant: PlaceMutant) -> None:
    with pytest.raises(AssertionError, match="Not equal to tolerance"):
        mutant.check(mutant.guide())


def test_speed_before_a_stop() -> None:
    """Kinematics, v dv/dd = a: under constant braking the square of the speed falls by 2 a per metre; at the end v = d."""
    far = np.linspace(4.0, 30.0, 27)
    squares = np.array([speed_before_stop(d, 100.0, 2.0) ** 2 for d in far])
    assert np.diff(squares) == pytest.approx(2.0 * 2.0 * np.diff(far), rel=1e-12)
    assert speed_before_stop(30.0, 4.0, 2.0) == 4.0
    assert speed_before_stop(0.5, 4.0, 2.0) == pytest.approx(0.5, rel=1e-12)
    assert speed_before_stop(2.0 - 1e-9, 100.0, 2.0) == pytest.approx(
        speed_before_stop(2.0, 100.0, 2.0), rel=1e-6
    )


def test_path_through_two_rows_is_the_path_of_least_jerk() -> None:
    """T. Flash, N. Hogan, The coordination of arm movements, J. Neuroscience 5(7), 1985, p. 1690:
    x = D (10 s^3 - 15 s^4 + 6 s^5), s = t/T; greatest speed 1.875 D/T, greatest acceleration 10/sqrt(3) D/T2 (from memory)."""
    path = make_trajectory(np.array([[2.0, 0.0, 5.0, 3.0], [6.0, 8.0, 5.0, 1.0]]))
    times = np.linspace(2.0, 6.0, 4001)
    place, velocity, acceleration = path.at(times)
    s = (times - 2.0) / 4.0
    shape = 10.0 * s**3 - 15.0 * s**4 + 6.0 * s**5
    assert place[:, 0] == pytest.approx(8.0 * shape, abs=1e-9)
    assert place[:, 2] == pytest.approx(3.0 - 2.0 * shape, abs=1e-9)
    assert velocity[:, 0].max() == pytest.approx(1.875 * 8.0 / 4.0, rel=1e-6)
    assert velocity[:, 2].max() == pytest.approx(1.875 * 2.0 / 4.0, rel=1e-6)  # sinking counts positive
    assert acceleration[:, 0].max() == pytest.approx(10.0 / math.sqrt(3.0) * 8.0 / 16.0, rel=1e-6)


def test_waypoint_is_reached_straight_and_without_overshoot() -> None:
    """40 m to the north-east at 4 m/s, 2.5 m/s2 up and 2 m/s2 down (kinematics): 1.6 s and 3.2 m to speed, 31.8 m at speed,
    1 s and 3 m down to 2 m/s, then 2 exp(-t) metres are left: ln 2 s later 1 m."""
    mass = PointMass(Mode.WAYPOINT)
    mass.s.target_north, mass.s.target_east = 24.0, 32.0
    places = mass.fly(25.0, lambda: np.array([*mass.x[:2], *mass.v[:2]]))
    along, across = places[:, :2] @ (0.6, 0.8), places[:, :2] @ (-0.8, 0.6)
    assert np.abs(across).max() < 0.01
    assert along.max() < 40.01
    assert along[-1] == pytest.approx(40.0, abs=0.01)
    assert np.hypot(places[:, 2], places[:, 3]).max() < 4.4
    one_metre_left = 1.6 + 31.8 / 4.0 + 1.0 + math.log(2.0)
    assert 4e-3 * np.argmax(along > 39.0) == pytest.approx(one_metre_left, abs=0.1)
