"""Checks of what the inertial sensor feels of unbalanced rotors and of a flexible mode; each takes `update_vibration`.

As in checks.py: the same check runs on the shipped kernel and on wrong copies of its source.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import mujoco
import numpy as np
from checks import near
from hand_made import X_ARMS, body, calm, state
from scipy import integrate, signal

from controllers.signals import rows
from quadsim.config.resolve_sensors import mode_step
from quadsim.dynamics.state import SIZE, X
from quadsim.sensors.records import SENSORS
from quadsim.simulation.carried import CARRIED

SHARE = np.array([1.0, 0.6, -0.4])


class Shaken:
    """Records of a body of 1 kg with calm rotors, whose vibration is advanced by `update`."""

    def __init__(self, update: Callable, rate_Hz: float, place: Any = (0.0, 0.0, 0.0)) -> None:
        self.update, self.plant, self.held = update, body(), calm()
        self.sensors, self.carried = rows(SENSORS)[0], rows(CARRIED)[0]
        self.sensors.imu_period, self.sensors.imu_position[:] = 1.0 / rate_Hz, place
        self.sensors.gyro_matrix[:] = self.sensors.accel_matrix[:] = np.eye(3)

    def flexible(self, frequency: float, damping: float) -> Shaken:
        self.sensors.mode_step[:] = mode_step(frequency, damping, 1.0 / self.sensors.imu_period)
        self.sensors.mode_frequency, self.sensors.mode_damping = 2.0 * math.pi * frequency, damping
        self.sensors.mode_share[:] = SHARE
        return self

    def step(self, turning: Any = (0.0, 0.0, 0.0), rotors: Any = 0.0, spinning_up: Any = 0.0) -> None:
        dx = np.zeros(SIZE)
        dx[X.RATES : X.RATES + 3], dx[X.ROTORS : X.ROTORS + 4] = turning, spinning_up
        self.update(0.0, state(rotors=rotors), dx, self.held, self.plant, self.sensors, self.carried)

    def rates(self, turning: np.ndarray) -> np.ndarray:
        """Rates (n, 3) of the flexible mode for angular accelerations (n, 3), sample by sample."""
        seen = []
        for row in turning:
            self.step(row)
            seen.append(np.array(self.carried.mode[:, 1]))
        return np.array(seen)


def felt(shaken: Shaken, phase: float, rotors: float, rotor: int = 0) -> tuple[np.ndarray, np.ndarray]:
    """Rate and acceleration of the shaking, sensor axes, at one phase of one rotor with 2 g mm."""
    shaken.sensors.imbalance[rotor] = 2e-6
    shaken.carried.rotor_phase[rotor] = phase - rotors * shaken.sensors.imu_period
    shaken.step(rotors=rotors)
    return np.array(shaken.carried.shake_rate), np.array(shaken.carried.shake_accel)


def transmissibility(frequency: float, damping: float, at: float) -> complex:
    """(1 + 2 z i r)/(1 - r^2 + 2 z i r), r the ratio of frequencies: base excitation, Thomson, Theory of Vibration, sec. 3.5
    (from memory)."""
    r = at / frequency
    return (1.0 + 2.0j * damping * r) / (1.0 - r * r + 2.0j * damping * r)


def mode_passes_what_a_soft_mount_passes(f: Callable) -> None:
    """A body shaken in roll at 90 and 160 Hz under a mount of 90 Hz, 3 %: gain and phase of the mount's closed form.

    Settled for 7 time constants; sampled at 5 kHz, where straight lines drive with (w dt)^2/12 < 3.4e-3 less than a sine.
    """
    for at in (90.0, 160.0):
        t = np.arange(0.0, 0.5, 2e-4)
        turning = np.zeros((t.size, 3))
        turning[:, 0] = -2.0 * math.pi * at * np.sin(2.0 * math.pi * at * t)  # of a rate cos(w t)
        shaken = Shaken(f, 5e3).flexible(90.0, 0.03).rates(turning)[:, 0] + np.cos(2.0 * math.pi * at * t)
        last = t >= 0.4 - 1e-9  # whole periods
        gain = 2.0 * np.mean(shaken[last] * np.exp(-2.0j * math.pi * at * t[last]))
        expected = transmissibility(90.0, 0.03, at)
        near([gain.real, gain.imag], [expected.real, expected.imag], 6e-3 * (1.0 + abs(expected)))


def mode_steps_exactly(f: Callable) -> None:
    """Random accelerations at 1 kHz, straight in between: scipy's lsim of the same oscillator, an axis each."""
    w, z = 2.0 * math.pi * 110.0, 0.04
    turning = np.random.default_rng(5).normal(0.0, 50.0, (300, 3))
    turning[0] = 0.0
    seen = Shaken(f, 1000.0).flexible(110.0, z).rates(turning)
    for axis in range(3):
        system = signal.lti([-SHARE[axis], 0.0], [1.0, 2.0 * z * w, w * w])
        _, expected, _ = signal.lsim(system, turning[:, axis], np.arange(300) * 1e-3)
        near(seen[:, axis], expected, 1e-9)


