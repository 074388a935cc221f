"""Rate: geometric tracking of attitude on SO(3), from attitude and rates straight to angular acceleration.

Stands in slot `rate`, so that it runs as fast as the rates come; what the attitude block asks for is not read.

With R the attitude, R_d the one wanted, w the rates and w_d those fed forward (in the axes of R_d), in body axes
    e_R = vee(R_d^T R - R^T R_d)/2,   e_w = w - R^T R_d w_d,
    w' = -k_R e_R - k_w e_w - k_I integral(e_w + c e_R) + I^-1 (w x I w) - w x (R^T R_d w_d) + R^T R_d w_d'.
In terms of the error quaternion (q_0, q) = q_d* q, e_R = 2 q_0 q: the sine of the error about its axis, which fades beyond 90 deg
and is nothing at 180 deg, the one attitude that no continuous law can leave (hence almost globally).

References
----------
T. Lee, M. Leok, N. H. McClamroch, Geometric Tracking Control of a Quadrotor UAV on SE(3), 49th IEEE CDC (2010),
doi 10.1109/CDC.2010.5717652, eqs. 10, 11 and 16. F. Goodarzi, D. Lee, T. Lee, Geometric Nonlinear PID Control of a Quadrotor
UAV on SE(3), European Control Conference (2013), doi 10.23919/ECC.2013.6669644: the integral (from memory). Here the gains are
divided by the inertia: they ask for angular accelerations, so that one set suits crafts of any size.
"""

from __future__ import annotations

from enum import IntEnum

from controllers.contract import Gains, block
from controllers.filters import derivative_shares, limit
from controllers.rate import gyroscopic
from controllers.rotation import multiply

INTEGRAL_C = 2.0
"""c, the share of attitude in the integral [1/s]; small against k_R/k_w, as the proof asks."""


class GeometricGain(Gains):
    """Near the wanted attitude each axis is a mass on a spring: w_n = sqrt(K_R), damping K_W/(2 w_n) (closed form).

    Roll and pitch: 12 rad/s and 0.92; yaw: 4.5 rad/s and 0.9, its actuators being weaker."""

    TILT_K_R = 0, "1/s2", 144.0, 0.0, 2000.0
    TILT_K_W = 1, "1/s", 22.0, 0.0, 100.0
    YAW_K_R = 2, "1/s2", 20.0, 0.0, 500.0
    YAW_K_W = 3, "1/s", 8.0, 0.0, 60.0
    TILT_K_I = 4, "1/s2", 70.0, 0.0, 1000.0
    YAW_K_I = 5, "1/s2", 12.0, 0.0, 500.0
    INTEGRAL_LIMIT = 6, "rad/s2", 60.0, 0.0, 1000.0
    FEED_FORWARD = 7, "-", 0.5, 0.0, 1.0
    """Share of the derivative of the wanted rate that is asked for outright."""
    FEED_FORWARD_LAG = 8, "s", 0.01, 0.0005, 0.2
    """Time constant of that derivative's filter."""
    FEED_FORWARD_LIMIT = 9, "rad/s2", 60.0, 0.0, 1000.0


class Memory(IntEnum):
    """What is kept between runs; three of each but the first."""

    READY = 0
    INTEGRAL = 1
    WANTED = 4
    SLOPE = 7


@block("rate", gains=GeometricGain, memory=10)
def geometric(s, craft, gains, memory):
    """Geometric tracking on SO(3) with integral: attitude and rates at once, to angular acceleration."""
    c, vx, vy, vz = multiply(
        s.attitude_wanted[0], -s.attitude_wanted[1], -s.attitude_wanted[2], -s.attitude_wanted[3],
        s.attitude[0], s.attitude[1], s.attitude[2], s.attitude[3],
    )  # fmt: skip
    # R^T R_d turns a vector from the wanted axes to the body's: the inverse of the error's rotation
    wd = (s.rates_fed_forward[0], s.rates_fed_forward[1], s.rates_fed_forward[2])
    tx, ty, tz = (
        2.0 * (wd[1] * vz - wd[2] * vy),
        2.0 * (wd[2] * vx - wd[0] * vz),
        2.0 * (wd[0] * vy - wd[1] * vx),
    )
    weight = s.attitude_weight
    if weight == 0.0:
        tx = ty = tz = 0.0
    px = wd[0] + c * tx + (ty * vz - tz * vy)
    py = wd[1] + c * ty + (tz * vx - tx * vz)
    pz = wd[2] + c * tz + (tx * vy - ty * vx)
    p, q, r = s.rates[0], s.rates[1], s.rates[2]
    asked = (px, py, pz)
    off = (p - px, q - py, r - pz)
    twist = (2.0 * weight * c * vx, 2.0 * weight * c * vy, 2.0 * weight * c * vz)
    cross = (q * pz - r * py, r * px - p * pz, p * py - q * px)
    gyro = gyroscopic(craft.inertia, p, q, r)
    if memory[Memory.READY] == 0.0:
        memory[Memory.READY] = 1.0
        for k in range(3):
            memory[Memory.WANTED + k] = asked[k]
    old, new = derivative_shares(gains[GeometricGain.FEED_FORWARD_LAG], s.dt)
    most, share = gains[GeometricGain.FEED_FORWARD_LIMIT], gains[GeometricGain.FEED_FORWARD]
    bound = gains[GeometricGain.INTEGRAL_LIMIT]
    for k in range(3):
        first = 0 if k < 2 else GeometricGain.YAW_K_R
        slope = old * memory[Memory.SLOPE + k] + new * (asked[k] - memory[Memory.WANTED + k])
        memory[Memory.SLOPE + k], memory[Memory.WANTED + k] = slope, asked[k]
        error = off[k] + INTEGRAL_C * twist[k]
        integral = 0.0
        if s.airborne > 0.0:
            integral = memory[Memory.INTEGRAL + k]
            if s.unallocated[k] * error >= 0.0:  # what is missing asks for less than the error does: go on
                k_i = gains[GeometricGain.TILT_K_I] if k < 2 else gains[GeometricGain.YAW_K_I]
                integral = limit(integral + s.dt * k_i * error, -bound, bound)
        memory[Memory.INTEGRAL + k] = integral
        s.angular_acceleration_wanted[k] = (
            gyro[k] - cross[k] + limit(share * slope, -most, most)
            - gains[first] * twist[k] - gains[first + 1] * off[k] - integral
        )  # fmt: skip
