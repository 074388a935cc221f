"""Rate: linear-quadratic regulator computed from the craft, per axis, from attitude and rates to angular acceleration.

Stands in slot `rate`; what the attitude block asks for is not read. Each axis has the states [integral of the angle error, angle
error, rate error, angular acceleration in force], the last from a model of the motors: a first-order lag of the craft's own
motors and delays. In its first run the law puts that chain into discrete time, weighs it and solves the Riccati equation; so it
suits every craft without a gain of its own, and what is set is how much error is as bad as how much of the craft's authority.

References
----------
A. E. Bryson, Y.-C. Ho, Applied Optimal Control (1975), ch. 5: weights 1/max^2. G. F. Franklin, J. D. Powell, M. Workman, Digital
Control of Dynamic Systems, 3rd ed. (1998), ch. 9 (discrete regulator; from memory). The authority of an axis is the greatest
moment that the rotors give in hover: closed form over the rotors' arms.
"""

from __future__ import annotations

import math
from enum import IntEnum

from controllers.attitude import tilt_and_turn
from controllers.contract import Gains, block, inner, kernel
from controllers.filters import at_least, at_most, first_order_share, limit
from controllers.rate import gyroscopic
from controllers.riccati import MOST_PASSES, SQUARE, WORK, N, solve_riccati
from controllers.rotation import multiply

G0 = 9.80665
"""Standard acceleration of gravity [m/s2], 3rd CGPM (1901)."""
LEAST_LAG = 2e-3
"""Least motor lag that is believed [s]; assumed, faster than any motor with a propeller."""


class LqrGain(Gains):
    """Bryson's rule: each figure is an error, or a share of the authority, that counts one."""

    TILT_ERROR = 0, "rad", 0.35, 0.01, 3.0
    RATE_ERROR = 1, "rad/s", 4.0, 0.1, 50.0
    TILT_SUM = 2, "rad s", 0.25, 0.01, 20.0
    """Integral of the angle error."""
    AUTHORITY = 3, "-", 0.3, 0.01, 1.0
    """Share of the angular acceleration that the rotors give in hover."""
    YAW_ERROR = 4, "rad", 0.5, 0.01, 3.0
    YAW_RATE_ERROR = 5, "rad/s", 2.0, 0.1, 50.0
    YAW_SUM = 6, "rad s", 1.0, 0.01, 20.0
    YAW_AUTHORITY = 7, "-", 0.4, 0.01, 1.0
    ERROR_LIMIT = 8, "rad", 0.6, 0.05, 3.0
    """Greatest tilt and heading error that is answered: more would only turn faster than is good."""
    SUM_LIMIT = 9, "rad s", 0.3, 0.0, 10.0


class Memory(IntEnum):
    """What is kept between runs."""

    READY = 0
    FEEDBACK = 1
    """Of roll, pitch, yaw: four gains each, on integral [1/s3], angle [1/s2], rate [1/s] and acceleration [-]."""
    FORCE = 13
    """Angular acceleration in force by the model of the motors [rad/s2], 3."""
    SUM = 16
    """Integral of the angle errors [rad s], 3."""
    SHARE = 19
    """Of a new command in the motors' lag per run."""
    WEIGHT = 20
    """Last attitude weight: the integrals start afresh when it changes."""
    WORK = 21


SIZE = 21 + WORK


@kernel(_nrt=False)
def authority(craft, axis):
    """Greatest angular acceleration about an axis with hover's thrust kept, no rotor beyond twice its own [rad/s2]."""
    most = 0.0
    for rotor in range(4):
        most += abs(craft.effectiveness[axis, rotor])
    share = at_most(craft.mass * G0 / 4.0, craft.max_thrust / 2.0)
    return most * share


@kernel(_nrt=False)
def motor_chain(dt, lag):
    """Transition A (16 numbers, by rows) and input B (4) of one axis over dt [s], the command u held; exact.

    z' = e, e' = w, w' = a, a' = (u - a)/T: integrators behind a first-order lag T [s].
    """
    fade = math.exp(-dt / lag)
    one = lag * (1.0 - fade)  # once, twice, three times integrated e^(-t/T)
    two = lag * (dt - one)
    three = lag * (0.5 * dt * dt - two)
    a = (1.0, dt, 0.5 * dt * dt, three, 0.0, 1.0, dt, two, 0.0, 0.0, 1.0, one, 0.0, 0.0, 0.0, fade)
    return a, (dt * dt * dt / 6.0 - three, 0.5 * dt * dt - two, dt - one, 1.0 - fade)


