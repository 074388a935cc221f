"""The rotor as the loop sees it: the patch of the map against scipy's interpolation of the same grid, everywhere."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.interpolate import RegularGridInterpolator

from controllers.signals import rows
from quadsim.config import load_craft, resolve_plant
from quadsim.dynamics.derivative import full_derivative, refresh_held
from quadsim.dynamics.records import HELD
from quadsim.dynamics.rotor_map import AXIAL_MAX, AXIAL_MIN, INPLANE_MAX, N_AXIAL, N_INPLANE
from quadsim.dynamics.state import SIZE, X
from quadsim.environment.atmosphere import Site

PLANT = resolve_plant(load_craft("siskin"), Site())
AXES = np.linspace(AXIAL_MIN, AXIAL_MAX, N_AXIAL), np.linspace(0.0, INPLANE_MAX, N_INPLANE)
GRID = RegularGridInterpolator(AXES, np.asarray(PLANT.rotor_map))
TREND = RegularGridInterpolator(AXES, np.asarray(PLANT.rotor_trend))


def from_the_grid(omega, axial, inplane):
    """Thrust of the free rotor [N], torque [N m], in-plane drag [N] and hub moments [N m]: CT rho n^2 D^4 and so on, the map held
    at its edges."""
    n, d, rho = omega / (2.0 * math.pi), 2.0 * float(PLANT.rotor_radius), float(PLANT.air_density)
    j = np.clip(axial / (n * d), AXIAL_MIN, AXIAL_MAX), np.clip(inplane / (n * d), 0.0, INPLANE_MAX)
    trend = np.clip(np.log(omega / float(PLANT.map_speed)), -math.log(4.0), math.log(4.0))
    ct, cp, ch, cmr, cmp = np.ravel(GRID(j)) + trend * np.ravel(TREND(j))
    force = rho * n**2 * d**4
    return ct * force, cp * force * d / (2.0 * math.pi), ch * force, cmr * force * d, cmp * force * d


def in_the_loop(omega, axial, inplane):
    """The same by the derivative, for a craft with one turning rotor that moves ahead through still air."""
    plant = PLANT.copy()
    plant.drag_area[:], plant.slipstream_drag = 0.0, 0.0
    x, held, dx = np.zeros(SIZE), rows(HELD)[0], np.zeros(SIZE)
    held.thrust_factor[0] = held.torque_factor[0] = 1.0
    held.turning[:], held.duty[:] = 1.0, -1.0
    x[X.POSITION + 2], x[X.QUATERNION], x[X.CHARGE] = -100.0, 1.0, 1.0
    x[X.ROTORS] = omega
    x[X.VELOCITY], x[X.VELOCITY + 2] = inplane, -axial
    moment, gain = wrench_moment(x, held, plant, dx)
    thrust, drag = float(held.thrust[0]), -float(held.force[0])
    at = np.asarray(plant.rotor_position[0])
    hub = moment - np.cross(at, (-drag, 0.0, -thrust))
    return thrust / gain, float(held.rotor_torque[0]), drag, float(hub[0]), float(hub[1])


def wrench_moment(x, held, plant, dx):
    """Moment of all forces about the centre of mass (3,) [N m] from the angular acceleration at rest, and the thrust's gain."""
    full_derivative(0.0, x, held, plant, dx)
    moment = np.linalg.solve(np.asarray(plant.inertia_inverse), dx[X.RATES : X.RATES + 3])
    return moment, float(held.thrust_gain[0])


@settings(max_examples=150, deadline=None)
@given(st.floats(150.0, 3000.0), st.floats(-25.0, 45.0), st.floats(0.0, 50.0))
def test_wrench_is_that_of_the_map(omega, axial, inplane):
    assert in_the_loop(omega, axial, inplane) == pytest.approx(
        from_the_grid(omega, axial, inplane), rel=1e-8, abs=1e-9 * max(1.0, omega**2 * 1e-6)
    )


@pytest.mark.parametrize("axial", [AXIAL_MIN - 0.3, AXIAL_MIN, 0.0, 0.31, AXIAL_MAX, AXIAL_MAX + 0.5])
@pytest.mark.parametrize("inplane", [0.0, 0.069, 0.5, INPLANE_MAX, INPLANE_MAX + 1.0])
def test_edges_of_the_map_hold(axial, inplane):
    omega = 1500.0
    nd = omega / (2.0 * math.pi) * 2.0 * float(PLANT.rotor_radius)
    assert in_the_loop(omega, axial * nd, inplane * nd) == pytest.approx(
        from_the_grid(omega, axial * nd, inplane * nd), rel=1e-8, abs=1e-9
    )


def test_a_rotor_at_rest_gives_next_to_nothing_at_any_airspeed():
    for axial, inplane in ((0.0, 0.0), (20.0, 30.0), (-15.0, 5.0)):
        assert in_the_loop(0.0, axial, inplane) == pytest.approx((0.0,) * 5, abs=1e-6)


def refreshed(held, inplane, ahead):
    """The first rotor's slopes of in-plane force and hub moments, and its thrust gain, after a refresh at a speed ahead [m/s]."""
    x = np.zeros(SIZE)
    x[X.POSITION + 2], x[X.QUATERNION], x[X.CHARGE] = -100.0, 1.0, 1.0
    x[X.ROTORS : X.ROTORS + 4], x[X.VELOCITY] = 1400.0, inplane
    refresh_held(x, ahead, held, PLANT)
    return [*np.array(held.patch[8:11, 0]), float(held.thrust_gain[0])]


def test_what_is_held_is_taken_for_the_middle_of_its_time():
    held, still = rows(HELD)[0], rows(HELD)[0]
    for one in (held, still):
        one.thrust_factor[:] = one.torque_factor[:] = 1.0
        one.turning[:] = PLANT.spin
    assert refreshed(held, 5.0, 0.5) == pytest.approx(
        refreshed(still, 5.0, 0.0), rel=1e-12
    )  # nothing before it yet
    assert refreshed(held, 6.0, 0.5) == pytest.approx(refreshed(still, 6.5, 0.0), rel=1e-9)
    refreshed(held, 12.0, 0.0)  # as while it tumbles: the present, and the line goes on from there
    assert refreshed(held, 13.0, 0.5) == pytest.approx(refreshed(still, 13.5, 0.0), rel=1e-9)
