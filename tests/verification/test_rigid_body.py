"""Rigid body and spinning rotors over long times, and against MuJoCo."""

from __future__ import annotations

import math
from collections.abc import Callable

import mujoco
import numpy as np
import pytest
from checks import (
    FLIP,
    HUB_INERTIA,
    HUB_MASS,
    MULTIBODY_END,
    ROTOR_INERTIA,
    ROTOR_MASS,
    hub_and_rotors,
    near,
    rotation_of,
)
from hand_made import G0, X_ARMS, OpenLoop, body, calm, rate, smooth_map, state, travel

from quadsim.dynamics.derivative import full_derivative
from quadsim.dynamics.state import X

MIDDLE_AXIS = (0.01, 6.0, 0.01)


@pytest.mark.jit
def test_intermediate_axis_flips() -> None:
    """Flips 6.142687 s apart, the first at 3.341792 s: 2 K(m)/rate, Landau & Lifshitz, Mechanics (1976), sec. 37; 0.1 %."""
    loop, seen = OpenLoop(state(rates=MIDDLE_AXIS), body(), 1e-3), []
    for _ in range(1000):
        seen.append(loop.fly(0.01)[X.RATES + 1])
    q = np.array(seen)
    after = np.flatnonzero(q[1:] * q[:-1] < 0.0)
    flips = 0.01 * (after + 1 + q[after] / (q[after] - q[after + 1]))
    assert flips[0] == pytest.approx(3.3417922593564624, rel=5e-3)
    assert np.diff(flips) == pytest.approx([6.142687183409432] * (flips.size - 1), rel=1e-3)
    assert flips.size == 2


@pytest.mark.jit
def test_tumbling_keeps_energy_and_momentum() -> None:
    """100 s about the middle axis with 1 ms steps; bounds 1e-8 and 1e-9 of the quaternion are our choice, no source."""
    loop, rows = OpenLoop(state(rates=MIDDLE_AXIS), body(), 1e-3), []
    for _ in range(200):
        rows.append(loop.fly(0.5).copy())
    inertia, rates = np.array([0.01, 0.015, 0.022]), np.array([row[10:13] for row in rows])
    energy = 0.5 * rates**2 @ inertia
    momentum = np.array([rotation_of(row).apply(inertia * row[10:13]) for row in rows])
    lengths = np.linalg.norm([row[6:10] for row in rows], axis=1)
    assert energy == pytest.approx(0.5 * np.square(MIDDLE_AXIS) @ inertia, rel=1e-8)
    near(
        momentum / np.linalg.norm(momentum[0]),
        np.tile(momentum[0] / np.linalg.norm(momentum[0]), (200, 1)),
        1e-8,
    )
    near(lengths, np.ones(200), 1e-9)


def multibody(gravity: float = G0) -> mujoco.MjModel:
    """MuJoCo: a hub with four rotors on hinges along z up, in forward-left-up axes, in our order of rotors."""
    rotors = "".join(
        f'<body pos="{x} {-y} {-z}"><joint type="hinge" axis="0 0 1"/><inertial pos="0 0 0" mass="{ROTOR_MASS}" '
        f'diaginertia="{ROTOR_INERTIA[0]} {ROTOR_INERTIA[1]} {ROTOR_INERTIA[2]}"/></body>'
        for x, y, z in X_ARMS
    )
    inertia = " ".join(map(str, HUB_INERTIA))
    return mujoco.MjModel.from_xml_string(
        f'<mujoco><option integrator="RK4" timestep="0.0005" gravity="0 0 {-gravity}"/><worldbody><body><freejoint/>'
        f'<inertial pos="0 0 0" mass="{HUB_MASS}" diaginertia="{inertia}"/>{rotors}</body></worldbody></mujoco>'
    )


SPINS = np.array([1.0, -1.0, 1.0, -1.0])
"""Clockwise seen from above is negative about z up."""


def fly_multibody(seconds: float, rates: np.ndarray, speeds: np.ndarray, act: Callable) -> mujoco.MjData:
    """MuJoCo's state after a time; `act(model, data)` writes generalised forces at every stage of its stepper."""
    model = multibody()
    data = mujoco.MjData(model)
    data.qvel[3:6], data.qvel[6:10] = rates, -SPINS * speeds
    mujoco.set_mjcb_passive(act)
    try:
        for _ in range(round(seconds / model.opt.timestep)):
            mujoco.mj_step(model, data)
    finally:
        mujoco.set_mjcb_passive(None)
    return data


def test_multibody_table_is_what_mujoco_says() -> None:
    """The table that the derivative is checked against (checks.spinning_rotors_as_bodies), by the MuJoCo installed here."""

    def act(model: mujoco.MjModel, data: mujoco.MjData) -> None:
        up = data.xmat[1].reshape(3, 3)[:, 2]
        mujoco.mj_applyFT(model, data, 12.0 * up, np.zeros(3), data.subtree_com[1], 1, data.qfrc_passive)

    data = fly_multibody(2.0, np.array([1.0, -0.5, 0.8]), np.array([580.0, 600.0, 560.0, 620.0]), act)
    place, quaternion, turning = MULTIBODY_END
    near(data.qpos[0:3], place, 2e-5)
    near(data.qpos[3:7] * np.sign(data.qpos[3]), quaternion, 2e-6)
    near(data.qvel[3:6], turning, 2e-6)