@kernel(_nrt=False)
def design_axis(memory, axis, dt, lag, most_sum, most_angle, most_rate, most_command):
    """Feedback of one axis into the memory: K = (R + B^T P B)^-1 B^T P A, weights 1/max^2 per second. True when it settled."""
    a, b = motor_chain(dt, lag)
    q = (dt / (most_sum * most_sum), dt / (most_angle * most_angle), dt / (most_rate * most_rate), 0.0)
    r = dt / (most_command * most_command)
    at = Memory.WORK
    for i in range(N):
        for j in range(N):
            k = i * N + j
            memory[at + k] = a[k]
            memory[at + SQUARE + k] = b[i] * b[j] / r
            memory[at + 2 * SQUARE + k] = q[i] if i == j else 0.0
    settled = solve_riccati(memory, at) < MOST_PASSES
    p, below = at + 2 * SQUARE, r
    for i in range(N):
        for j in range(N):
            below += b[i] * memory[p + i * N + j] * b[j]
    for n in range(N):
        total = 0.0
        for i in range(N):
            for j in range(N):
                total += b[i] * memory[p + i * N + j] * a[j * N + n]
        memory[Memory.FEEDBACK + 4 * axis + n] = total / below if settled else 0.0
    return settled


@inner
def _start(s, craft, gains, memory):
    """Compute the feedback of all axes for this craft and this interval."""
    memory[Memory.READY] = 1.0
    lag = at_least(at_least(craft.motor_lag[0], craft.motor_lag[1]) + craft.loop_delay, LEAST_LAG)
    memory[Memory.SHARE] = first_order_share(1.0 / (2.0 * math.pi * lag), s.dt)
    for axis in range(3):
        first = LqrGain.TILT_ERROR if axis < 2 else LqrGain.YAW_ERROR
        most = at_least(gains[first + 3] * authority(craft, axis), 1e-3)
        design_axis(memory, axis, s.dt, lag, gains[first + 2], gains[first], gains[first + 1], most)


@block("rate", gains=LqrGain, memory=SIZE)
def lqr(s, craft, gains, memory):
    """Linear-quadratic regulator with integral and a model of the motors, its feedback computed from the craft."""
    if memory[Memory.READY] == 0.0:
        _start(s, craft, gains, memory)
    w, x, y, z = multiply(
        s.attitude[0], -s.attitude[1], -s.attitude[2], -s.attitude[3],
        s.attitude_wanted[0], s.attitude_wanted[1], s.attitude_wanted[2], s.attitude_wanted[3],
    )  # fmt: skip
    twist = tilt_and_turn(w, x, y, z)
    most, bound = gains[LqrGain.ERROR_LIMIT], gains[LqrGain.SUM_LIMIT]
    gyro = gyroscopic(craft.inertia, s.rates[0], s.rates[1], s.rates[2])
    if s.attitude_weight != memory[Memory.WEIGHT]:
        memory[Memory.WEIGHT] = s.attitude_weight
        for axis in range(3):
            memory[Memory.SUM + axis] = 0.0
    for axis in range(3):
        k = Memory.FEEDBACK + 4 * axis
        slip = s.rates_fed_forward[axis] - s.rates[axis]
        error = limit(twist[axis], -most, most)
        towards = error if s.attitude_weight > 0.0 else slip
        total = memory[Memory.SUM + axis]
        if s.airborne == 0.0:
            total = 0.0
        elif s.unallocated[axis] * towards <= 0.0:
            total = limit(total + s.dt * towards, -bound, bound)
        memory[Memory.SUM + axis] = total
        if s.attitude_weight == 0.0:
            error, total = (
                total,
                0.0,
            )  # in rate command the angle to make up for is the integral of the rate error
        given = s.angular_acceleration_wanted[axis] - s.unallocated[axis]
        force = memory[Memory.FORCE + axis]
        force += memory[Memory.SHARE] * (given - gyro[axis] - force)
        memory[Memory.FORCE + axis] = force
        s.angular_acceleration_wanted[axis] = (
            memory[k] * total
            + memory[k + 1] * error
            + memory[k + 2] * slip
            - memory[k + 3] * force
            + gyro[axis]
        )