def two_inertias_on_a_spring(f: Callable) -> None:
    """Arms driven, gyroscope on the other of two inertias with a spring between: the mode with share 1 gives its very rate.

    J1 a'' = M - k (a - b), J2 b'' = k (a - b) by scipy's lsim; rigid: (J1 + J2) c'' = M; w^2 = k (1/J1 + 1/J2).
    """
    arms, hub, w = 0.003, 0.001, 2.0 * math.pi * 80.0
    k = w * w / (1.0 / arms + 1.0 / hub)
    a = np.zeros((4, 4))
    a[0, 1] = a[2, 3] = 1.0
    a[1, [0, 2]], a[3, [0, 2]] = (-k / arms, k / arms), (k / hub, -k / hub)
    t = np.arange(0.0, 0.2, 1e-3)
    moment = 0.05 * np.sin(40.0 * t) + 0.02 * np.sin(300.0 * t)
    system = signal.StateSpace(a, [[0.0], [1.0 / arms], [0.0], [0.0]], [[0.0, 0.0, 0.0, 1.0]], [[0.0]])
    _, seen, _ = signal.lsim(system, moment, t)
    turning = np.zeros((t.size, 3))
    turning[:, 0] = moment / (arms + hub)
    rigid = np.concatenate([[0.0], np.cumsum((turning[1:, 0] + turning[:-1, 0]) * 0.5e-3)])
    near(rigid + Shaken(f, 1000.0).flexible(80.0, 0.0).rates(turning)[:, 0], seen, 1e-8)


UNBALANCED = """<mujoco><option gravity="0 0 0"/><worldbody><body><freejoint/>
<inertial pos="0 0 0" mass="1" diaginertia="0.01 0.015 0.022"/>
<body pos="{0} {1} {2}"><joint type="hinge" axis="0 0 {3}"/><inertial pos="0.01 0 0" mass="2e-4" diaginertia="1e-12 1e-12 1e-12"/>
</body></body></worldbody></mujoco>"""
"""0.2 g at 10 mm from the axis of a massless rotor on a body of 1 kg, axes forward-right-down."""


def unbalanced_rotor_as_bodies(f: Callable) -> None:
    """Acceleration at the centre and at a place off it of a body with 2 g mm turning at 1200 rad/s: MuJoCo's multi-body dynamics.

    a = a0 + w' x r at rest. To 0.3 %: the plant leaves the heavy side's own mass (0.2 per thousand of the body's; 0.14 % of
    its inertia) out.
    """
    for rotor, arm in enumerate(X_ARMS):
        for phase in (0.3, 2.1, 4.4):
            place = np.array([0.03, -0.02, 0.05])
            turning = float(calm().turning[rotor])
            model = mujoco.MjModel.from_xml_string(UNBALANCED.format(*arm, turning))
            data = mujoco.MjData(model)
            data.qpos[7], data.qvel[6] = phase, 1200.0
            mujoco.mj_forward(model, data)
            near(felt(Shaken(f, 2000.0), phase, 1200.0, rotor)[1], data.qacc[0:3], 0.003 * 2.88)
            away = data.qacc[0:3] + np.cross(data.qacc[3:6], place)
            near(felt(Shaken(f, 2000.0, place), phase, 1200.0, rotor)[1], away, 0.003 * 2.88 * 2.0)


def shaken_rate_is_the_integral(f: Callable) -> None:
    """Calculus: the rate of the shaking is the integral of its angular acceleration, here by Simpson's rule
    (error (W dt)^4/180, 1e-6).

    The angular acceleration from kinematics, as the difference of accelerations 1 m apart.
    """
    places = [Shaken(f, 1e4, place) for place in ((0, 0, 0), (0, 0, 1), (1, 0, 0))]
    turning, rates = [], []
    for shaken in places:
        shaken.sensors.imbalance[:] = (1e-6, 2e-6, 3e-6, 4e-6)
    for _ in range(41):
        for shaken in places:
            shaken.step(rotors=(1000.0, 1200.0, 900.0, 1100.0))
        centre, above, ahead = (np.array(shaken.carried.shake_accel) for shaken in places)
        turning.append([-(above - centre)[1], (above - centre)[0], (ahead - centre)[1]])
        rates.append(np.array(places[0].carried.shake_rate))
    gained = np.array(rates[-1]) - rates[0]
    near(integrate.simpson(np.array(turning), dx=1e-4, axis=0), gained, 3e-5 * np.max(np.abs(rates)))


