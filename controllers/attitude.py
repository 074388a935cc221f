"""Attitude: proportional control of the quaternion error, tilt before heading.

References
----------
D. Brescianini, M. Hehn, R. D'Andrea, Nonlinear Quadrocopter Attitude Control, ETH Zurich technical report (2013),
doi 10.3929/ethz-a-009970340: the error is split into a tilt and a turn about the thrust axis (from memory).
"""

from __future__ import annotations

import math

from controllers.contract import Gains, block, kernel
from controllers.filters import limit
from controllers.rotation import multiply
from controllers.rotor_loss import lost_rotor


class AttitudeGain(Gains):
    """With a rate loop of bandwidth w the damping is 0.5 sqrt(w/P): P = w/3 gives 0.87 (second-order closed form)."""

    TILT_P = 0, "1/s", 6.5, 0.0, 30.0
    YAW_P = 1, "1/s", 2.8, 0.0, 15.0
    """Lower, since yaw has the weaker actuators: the tilt is right before the heading is."""
    TILT_RATE_MAX = 2, "rad/s", 5.0, 0.1, 40.0
    YAW_RATE_MAX = 3, "rad/s", 2.5, 0.1, 20.0


@kernel
def tilt_and_turn(w, x, y, z):
    """Split a rotation: twice the vector part of the tilt (x, y) and of the turn about body z, each the short way.

    q = q_tilt q_turn with q_turn = (w, 0, 0, z)/n, n = hypot(w, z): q_tilt = (n, (w x - y z)/n, (w y + x z)/n, 0).
    """
    n = math.sqrt(w * w + z * z)
    if n < 1e-9:
        return 2.0 * x, 2.0 * y, 0.0
    scale = 2.0 / n
    return scale * (w * x - y * z), scale * (w * y + x * z), math.copysign(scale, w) * z


@block("attitude", gains=AttitudeGain)
def quaternion_p(s, craft, gains, memory):
    """Proportional on the quaternion error, tilt first, with rate feed-forward."""
    w, x, y, z = multiply(
        s.attitude[0], -s.attitude[1], -s.attitude[2], -s.attitude[3],
        s.attitude_wanted[0], s.attitude_wanted[1], s.attitude_wanted[2], s.attitude_wanted[3],
    )  # fmt: skip
    ex, ey, ez = tilt_and_turn(w, x, y, z)
    tilt, turn = s.attitude_weight * gains[AttitudeGain.TILT_P], s.attitude_weight * gains[AttitudeGain.YAW_P]
    p, q = tilt * ex, tilt * ey
    greatest = gains[AttitudeGain.TILT_RATE_MAX]
    size = math.sqrt(p * p + q * q)
    if size > greatest:
        p, q = p * greatest / size, q * greatest / size
    s.rates_wanted[0] = p + s.rates_fed_forward[0]
    s.rates_wanted[1] = q + s.rates_fed_forward[1]
    most = gains[AttitudeGain.YAW_RATE_MAX]
    s.rates_wanted[2] = limit(turn * ez, -most, most) + s.rates_fed_forward[2]
    if lost_rotor(s) >= 0:
        s.rates_wanted[2] = s.rates[2]  # yaw is given up: the direction of the thrust alone is controlled
