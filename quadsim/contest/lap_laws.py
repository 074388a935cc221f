"""What the control laws are set to on a lap: more than a craft needs elsewhere, from its own delays where they decide.

Guide and estimate are the lap's own; attitude and rate are the craft's, with their feed-forward opened.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from controllers.attitude import AttitudeGain
from controllers.contract import SLOTS
from controllers.guide_gains import GuideGain
from controllers.guide_height import G0
from controllers.kalman_gains import KalmanGain
from controllers.rate import RateGain
from quadsim.planning.limits import Limits

BLOCKS = {"estimate": "kalman", "guide": "track"}
GUIDE = {
    GuideGain.PLACE_P: 8.0, GuideGain.PLACE_D: 6.0, GuideGain.PLACE_I: 2.0, GuideGain.PLACE_FREQUENCY: 12.0,
    GuideGain.TILT_MAX: 1.5, GuideGain.THRUST_HIGH: 1.0, GuideGain.THRUST_LOW: 0.3, GuideGain.LINE_LEAST: 0.5,
    GuideGain.PUSH_FREQUENCY: 12.0,
}  # fmt: skip
"""Found by flying. With PLACE_FREQUENCY 60 the noise of place and velocity asked for rates of some rad/s where thrust was low."""
TILT_P, TILT_P_LEAST, TILT_RATE_MAX = 12.0, 6.5, 10.0
"""Of the attitude law [1/s], [rad/s]; found by flying. The least is its usual one."""
BRISK = 200.0
"""Angular acceleration at hover from which a craft bears TILT_P [rad/s2]: some with half of it fell into a limit cycle in the
hover before the start, one rotor at idle all the time; found by flying fifteen craft, four of which did."""
RATE = {RateGain.FEED_FORWARD: 1.0, RateGain.FEED_FORWARD_LIMIT: 400.0}
"""The change of the rates asked for is asked for outright: a line's angular accelerations are beyond what the error brings."""
ESTIMATE = {
    KalmanGain.GYRO_FACTOR: 10.0, KalmanGain.ACCEL_FACTOR: 40.0, KalmanGain.GATE: 100.0, KalmanGain.BARO_SPREAD: 10.0,
}  # fmt: skip
"""At 4 g and 10 rad/s the inertial sensor's errors of scale and axes are far beyond its noise, and the pressure of the airflow is
worth 0.6 m of height at 15 m/s. With the usual gains the filter trusted itself, turned fixes down and was 4 m off after 9 s."""
TOLD = {KalmanGain.FIX_FACTOR: 1.0}
"""Of a place told by the field: its error does not wander."""
BEYOND_MOTORS_S = 0.010
"""Delay from acceleration asked for to thrust turned, beside motors and loop: guide, attitude, filters; found by flying."""
ATTITUDE_WAITS = 0.72
"""Share of that by which the attitude lags what is asked for; found by flying."""


def lead(builder: Any) -> float:
    """Time by which the acceleration of a line is asked for ahead [s]; builder : BUILDER record of the craft."""
    return float(np.mean(builder.motor_lag) + builder.loop_delay) + BEYOND_MOTORS_S


def inflow_loss(limits: Limits) -> float:
    """The guide's gain c: T = a Omega^2 - b Omega w loses k at full thrust f0, so c = k/sqrt(f0 g) [s/m]."""
    return float(limits.thrust_fall / np.sqrt(limits.thrust * limits.gravity))


def moments_at_hover(builder: Any) -> float:
    """Angular acceleration that the busiest rotor can take away at hover before it stands still, roll or pitch [rad/s2]."""
    weight = float(builder.mass) * G0
    return 0.25 * weight / float(np.max(np.abs(builder.allocation[:, :2])))


def attitude_gains(builder: Any) -> dict[AttitudeGain, float]:
    """As brisk as its moments allow."""
    share = min(moments_at_hover(builder) / BRISK, 1.0)
    return {
        AttitudeGain.TILT_P: max(share * TILT_P, TILT_P_LEAST),
        AttitudeGain.TILT_RATE_MAX: TILT_RATE_MAX,
    }


def of_craft(limits: Limits, builder: Any) -> dict[GuideGain, float]:
    """Gains of the guide that are the craft's: inflow, drag, delay."""
    return {
        GuideGain.INFLOW_LOSS: inflow_loss(limits),
        GuideGain.LINE_DRAG: limits.drag,
        GuideGain.LINE_DRAG_SQUARED: limits.drag_squared,
        GuideGain.LINE_LEAD: ATTITUDE_WAITS * lead(builder),
    }


def set_laws(session: Any, limits: Limits, told: bool) -> None:
    """Set the laws of a session; told : its place comes from a system at the field. A craft's own gains stand but the guide's."""
    _put(session, "guide", GuideGain, {**GUIDE, **of_craft(limits, session.builder)})
    _put(session, "estimate", KalmanGain, {**ESTIMATE, **(TOLD if told else {})})
    for slot, gains, values in (
        ("attitude", AttitudeGain, attitude_gains(session.builder)),
        ("rate", RateGain, RATE),
    ):
        own = session.craft.gains.get(slot, {})
        _put(
            session,
            slot,
            gains,
            {gain: value for gain, value in values.items() if gain.name.lower() not in own},
        )


def _put(session: Any, slot: str, gains: Any, values: Mapping[Any, float]) -> None:
    """Into the gains of a slot, where the block chosen has such gains."""
    row = SLOTS.index(slot)
    if session.blocks[row].gains is gains:
        for gain, value in values.items():
            session.gains[row][gain] = value
