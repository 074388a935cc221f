"""A made-up motion with sensors that have exactly the noise a filter is told of: for the filter's own consistency."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation

from controllers.check import example_craft
from controllers.contract import MEMORY_SIZE, as_block, chain, kernel
from controllers.kalman import HEADING_GIVEN, START_PLACE, START_SPEED, TILT_KNOWN, kalman
from controllers.kalman_gains import KalmanGain
from controllers.kalman_state import Memory
from controllers.signals import SIGNALS, rows

Array = NDArray[np.float64]
G0 = 9.80665
DT, FIX_EVERY, BARO_EVERY, MAG_EVERY, KEEP_EVERY = 0.01, 20, 10, 10, 10
SIGMA = {
    "gyro_density": 0.02, "accel_density": 0.2, "gyro_bias_sigma": 0.01, "accel_bias_sigma": 0.1,
    "baro_sigma": 0.5, "gnss_velocity_sigma": 0.2, "mag_sigma": 1e-6,
}  # fmt: skip
FIX_SIGMA, FIELD = (1.0, 2.0), np.array([20e-6, 0.0, 0.0])
"""A level field: of a dipping one the filter leaves out, on purpose, that a tilt error turns its horizontal part."""
FIX_SPREAD = np.array([1.0, 1.0, 2.0, 0.2, 0.2, 0.2])
"""Of place [m] and velocity [m/s], as told."""
WALKS = {"GYRO_WALK": 1e-3, "ACCEL_WALK": 0.01}


def craft() -> Any:
    made = example_craft().copy()
    for name, value in SIGMA.items():
        made[name] = value
    made["gnss_sigma"], made["local_field"], made["gnss"], made["compass"] = FIX_SIGMA, FIELD, 1.0, 1.0
    return made


def gains(noise: float = 1.0) -> Array:
    """The filter's gains for this bench: nothing believed beyond what is so; `noise` on both inertial sensors."""
    values = kalman.default_gains()
    told = {
        **WALKS, "COVARIANCE_RATE": 1.0 / DT, "GYRO_FACTOR": noise, "ACCEL_FACTOR": noise, "GATE": 1000.0, "FIX_FACTOR": 1.0,
        "BARO_SPREAD": 0.0, "HEADING_SPREAD": 0.0, "FIELD_TRUST": 10.0, "GRAVITY_SPREAD": 100.0, "GYRO_CUTOFF": 0.0,
    }  # fmt: skip
    for name, value in told.items():
        values[KalmanGain[name]] = value
    return values


@kernel
def _drive(chain, s, craft, gains, memory, gyro, accel, fixes, heights, fields, states, covariances):
    """The filter over all samples; its state at every tenth, with its covariance."""
    block = as_block(chain[0])
    for n in range(len(gyro)):
        s.gyro[:], s.accel[:] = gyro[n], accel[n]
        if n % FIX_EVERY == 1:
            s.gnss_position[:], s.gnss_velocity[:] = fixes[n, :3], fixes[n, 3:]
            s.gnss_count += 1.0
        if n % BARO_EVERY == 0:
            s.baro_height = heights[n]
            s.baro_count += 1.0
        if n % MAG_EVERY == 2:
            s.magnetic_field[:] = fields[n]
            s.mag_count += 1.0
        block(s, craft, gains, memory)
        if n % KEEP_EVERY == 0:
            k = n // KEEP_EVERY
            states[k, :4], states[k, 4:7], states[k, 7:] = s.attitude, s.velocity, s.position
            covariances[k] = memory[Memory.COVARIANCE : Memory.COVARIANCE + 225]


