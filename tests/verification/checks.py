"""Checks of the plant's derivative against values from outside; each takes the derivative function as its argument.

So the same check runs on the shipped kernel (it must pass) and on wrong copies of its source (it must fail).
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
from hand_made import G0, OFF, X_ARMS, body, calm, rate, set_inertia, smooth_map, state, travel
from scipy.spatial.transform import Rotation

from quadsim.dynamics.state import X

RATES, ROTORS = slice(X.RATES, X.RATES + 3), slice(X.ROTORS, X.ROTORS + 4)
VELOCITY, QUATERNION = slice(X.VELOCITY, X.VELOCITY + 3), slice(X.QUATERNION, X.QUATERNION + 4)
RIGHT, DOWN, AHEAD = 1, 2, 0
TUMBLE = ((0.01, 0.015, 0.022), (2.0, 0.0, 5.0))
"""Inertia [kg m2] and rates [rad/s] of the body of RB-01."""
SPINS = np.array([1.0, -1.0, 1.0, -1.0])


def near(value: object, expected: object, atol: float) -> None:
    np.testing.assert_allclose(np.asarray(value), np.asarray(expected), rtol=0.0, atol=atol)


def rotation_of(x: np.ndarray) -> Rotation:
    return Rotation.from_quat(np.roll(x[QUATERNION], -1))


def tumbling_body(f: Callable) -> None:
    """Jacobi elliptic functions: Landau & Lifshitz, Mechanics, 3rd ed. (1976), sec. 37; agreed by DOP853."""
    inertia, rates = TUMBLE
    x = travel(f, state(rates=rates), body(inertia=inertia), calm(), 1.0)[-1]
    near(x[RATES], (-1.6980964560719056, -1.12958572728541, 4.963618664980111), 1e-6)


def momentum_stays(f: Callable) -> None:
    """A body left alone keeps its angular momentum vector in the world, its energy and the length of its quaternion."""
    inertia, rates = TUMBLE
    x = travel(f, state(rates=rates), body(inertia=inertia), calm(), np.linspace(0.0, 1.0, 9))
    momentum = np.array([rotation_of(row).apply(np.array(inertia) * row[RATES]) for row in x])
    energy = 0.5 * x[:, RATES] ** 2 @ np.array(inertia)
    near(momentum, np.tile(momentum[0], (9, 1)), 1e-8)
    near(energy, np.full(9, energy[0]), 1e-8)
    near(np.linalg.norm(x[:, QUATERNION], axis=1), np.ones(9), 1e-8)


def full_tensor(f: Callable) -> None:
    """A body described in turned axes moves the same: I' = R I R^T, w' = R w (tensor rule)."""
    inertia, rates = TUMBLE
    turned = Rotation.from_euler("zyx", (0.4, -0.7, 1.1))
    matrix = turned.as_matrix()
    plant = body(inertia=matrix @ np.diag(inertia) @ matrix.T)
    x = travel(f, state(rates=turned.apply(rates)), plant, calm(), 1.0)[-1]
    near(turned.inv().apply(x[RATES]), (-1.6980964560719056, -1.12958572728541, 4.963618664980111), 1e-6)


def torque_from_outside(f: Callable) -> None:
    """A body at rest under a torque: dw/dt = I^-1 M (Euler's equation, Landau & Lifshitz, Mechanics, sec. 36)."""
    held = calm()
    held.outside_torque[:] = 0.02, -0.03, 0.08
    near(rate(f, state(), body(inertia=(0.01, 0.015, 0.02)), held)[RATES], (2.0, -2.0, 4.0), 1e-9)


def symmetric_top(f: Callable) -> None:
    """Nutation at 6 rad/s in the body, precession at 14.0089257 rad/s about H: Goldstein, Classical Mechanics, sec. 5.6."""
    times = np.linspace(0.0, 0.3, 4)
    x = travel(f, state(rates=(0.5, 0.0, 8.0)), body(inertia=(0.02, 0.02, 0.035)), calm(), times)
    near(np.unwrap(np.arctan2(x[:, X.RATES + 1], x[:, X.RATES])), 6.0 * times, 1e-6)
    momentum = np.array([0.01, 0.0, 0.28])
    along = momentum / np.linalg.norm(momentum)
    for t, row in zip(times, x, strict=True):
        axis = rotation_of(row).apply((0.0, 0.0, 1.0))
        near(math.degrees(math.acos(axis @ along)), 2.0454084888872277, 1e-5)
        expected = Rotation.from_rotvec(14.008925726121902 * t * along).apply((0.0, 0.0, 1.0))
        near(axis, expected, 1e-6)


def constant_rate(f: Callable) -> None:
    """Rotation-vector exponential, Shuster (1993): (0.3, -0.4, 1.2) rad/s for 5 s; value by scipy's Rotation."""
    x = travel(f, state(rates=(0.3, -0.4, 1.2)), body(inertia=(0.01, 0.01, 0.01)), calm(), 5.0)[-1]
    expected = np.array([0.9941296760805463, 0.02496810796848655, -0.03329081062464873, 0.0998724318739462])
    near(x[QUATERNION] * np.sign(x[QUATERNION] @ expected), expected, 1e-6)


def free_fall(f: Callable) -> None:
    """20 m in vacuum: 2.01961998 s, then 19.8057062 m/s; elementary mechanics with g0 of ISO 80000-3."""
    x = travel(f, state(), body(), calm(), 2.0196199771025523)[-1]
    near(x[2] + 1000.0, 20.0, 1e-6)
    near(x[VELOCITY], (0.0, 0.0, 19.80570624845274), 1e-6)


def fall_with_drag(f: Callable) -> None:
    """v = vt tanh(g t/vt): Timmerman & van der Weele, Am. J. Phys. 67 (1999) 538; 1.2 kg, CdA 0.05 m2."""
    plant = body(mass=1.2)
    plant.drag_area[:] = (0.0, 0.0, 0.05)
    x = travel(f, state(), plant, calm(), (1.0, 3.0))
    near(x[:, 5], (9.062902366487084, 17.746135415452038), 1e-6)
    near(x[:, 2] + 1000.0, (4.711486688687529, 33.548423900040405), 1e-6)


def drag_at_its_centre(f: Callable) -> None:
    """F = -rho/2 A |V| V with V = v + w x c, moment c x F: vector algebra by numpy, airspeed relative to the wind."""
    plant, centre, area = body(), np.array([0.02, -0.03, 0.05]), np.array([0.01, 0.02, 0.03])
    plant.drag_area[:], plant.drag_centre[:], plant.gravity = area, centre, 0.0
    rates, wind = np.array([1.0, 2.0, -1.5]), np.array([2.0, -1.0, 0.5])
    attitude = Rotation.from_euler("zyx", (0.5, 0.3, -0.4))
    velocity = np.array([8.0, -5.0, 3.0])
    x = state(velocity=velocity, quaternion=np.roll(attitude.as_quat(), 1), rates=rates)
    dx = rate(f, x, plant, calm(wind=wind))
    through = attitude.inv().apply(velocity - wind) + np.cross(rates, centre)
    force = -0.5 * 1.225 * area * np.linalg.norm(through) * through
    near(dx[VELOCITY], attitude.apply(force), 1e-9)
    inertia = np.array(TUMBLE[0])
    moment = np.cross(centre, force) - np.cross(rates, inertia * rates)
    near(dx[RATES], moment / inertia, 1e-9)


def rotor_gyroscopic_moment(f: Callable) -> None:
    """-w x h: Jr 6e-5 kg m2, signed speeds +200 rad/s about body z, p = 3 rad/s: +0.036 N m about y (Bouabdallah 2007)."""
    plant = body(rotor_inertia=6e-5)
    dx = rate(f, state(rates=(3.0, 0.0, 0.0), rotors=(300.0, 250.0, 350.0, 200.0)), plant, calm())
    near(dx[RATES] * np.diag(plant.inertia), (0.0, 0.036, 0.0), 1e-9)


def yaw_reaction_to_rotor_acceleration(f: Callable) -> None:
    """One rotor, counter-clockwise seen from above, gains 2000 rad/s2: 0.12 N m clockwise on the rest (momentum balance)."""
    plant = body(rotor_inertia=6e-5)
    plant.torque_constant, plant.motor_resistance, plant.current_limit = (
        0.01,
        1e-3,
        12.0,
    )  # the limit fixes the torque
    dx = rate(f, state(), plant, calm(duty=(OFF, 1.0, OFF, OFF)))
    yaw = dx[X.RATES + 2]
    near(
        dx[X.ROTORS + 1] - yaw, 2000.0, 1e-7
    )  # counter-clockwise rotor: its own speed less the body's clockwise rate
    near((0.022 - 4.0 * 6e-5) * yaw, 0.12, 1e-9)


def reaction_of_a_steady_rotor(f: Callable) -> None:
    """A rotor held at speed against the air's torque Q turns the craft the other way with Q: action and reaction."""
    plant = body(rotor_inertia=6e-5)
    smooth_map(plant, (0.0,) * 4, (0.05, 0.0, 0.0, 0.0))
    n, diameter = 500.0 / (2.0 * math.pi), 0.2
    torque = (
        0.05 * 1.225 * n**2 * diameter**5 / (2.0 * math.pi)
    )  # Q = CP rho n^2 D^5/(2 pi), Selig & Ananda UIUC 15-01
    plant.torque_constant, plant.motor_resistance, plant.current_limit = 0.01, 1e-3, torque / 0.01
    for turning, sign in ((0, -1.0), (1, 1.0)):  # front right turns clockwise, rear right counter-clockwise
        rotors, duty = np.zeros(4), np.full(4, OFF)
        rotors[turning], duty[turning] = 500.0, 1.0
        dx = rate(f, state(rotors=rotors), plant, calm(duty=duty))
        near((0.022 - 4.0 * 6e-5) * dx[X.RATES + 2], sign * torque, 1e-12)


def thrust_turns_the_right_way(f: Callable) -> None:
    """Statics: more thrust front right rolls left (negative) and pitches up; thrust goes along minus body z, T = CT rho n2 D4."""
    plant = body(mass=1.5)
    smooth_map(plant, (0.1, 0.0, 0.0, 0.0), (0.0,) * 4)
    plant.installed_loss = 0.1
    thrust = 0.9 * 0.1 * 1.225 * (500.0 / (2.0 * math.pi)) ** 2 * 0.2**4
    for rotor, (roll, pitch) in enumerate(((-1, 1), (-1, -1), (1, -1), (1, 1))):
        rotors = np.zeros(4)
        rotors[rotor] = 500.0
        dx = rate(f, state(rotors=rotors), plant, calm())
        near(dx[RATES] * np.diag(plant.inertia), (roll * 0.16 * thrust, pitch * 0.16 * thrust, 0.0), 1e-9)
        near(dx[VELOCITY], (0.0, 0.0, G0 - thrust / 1.5), 1e-9)


def tilted_thrust_accelerates_sideways(f: Callable) -> None:
    """A bank of 30 deg to the right pulls east with T sin 30, heading north (ISO 1151-1); 36.287 deg holds a 20 m turn at 12 m/s.

    tan(bank) = V^2/(g R), thrust/weight 1.24058: Anderson, Introduction to Flight, ch. 6.
    """
    plant = body(mass=1.5)
    smooth_map(plant, (0.1, 0.0, 0.0, 0.0), (0.0,) * 4)
    thrust = 1.2405818339622778 * 1.5 * G0
    speed = 2.0 * math.pi * math.sqrt(thrust / 4.0 / (0.1 * 1.225 * 0.2**4))
    bank = math.radians(36.28595429466602)
    x = state(quaternion=(math.cos(bank / 2), math.sin(bank / 2), 0.0, 0.0), rotors=speed)
    near(rate(f, x, plant, calm())[VELOCITY], (0.0, 12.0**2 / 20.0, 0.0), 1e-6)
    nose_up = state(quaternion=(math.cos(0.1), 0.0, math.sin(0.1), 0.0), rotors=speed)
    near(rate(f, nose_up, plant, calm())[X.VELOCITY], -thrust / 1.5 * math.sin(0.2), 1e-6)


def rotor_wrench_in_motion(f: Callable) -> None:
    """All rotor forces of a moving, turning craft by numpy: hub velocity v + w x r, T = CT rho n2 D4, H = CH rho n2 D4, hub
    moments CM rho n2 D5 along the motion (by the sense of rotation) and across it, and k sqrt(T) v from the slipstream."""
    plant = body()
    smooth_map(plant, (0.1, -0.08, 0.03, 0.02), (0.05, 0.01, -0.02, 0.03), 0.04, (0.07, 0.05))
    plant.gravity, plant.slipstream_drag = 0.0, 0.01
    speeds = np.array([500.0, 620.0, 560.0, 480.0])
    rates, through = np.array([2.0, -1.0, 3.0]), np.array([6.0, -3.0, 1.5])
    held = calm()
    dx = rate(f, state(velocity=through, rates=rates, rotors=speeds), plant, held)
    force, moment, torque = np.zeros(3), np.zeros(3), np.zeros(4)
    for i, (arm, speed) in enumerate(zip(X_ARMS, speeds, strict=True)):
        hub = through + np.cross(rates, arm)
        n, flow = speed / (2.0 * math.pi), np.hypot(hub[0], hub[1])
        axial, inplane, scale = -hub[2] / (n * 0.2), flow / (n * 0.2), 1.225 * n**2 * 0.2**4
        thrust = scale * (0.1 - 0.08 * axial + 0.03 * inplane + 0.02 * axial * inplane)
        drag = scale * 0.04 * inplane + 0.01 * math.sqrt(thrust) * flow
        hub_moment = (
            scale
            * 0.2
            * inplane
            / flow
            * np.array(
                [0.07 * SPINS[i] * hub[0] - 0.05 * hub[1], 0.07 * SPINS[i] * hub[1] + 0.05 * hub[0], 0.0]
            )
        )
        here = np.array([-drag * hub[0] / flow, -drag * hub[1] / flow, -thrust])
        force, moment = force + here, moment + np.cross(arm, here) + hub_moment
        torque[i] = (
            scale * 0.2 / (2.0 * math.pi) * (0.05 + 0.01 * axial - 0.02 * inplane + 0.03 * axial * inplane)
        )
    inertia = np.array(TUMBLE[0])
    near(dx[VELOCITY], force, 1e-9)
    near(dx[RATES], (moment - np.cross(rates, inertia * rates)) / inertia, 1e-9)
    near(held.rotor_torque, torque, 1e-12)


MULTIBODY_END = (
    (4.304927156898488, -9.394459128511564, -3.197240694212402),
    (0.33190438097473635, 0.3911456374181671, 0.23219840527605626, 0.8263948649439746),
    (0.05368837267163001, 1.1090020834979044, 0.775220405199874),
)
"""Hub position [m], quaternion, rates [rad/s] after 2 s in forward-left-up axes, z up: MuJoCo 4.0.0 (RK4, 0.1 ms),
agreed by pinocchio 4.1.0 to 1e-5."""
FLIP = np.array([1.0, -1.0, -1.0])
"""Forward-left-up to forward-right-down, and north-west-up to north-east-down; also on a quaternion's vector part."""
HUB_INERTIA, HUB_MASS, ROTOR_MASS, ROTOR_INERTIA = (0.008, 0.009, 0.014), 1.0, 0.03, (3e-5, 3e-5, 6e-5)


def hub_and_rotors() -> tuple[object, np.ndarray]:
    """Plant of a hub with four rotors at (+-0.16, +-0.16), 0.02 m above its centre, and its centre of mass (composite)."""
    mass = HUB_MASS + 4.0 * ROTOR_MASS
    centre = np.array([0.0, 0.0, -0.02 * 4.0 * ROTOR_MASS / mass])
    tensor = np.diag(HUB_INERTIA) + HUB_MASS * (centre @ centre * np.eye(3) - np.outer(centre, centre))
    for hub in X_ARMS:
        arm = hub - centre
        tensor = tensor + np.diag(ROTOR_INERTIA) + ROTOR_MASS * (arm @ arm * np.eye(3) - np.outer(arm, arm))
    plant = body(mass=mass)
    set_inertia(plant, tensor, ROTOR_INERTIA[2])
    plant.rotor_position[:], plant.centre_of_mass[:] = X_ARMS - centre, centre
    return plant, centre


def spinning_rotors_as_bodies(f: Callable) -> None:
    """Hub + 4 spinning rotors under 12 N along body z: see MULTIBODY_END."""
    plant, centre = hub_and_rotors()
    rates = FLIP * (1.0, -0.5, 0.8)
    speeds = (580.0, 600.0, 560.0, 620.0)  # front and rear left of the table are our places 4 and 3
    start = state(position=centre, velocity=np.cross(rates, centre), rates=rates, rotors=speeds)
    start[2] -= 1000.0

    def push(x: np.ndarray) -> np.ndarray:
        added = np.zeros(x.size)
        added[VELOCITY] = rotation_of(x).apply((0.0, 0.0, -12.0)) / plant.mass
        return added

    x = travel(f, start, plant, calm(), 2.0, push)[-1]
    place, quaternion, turning = MULTIBODY_END
    hub = x[0:3] - rotation_of(x).apply(centre) + (0.0, 0.0, 1000.0)
    near(hub, FLIP * place, 2e-4)
    expected = np.array([quaternion[0], *(FLIP * quaternion[1:])])
    near(x[QUATERNION] * np.sign(x[QUATERNION] @ expected), expected, 2e-5)
    near(x[RATES], FLIP * turning, 2e-5)
