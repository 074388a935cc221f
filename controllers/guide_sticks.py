"""Guide, sticks: what their deflection asks for in each response type. Only these lines of the guide read a stick's shape."""

from __future__ import annotations

from controllers.contract import inner
from controllers.guide_gains import GuideGain
from controllers.signals import Stick
from controllers.sticks import deadband, shaped, throttle_curve
from controllers.thrust import thrust_at


@inner
def stick_turn(s, gains):
    """Yaw rate of the stick [rad/s]."""
    yaw = shaped(s.stick[Stick.YAW], gains[GuideGain.STICK_DEADBAND], gains[GuideGain.YAW_EXPONENTIAL])
    return gains[GuideGain.YAW_RATE_FULL] * yaw


@inner
def stick_roll_and_pitch(s, gains, full):
    """Roll and pitch of the sticks, `full` at full stick."""
    width, share = gains[GuideGain.STICK_DEADBAND], gains[GuideGain.EXPONENTIAL]
    return (
        full * shaped(s.stick[Stick.ROLL], width, share),
        full * shaped(s.stick[Stick.PITCH], width, share),
    )


@inner
def stick_thrust(s, craft, gains):
    """Total thrust of the throttle stick [N]: by the throttle curve to a motor command, by the thrust curve to a thrust."""
    command = throttle_curve(
        s.stick[Stick.THROTTLE], gains[GuideGain.THROTTLE_HOVER_AT], craft.hover_throttle,
        gains[GuideGain.THROTTLE_EXPONENTIAL],
    )  # fmt: skip
    return 4.0 * craft.max_thrust * thrust_at(command, craft.thrust_curve)


@inner
def stick_climb(s, gains):
    """Climb asked for as a share of the greatest, -1..1, by the throttle stick about its centre."""
    return deadband(2.0 * s.stick[Stick.THROTTLE] - 1.0, gains[GuideGain.DEADBAND])


@inner
def stick_velocity(s, gains):
    """Speed forward and to the right asked for [m/s], heading axes; the stick pulled back flies backwards."""
    most, share, width = gains[GuideGain.SPEED_MAX], gains[GuideGain.EXPONENTIAL], gains[GuideGain.DEADBAND]
    return -most * shaped(s.stick[Stick.PITCH], width, share), most * shaped(
        s.stick[Stick.ROLL], width, share
    )
