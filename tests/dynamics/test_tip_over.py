"""Tipping over, lying on the ground, energy in contact: bounds of mechanics on the shipped loop and derivative."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from hand_made import G0, X_ARMS, OpenLoop, body, calm, rate, state
from hypothesis import given
from hypothesis import strategies as st

from quadsim.dynamics.derivative import full_derivative
from quadsim.dynamics.ground import kinetic_energy
from quadsim.dynamics.state import X
from quadsim.kinematics.quaternion import from_euler, rotation_matrix
from quadsim.simulation.carried import Status

MASS, HALF, LEG = 1.5, 0.1, 0.2
LIFT = math.hypot(HALF, LEG) - LEG
"""How far the centre rises until it stands over the feet of one side [m]."""
H = 2.5e-4


def on_legs(friction: float) -> Any:
    """1.5 kg on legs of 0.2 m, 0.2 m apart; hubs 0.16 m out and 0.02 m above the centre."""
    plant = body(mass=MASS)
    plant.feet[:] = [(HALF, HALF, LEG), (-HALF, HALF, LEG), (-HALF, -HALF, LEG), (HALF, -HALF, LEG)]
    plant.contact_stiffness, plant.contact_damping, plant.friction = 7000.0, 50.0, friction
    return plant


def landed(sideways: float, friction: float, seconds: float = 1.5) -> OpenLoop:
    """Set down at 0.2 m/s with the propellers stopped, moving sideways."""
    loop = OpenLoop(
        state(position=(0.0, 0.0, -LEG - 0.005), velocity=(0.0, sideways, 0.2)), on_legs(friction), H
    )
    loop.fly(seconds)
    return loop


def tilt(loop: OpenLoop) -> float:
    """Angle from level [rad]."""
    return math.acos(1.0 - 2.0 * float(loop.x[7] ** 2 + loop.x[8] ** 2))


@pytest.mark.jit
def test_a_landing_with_too_little_energy_cannot_tip_over() -> None:
    """Energy: m V^2/2 below m g times the lift of the centre over its feet; here 90 % of it, on feet that hardly slip."""
    loop = landed(math.sqrt(0.9 * 2.0 * G0 * LIFT - 0.2**2), friction=2.0)
    assert loop.status == Status.FLYING
    assert tilt(loop) < 0.01


@pytest.mark.jit
def test_a_landing_that_slides_does_not_tip_over() -> None:
    """Statics: friction below half the track over the height (0.5) has too short a lever, whatever the speed."""
    loop = landed(4.0, friction=0.3)
    assert loop.status == Status.FLYING
    assert tilt(loop) < 0.01


@pytest.mark.jit
def test_a_fast_sideways_landing_on_grippy_ground_tips_over() -> None:
    """2 m/s is nine times the energy of the lift. It rolls on to its back and rests there on its hubs (statics)."""
    loop = landed(2.0, friction=2.0, seconds=6.0)
    assert loop.status == Status.TIPPED_OVER
    assert loop.carried.value == tilt(loop) > math.radians(65.0)
    loop.carried.status = Status.FLYING
    loop.carried.lying_looks = -(10**9)
    loop.fly(4.0)
    assert tilt(loop) == pytest.approx(math.pi, abs=1e-6)
    assert loop.held.contact_force == pytest.approx(MASS * G0, rel=1e-6)


@pytest.mark.jit
def test_it_lies_on_its_side_on_feet_and_hubs() -> None:
    """Geometry: feet 0.2 m below and hubs 0.02 m above the centre, 0.06 m apart sideways: 74.7 deg; it stays so."""
    side = math.atan2(LEG + 0.02, 0.06)
    height = HALF * math.sin(side) + LEG * math.cos(side)
    x = state(position=(0.0, 0.0, 5e-4 - height), quaternion=from_euler(side, 0.0, 0.0))
    loop = OpenLoop(x, on_legs(1.0), H)
    loop.fly(0.2)
    assert loop.status == Status.TIPPED_OVER
    assert tilt(loop) == pytest.approx(side, abs=0.01)
    assert loop.carried.value == pytest.approx(side, abs=0.01)


@pytest.mark.jit
def test_tipped_over_only_after_some_time_on_the_ground() -> None:
    """300 looks; a tilt in flight does not count."""
    on_its_side = from_euler(math.radians(80.0), 0.0, 0.0)
    loop = OpenLoop(state(position=(0.0, 0.0, -0.8), quaternion=on_its_side), on_legs(0.6), H)
    loop.fly(0.3)
    assert loop.carried.lying_looks == 0
    loop.carried.touching = 1
    loop.carried.clear_looks = -(10**6)
    loop.fly(299.5 * H)
    assert loop.status == Status.FLYING
    loop.fly(3.0 * H)
    assert loop.status == Status.TIPPED_OVER


@pytest.mark.jit
@pytest.mark.parametrize(("speed", "ends"), [(45.0, Status.FLYING), (55.0, Status.PROPELLER_STRIKE)])
def test_a_propeller_that_hardly_turns_does_not_strike(speed: float, ends: Status) -> None:
    """Blades 0.1 m long with tips at 4.5 and 5.5 m/s, dipped into the ground; assumed limit 5 m/s."""
    loop = OpenLoop(state(position=(0.0, 0.0, -0.1), quaternion=from_euler(1.0, 0.0, 0.0)), on_legs(0.6), H)
    loop.x[X.ROTORS + 0] = speed  # front right, on the low side
    loop.fly(2.0 * H)
    assert loop.status == ends


def energy_rate(x: np.ndarray, plant: Any) -> tuple[float, float]:
    """Rate of all mechanical energy of a body on its springs [W], and the power that goes into the springs [W]."""
    dx = rate(full_derivative, x, plant, calm())
    turn = np.reshape(rotation_matrix(*x[6:10]), (3, 3))
    moving = MASS * x[3:6] @ dx[3:6] - MASS * G0 * x[5]
    turning = x[10:13] @ np.asarray(plant.inertia) @ dx[10:13]
    springs = 0.0
    for point in (*np.asarray(plant.feet), *X_ARMS):
        depth = x[2] + (turn @ point)[2]
        sinking = x[5] + (turn @ np.cross(x[10:13], point))[2]
        springs += plant.contact_stiffness * max(depth, 0.0) * sinking
    return float(moving + turning + springs), abs(springs)


SPEED, SPIN = st.floats(-5.0, 5.0), st.floats(-20.0, 20.0)


@given(
    st.floats(-math.pi, math.pi), st.floats(-1.5, 1.5), st.floats(-0.3, 0.05),
    st.tuples(SPEED, SPEED, SPEED), st.tuples(SPIN, SPIN, SPIN), st.floats(0.0, 2.0),
)  # fmt: skip
def test_contact_never_gives_energy(
    roll: float, pitch: float, down: float, velocity: tuple, rates: tuple, friction: float
) -> None:
    """Passivity: whatever the attitude and motion, springs keep, damper and friction take (second law)."""
    x = state((0.0, 0.0, down), velocity, from_euler(roll, pitch, 0.3), rates)
    gained, stored = energy_rate(x, on_legs(friction))
    assert gained <= 1e-9 * (1.0 + stored + MASS * G0 * 5.0)


@given(st.tuples(SPEED, SPEED, SPEED), st.tuples(SPIN, SPIN, SPIN))
def test_kinetic_energy(velocity: tuple, rates: tuple) -> None:
    """m V.V/2 + w.I w/2 by numpy, full tensor."""
    tensor = np.array([[0.010, -0.001, 0.002], [-0.001, 0.015, 0.0005], [0.002, 0.0005, 0.022]])
    plant = body(mass=MASS, inertia=tensor)
    v, w = np.array(velocity), np.array(rates)
    expected = 0.5 * MASS * v @ v + 0.5 * w @ tensor @ w
    assert kinetic_energy(state(velocity=v, rates=w), plant) == pytest.approx(expected, abs=1e-9)