def test_driven_rotors_against_mujoco() -> None:
    """Rotors with thrust and torque of the air and electric motors, all coupled, for 0.5 s: MuJoCo with the same forces.

    T = 3e-6 w^2, Q = 5e-8 w^2, motor torque kt ((u V - kt w)/R - i0), four different duties; nothing is copied from the
    plant. Tolerance: MuJoCo's 0.5 ms RK4 and its hinge angles of 300 rad leave 1e-7.
    """
    plant, centre = hub_and_rotors()
    k_thrust, k_torque, kt, resistance, no_load = 3e-6, 5e-8, 0.012, 0.15, 0.4
    area = 1.225 * 0.2**4 / (2.0 * math.pi) ** 2
    smooth_map(
        plant, (k_thrust / area, 0.0, 0.0, 0.0), (k_torque / area / 0.2 * 2.0 * math.pi, 0.0, 0.0, 0.0)
    )
    plant.torque_constant, plant.motor_resistance, plant.no_load_current, plant.braking = (
        kt,
        resistance,
        no_load,
        1.0,
    )
    plant.cells, plant.full_cell_voltage = 1.0, 14.0
    duty, speeds = np.array([0.75, 0.7, 0.8, 0.65]), np.array([580.0, 600.0, 560.0, 620.0])

    def act(model: mujoco.MjModel, data: mujoco.MjData) -> None:
        for rotor in range(4):
            up, relative = data.xmat[2 + rotor].reshape(3, 3)[:, 2], -SPINS[rotor] * data.qvel[6 + rotor]
            thrust, torque = k_thrust * relative**2 * up, SPINS[rotor] * k_torque * relative**2 * up
            mujoco.mj_applyFT(model, data, thrust, torque, data.xpos[2 + rotor], 2 + rotor, data.qfrc_passive)
            motor = kt * ((duty[rotor] * 14.0 - kt * relative) / resistance - no_load)
            data.qfrc_passive[6 + rotor] += -SPINS[rotor] * motor

    rates = np.array([0.5, -0.3, 0.8])
    data = fly_multibody(0.5, rates, speeds, act)
    ours = FLIP * rates
    start = state(position=centre, velocity=np.cross(ours, centre), rates=ours, rotors=speeds)
    start[2] -= 1000.0
    x = travel(full_derivative, start, plant, calm(duty=duty), 0.5)[-1]
    near(x[0:3] - rotation_of(x).apply(centre) + (0.0, 0.0, 1000.0), FLIP * data.qpos[0:3], 1e-6)
    near(x[6:10], np.array([data.qpos[3], *(FLIP * data.qpos[4:7])]), 1e-6)
    near(x[10:13], FLIP * data.qvel[3:6], 1e-6)
    near(x[16:20], -SPINS * data.qvel[6:10], 1e-3)


def test_rotor_energy_is_the_work_of_its_torques() -> None:
    """Power balance of the whole plant: d(kinetic + potential)/dt is motor work less rotor drag plus thrust's work."""
    plant, _ = hub_and_rotors()
    smooth_map(plant, (0.1, -0.05, 0.0, 0.0), (0.05, 0.0, 0.02, 0.0), 0.03)
    plant.cells, plant.full_cell_voltage, plant.braking = 1.0, 14.0, 1.0
    held = calm(duty=(0.75, 0.7, 0.8, 0.65))
    x = state(velocity=(3.0, -1.0, 2.0), rates=(2.0, 1.0, -3.0), rotors=(580.0, 600.0, 560.0, 620.0))
    dx = rate(full_derivative, x, plant, held)
    inertia, rotor, w, speeds = np.asarray(plant.inertia), ROTOR_INERTIA[2], x[10:13], x[16:20]
    spins = np.asarray(plant.spin)
    stored = spins @ speeds * rotor
    # T = m v^2/2 + w I w/2 + w_z sum(s Jr o) + sum(Jr o^2)/2 for rotors turning with o relative to the body
    gained = (
        plant.mass * x[3:6] @ dx[3:6] + w @ inertia @ dx[10:13] + stored * dx[12] + w[2] * rotor * spins @ dx[16:20]
        + rotor * speeds @ dx[16:20] - plant.mass * G0 * dx[2]
    )  # fmt: skip
    drive, air = np.asarray(held.motor_torque), np.asarray(held.rotor_torque)
    thrust = np.asarray(held.thrust)
    worked = drive @ speeds - air @ (speeds + spins * w[2])
    for i, arm in enumerate(np.asarray(plant.rotor_position)):
        hub = x[3:6] + np.cross(w, arm)
        n = speeds[i] / (2.0 * math.pi)
        worked += -thrust[i] * hub[2] - 1.225 * n * 0.2**3 * 0.03 * (hub[0] ** 2 + hub[1] ** 2)
    assert gained == pytest.approx(worked, rel=1e-9)