def phase_follows_a_rotor_that_spins_up(f: Callable) -> None:
    """From 500 rad/s at 20 000 rad/s2 for 0.1 s: w t + a t^2/2 = 150 rad, whatever the sampling (here 1 kHz)."""
    shaken = Shaken(f, 1000.0)
    shaken.sensors.imbalance[:] = 1e-9
    for k in range(1, 101):
        shaken.step(rotors=500.0 + 20.0 * k, spinning_up=20e3)
    near(np.array(shaken.carried.rotor_phase), np.full(4, 150.0 % (2.0 * math.pi)), 1e-9)


def analogue_limit_acts_before_sampling(f: Callable) -> None:
    """A steady tone behind a first-order limit, 1/(1 + i W T): scipy's lsim of that filter on the tone, densely sampled.

    The sensor samples 1200 rad/s (191 Hz) at 100 Hz only: what it reads are points of that very curve.
    """
    speed, rate_Hz, lags = 1200.0, 100.0, (1.0 / (2.0 * math.pi * 200.0), 1.0 / (2.0 * math.pi * 90.0))
    raw, seen = [], []
    dense = np.arange(0.0, 0.0502, 5e-5)  # straight in between: (W dt)^2/12 = 3e-4 of the tone
    for phase in speed * dense:
        raw.append(np.concatenate(felt(Shaken(f, 2000.0, (0.02, 0.01, 0.03)), phase, speed)))
    for k in range(3, 6):  # settled: five time constants are 9 ms
        shaken = Shaken(f, rate_Hz, (0.02, 0.01, 0.03))
        shaken.sensors.gyro_lag, shaken.sensors.accel_lag = lags
        seen.append(np.concatenate(felt(shaken, speed * k / rate_Hz, speed)))
    tone = np.array(raw)
    for column in range(6):
        lag = lags[0] if column < 3 else lags[1]
        _, through, _ = signal.lsim(signal.lti([1.0], [lag, 1.0]), tone[:, column], dense)
        points = through[[round(k / rate_Hz / 5e-5) for k in range(3, 6)]]
        near(np.array(seen)[:, column], points, 2e-3 * float(np.max(np.abs(tone[:, column]))) + 1e-12)


def soft_mount_under_a_rotor(f: Callable) -> None:
    """Rate over the rigid body's: 1 + s r^2/(1 - r^2 + 2 z i r) (closed form), gain and phase, below and above the mode."""
    for frequency in (90.0, 400.0):
        r = 1200.0 / (2.0 * math.pi * frequency)
        for share, axis in zip(SHARE, range(3), strict=True):
            gain = 1.0 + share * r * r / (1.0 - r * r + 0.08j * r)
            rigid = [felt(Shaken(f, 2000.0), phase, 1200.0)[0][axis] for phase in (0.4, 0.4 + 1.5 * math.pi)]
            soft = felt(Shaken(f, 2000.0).flexible(frequency, 0.04), 0.4, 1200.0)[0][axis]
            near(soft, (complex(*rigid) * gain).real, 1e-9)


def vibration_rectified(f: Callable) -> None:
    """Offset K times the mean square of the acceleration over many turns of two rotors (definition), each axis, in mg/g^2."""
    shaken = Shaken(f, 160 * 200.0 / (2.0 * math.pi), (0.02, 0.01, 0.03))
    shaken.sensors.accel_rectification = 0.1e-3 / 9.80665
    shaken.sensors.imbalance[:2] = (2e-6, 3e-6)
    seen, offsets = [], []
    for _ in range(
        3 * 160
    ):  # 94 ms, whole turns of both: 15 and 18; a mean over whole turns needs no fine steps
        shaken.step(rotors=(1000.0, 1200.0, 0.0, 0.0))
        seen.append(np.array(shaken.carried.shake_accel))
        offsets.append(np.array(shaken.carried.shake_offset))
    expected = 0.1e-3 * 9.80665 * np.mean((np.array(seen) / 9.80665) ** 2, axis=0)
    near(np.mean(offsets, axis=0), expected, 1e-3 * float(np.max(expected)))


CHECKS = (
    analogue_limit_acts_before_sampling, soft_mount_under_a_rotor, vibration_rectified,
    mode_passes_what_a_soft_mount_passes, mode_steps_exactly, two_inertias_on_a_spring, unbalanced_rotor_as_bodies,
    shaken_rate_is_the_integral, phase_follows_a_rotor_that_spins_up,
)  # fmt: skip
