"""The rotor as the loop sees it: the patch of the map against scipy's interpolation of the same grid, everywhere."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.interpolate import RegularGridInterpolator

from controllers.signals import rows
from quadsim.config import load_craft, resolve_plant
from quadsim.dynamics.derivative import full_derivative
from quadsim.dynamics.records import HELD
from quadsim.dynamics.rotor_map import AXIAL_MAX, AXIAL_MIN, INPLANE_MAX, N_AXIAL, N_INPLANE
from quadsim.dynamics.state import SIZE, X
from quadsim.environment.atmosphere import Site

PLANT = resolve_plant(load_craft("siskin"), Site())
AXES = np.linspace(AXIAL_MIN, AXIAL_MAX, N_AXIAL), np.linspace(0.0, INPLANE_MAX, N_INPLANE)
GRID = RegularGridInterpolator(AXES, np.asarray(PLANT.rotor_map))


def from_the_grid(omega, axial, inplane):
    """Thrust [N], torque [N m] and in-plane drag [N]: CT rho n^2 D^4 and so on, the map held at its edges."""
    n, d, rho = omega / (2.0 * math.pi), 2.0 * float(PLANT.rotor_radius), float(PLANT.air_density)
    j = np.clip(axial / (n * d), AXIAL_MIN, AXIAL_MAX), np.clip(inplane / (n * d), 0.0, INPLANE_MAX)
    ct, cp, ch = np.ravel(GRID(j))
    thrust = ct * rho * n**2 * d**4 * (1.0 - float(PLANT.installed_loss))
    return thrust, cp * rho * n**2 * d**5 / (2.0 * math.pi), ch * rho * n**2 * d**4


def in_the_loop(omega, axial, inplane):
    """The same by the derivative, for a craft that moves through still air without turning."""
    x, held, dx = np.zeros(SIZE), rows(HELD)[0], np.zeros(SIZE)
    held.thrust_factor[:] = held.torque_factor[:] = 1.0
    held.turning[:], held.duty[:] = PLANT.spin, 0.3
    x[X.POSITION + 2], x[X.QUATERNION], x[X.CHARGE] = -100.0, 1.0, 1.0
    x[X.ROTORS : X.ROTORS + 4] = omega
    x[X.VELOCITY], x[X.VELOCITY + 2] = inplane, -axial
    full_derivative(0.0, x, held, PLANT, dx)
    speed = math.hypot(inplane, axial)
    airframe = 0.5 * float(PLANT.air_density) * float(PLANT.drag_area[0]) * speed * inplane
    return float(held.thrust[0]), float(held.rotor_torque[0]), (-float(held.force[0]) - airframe) / 4.0


@settings(max_examples=150, deadline=None)
@given(st.floats(150.0, 3000.0), st.floats(-25.0, 45.0), st.floats(0.0, 50.0))
def test_thrust_torque_and_drag_are_those_of_the_map(omega, axial, inplane):
    thrust, torque, drag = from_the_grid(omega, axial, inplane)
    assert in_the_loop(omega, axial, inplane) == pytest.approx(
        (thrust, torque, drag), rel=1e-9, abs=1e-9 * max(1.0, omega**2 * 1e-6)
    )


@pytest.mark.parametrize("axial", [AXIAL_MIN - 0.3, AXIAL_MIN, 0.0, 0.31, AXIAL_MAX, AXIAL_MAX + 0.5])
@pytest.mark.parametrize("inplane", [0.0, 0.069, 0.5, INPLANE_MAX, INPLANE_MAX + 1.0])
def test_edges_of_the_map_hold(axial, inplane):
    omega = 1500.0
    nd = omega / (2.0 * math.pi) * 2.0 * float(PLANT.rotor_radius)
    assert in_the_loop(omega, axial * nd, inplane * nd) == pytest.approx(
        from_the_grid(omega, axial * nd, inplane * nd), rel=1e-9, abs=1e-9
    )


def test_a_rotor_at_rest_gives_next_to_nothing_at_any_airspeed():
    for axial, inplane in ((0.0, 0.0), (20.0, 30.0), (-15.0, 5.0)):
        assert in_the_loop(0.0, axial, inplane) == pytest.approx((0.0, 0.0, 0.0), abs=1e-6)