def errors_of(seed: int, noise: float = 1.0, seconds: float = 20.0) -> Array:
    """NEES of attitude, velocity and place at every tenth step, e^T P^-1 e over the nine of them."""
    draw, count = np.random.default_rng([seed, 17]), round(seconds / DT)
    s, memory = rows(SIGNALS)[0], np.zeros(MEMORY_SIZE)
    s.dt, s.airborne, s.gnss_fix, s.armed = DT, 1.0, 1.0, 1.0
    s.attitude[0] = 1.0  # the estimate starts level, the truth does not
    true, v, p, gyro, accel = _motion(draw, count)
    fixes = np.hstack([p, v]) + draw.normal(size=(count, 6)) * FIX_SPREAD
    heights = draw.normal(size=count) * SIGMA["baro_sigma"] - p[:, 2]
    heights[0] = 0.0  # the take-off point is what the filter starts from
    fields = np.einsum("nij,i->nj", true, FIELD) + draw.normal(size=(count, 3)) * SIGMA["mag_sigma"]
    states, covariances = np.zeros((count // KEEP_EVERY, 10)), np.zeros((count // KEEP_EVERY, 225))
    _drive(
        chain([kalman]),
        s,
        craft(),
        gains(noise),
        memory,
        gyro,
        accel,
        fixes,
        heights,
        fields,
        states,
        covariances,
    )
    kept = slice(FIX_EVERY, None, KEEP_EVERY)
    first = FIX_EVERY // KEEP_EVERY
    return nees(states[first:], covariances[first:], true[kept], v[kept], p[kept])


def _motion(draw: np.random.Generator, count: int) -> tuple[Array, Array, Array, Array, Array]:
    """Rotation matrices body to world, velocity, place after each step, and what gyro and accelerometer say of it."""
    t = DT * np.arange(count)
    w = 0.5 * np.stack([np.sin(0.7 * t), np.cos(0.9 * t), np.sin(0.5 * t + 1.0)], axis=1)
    pushed = np.stack([3.0 * np.sin(0.8 * t), 2.0 * np.cos(0.6 * t), np.sin(t)], axis=1)
    true = np.empty((count, 3, 3))
    now = Rotation.from_rotvec(draw.normal(size=3) * (TILT_KNOWN, TILT_KNOWN, HEADING_GIVEN)).as_matrix()
    for n, step in enumerate(Rotation.from_rotvec(w * DT).as_matrix()):
        now = now @ step
        true[n] = now
    v0, p0 = draw.normal(size=3) * START_SPEED, draw.normal(size=3) * START_PLACE
    v = v0 + DT * np.cumsum(pushed, axis=0)
    p = p0 + np.cumsum(DT * (v - 0.5 * DT * pushed), axis=0)
    f = np.einsum("nij,ni->nj", true, pushed - (0.0, 0.0, G0))
    gyro = w + _sensor(draw, count, SIGMA["gyro_bias_sigma"], SIGMA["gyro_density"], WALKS["GYRO_WALK"])
    accel = f + _sensor(draw, count, SIGMA["accel_bias_sigma"], SIGMA["accel_density"], WALKS["ACCEL_WALK"])
    return true, v, p, gyro, accel


def _sensor(draw: np.random.Generator, count: int, bias: float, density: float, walk: float) -> Array:
    """Bias at the start, its walk, white noise of a one-sided density: variance n^2/(2 dt) a sample."""
    walked = np.cumsum(draw.normal(size=(count, 3)), axis=0) * walk * math.sqrt(DT)
    return draw.normal(size=3) * bias + walked + draw.normal(size=(count, 3)) * density / math.sqrt(2.0 * DT)


def nees(states: Array, covariances: Array, true: Array, v: Array, p: Array) -> Array:
    """Normalised estimation error squared (Bar-Shalom et al. 2001, sec. 5.4.2)."""
    estimate = Rotation.from_quat(np.roll(states[:, :4], -1, axis=1)).as_matrix()
    theta = Rotation.from_matrix(true @ estimate.transpose(0, 2, 1)).as_rotvec()
    e = np.hstack([theta, v - states[:, 4:7], p - states[:, 7:]])
    P = covariances.reshape(-1, 15, 15)[:, :9, :9]
    return np.einsum("ni,ni->n", e, np.linalg.solve(P, e[:, :, None])[:, :, 0])
