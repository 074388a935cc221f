"""Drag of airframe and rotors against published figures, and what a drag centre off the centre of mass does."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from hand_made import G0, body, calm, rate, smooth_map, state

from quadsim.config import load_craft, parse_craft
from quadsim.config.flight_loader import parse_flight
from quadsim.dynamics.derivative import full_derivative
from quadsim.dynamics.state import X
from quadsim.kinematics.quaternion import from_euler
from quadsim.simulation.session import Session


def test_quadratic_drag_of_a_small_quadrotor() -> None:
    """CdA 0.03265 m2, 0.389 kg at 5 m/s: 0.499953 N, 1.285227 m/s2. Chen & Bai, IFAC-PapersOnLine 55-37 (2022) 19-24,
    table 1 (coefficient second-hand)."""
    plant = body(mass=0.389)
    plant.drag_area[:], plant.gravity = 0.03265, 0.0
    for axis in range(3):
        velocity = np.zeros(3)
        velocity[axis] = 5.0
        dx = rate(full_derivative, state(velocity=velocity), plant, calm())
        expected = np.zeros(3)
        expected[axis] = -1.2852265424164526
        np.testing.assert_allclose(dx[3:6], expected, atol=1e-9)


def linear_drag(mass: float, per_mass: float) -> tuple[Any, float]:
    """A craft whose only drag is its rotors' in-plane force, `per_mass` [1/s] at the speed that carries it [rad/s]."""
    plant = body(mass=mass)
    speed = 2.0 * math.pi * math.sqrt(mass * G0 / 4.0 / (0.1 * 1.225 * 0.2**4))
    # H = CH rho n^2 D^4 with CH = slope V/(n D): four rotors give k = 4 slope rho n D^3
    slope = per_mass * mass / (4.0 * 1.225 * speed / (2.0 * math.pi) * 0.2**3)
    smooth_map(plant, (0.1, 0.0, 0.0, 0.0), (0.0,) * 4, slope)
    return plant, speed


@pytest.mark.parametrize(
    ("mass", "per_mass", "tilt_deg", "speed_at_30", "time_constant"),
    [
        (0.61, 0.5440, 15.502035874388376, 10.407852973066989, 1.838235294117647),
        (0.547, 0.153 / 0.547, 8.116288514272851, 20.24211760450718, 3.575163398692811),
    ],
)
def test_linear_rotor_drag(
    mass: float, per_mass: float, tilt_deg: float, speed_at_30: float, time_constant: float
) -> None:
    """Tilt at 5 m/s, speed at 30 deg, decay of speed at level attitude. Faessler, Franchi & Scaramuzza, IEEE RA-L 3(2) (2018),
    sec. VII-C: 0.544 1/s; Hattenberger et al. (2022): 0.153 N s/m at 0.547 kg (coefficients second-hand)."""
    plant, rotors = linear_drag(mass, per_mass)
    for tilt, speed in ((math.radians(tilt_deg), 5.0), (math.pi / 6.0, speed_at_30)):
        nose_down = from_euler(0.0, -tilt, 0.0)
        x = state(velocity=(speed, 0.0, 0.0), quaternion=nose_down, rotors=rotors)
        dx = rate(full_derivative, x, plant, calm())
        along_body_x = dx[3] * math.cos(tilt) + dx[5] * math.sin(tilt)
        assert along_body_x == pytest.approx(0.0, abs=2e-4 * G0)
    level = rate(full_derivative, state(velocity=(5.0, 0.0, 0.0), rotors=rotors), plant, calm())
    assert -5.0 / level[X.VELOCITY] == pytest.approx(time_constant, rel=1e-6)


def test_drag_above_the_centre_of_mass_lifts_the_nose() -> None:
    """D times its lever: 20 m/s, 0.02 m2, 0.05 m above the centre: 0.245 N m nose up on 0.015 kg m2 (statics)."""
    plant = body()
    plant.drag_area[0], plant.drag_centre[2] = 0.02, -0.05
    dx = rate(full_derivative, state(velocity=(20.0, 0.0, 0.0)), plant, calm())
    moment = 0.5 * 1.225 * 0.02 * 20.0**2 * 0.05
    np.testing.assert_allclose(dx[X.RATES : X.RATES + 3], (0.0, moment / 0.015, 0.0), atol=1e-9)


DASH = """
title = "Dash"
craft = "siskin"
duration_s = 5
[start]
height_m = 80
mode = "setpoint"
[[at]]
t_s = 0
pitch_deg = -40
ramp_s = 1
"""


def dashing(above_mm: float) -> Session:
    """The demo slalom craft after five seconds of dash, its drag centre moved up from its centre of mass."""
    text = load_craft("siskin").source_text
    craft = parse_craft(text)
    place = 1e3 * np.asarray(Session(craft, parse_flight(DASH)).plant.centre_of_mass)
    x, y, z = (float(value) for value in place - (0.0, 0.0, above_mm))
    session = Session(parse_craft(f"{text}\n[drag]\ncentre_mm = [{x}, {y}, {z}]\n"), parse_flight(DASH))
    session.advance(session.total_ticks)
    return session


@pytest.mark.jit
def test_a_dash_is_held_against_the_drags_moment_by_the_rotors() -> None:
    """Balance of moments in steady flight: the front rotors give way by drag times lever, against drag at the centre.

    The drag centre 40 mm above and 40 mm below: what the rotors' pitching moment differs by is 2 times 40 mm times drag.
    """
    moments, drags = [], []
    for above in (40.0, -40.0):
        session = dashing(above)
        tail = session.truth[: session.rows][-50:]
        arm = np.asarray(session.plant.rotor_position)[:, 0]
        moments.append(float(np.mean(tail["thrust"] @ arm)))
        q = tail["attitude"]
        nose_down = 2.0 * np.arctan2(-q[:, 2], q[:, 0])
        speed = np.linalg.norm(tail["velocity"], axis=1)
        ahead = tail["velocity"][:, 0] * np.cos(nose_down) + tail["velocity"][:, 2] * np.sin(nose_down)
        drags.append(0.5 * session.plant.air_density * session.plant.drag_area[0] * np.mean(speed * ahead))
    assert min(drags) > 0.5
    assert moments[1] - moments[0] == pytest.approx(0.04 * sum(drags), rel=0.1)
