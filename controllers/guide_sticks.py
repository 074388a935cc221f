"""Guide, sticks: what their deflection asks for in each response type. Nothing else of the guide reads a stick's shape."""

from __future__ import annotations

from controllers.contract import inner
from controllers.filters import deadband, exponential
from controllers.guide_gains import GuideGain
from controllers.signals import Stick

LANDING_STICK = 0.1
"""Throttle stick below which the pilot is landing while height is held [-]; assumed. A craft that sinks slower than it should,
say after its payload fell off, has not touched down."""


@inner
def stick_rates(s, gains):
    """Body rates p, q, r asked for [rad/s]."""
    share = gains[GuideGain.EXPONENTIAL]
    full, yaw = gains[GuideGain.RATE_FULL], gains[GuideGain.YAW_RATE_FULL]
    return (
        full * exponential(s.stick[Stick.ROLL], share),
        full * exponential(s.stick[Stick.PITCH], share),
        yaw * exponential(s.stick[Stick.YAW], share),
    )


@inner
def stick_tilt(s, gains):
    """Roll and pitch asked for [rad]."""
    most, share = gains[GuideGain.TILT_MAX], gains[GuideGain.EXPONENTIAL]
    return most * exponential(s.stick[Stick.ROLL], share), most * exponential(s.stick[Stick.PITCH], share)


@inner
def stick_yaw_rate(s, gains):
    """Yaw rate asked for [rad/s]."""
    return gains[GuideGain.YAW_RATE_FULL] * exponential(s.stick[Stick.YAW], gains[GuideGain.EXPONENTIAL])


@inner
def stick_climb(s, gains):
    """Climb asked for as a share of the greatest, -1..1, by the throttle stick about its centre."""
    return deadband(2.0 * s.stick[Stick.THROTTLE] - 1.0, gains[GuideGain.DEADBAND])


@inner
def stick_velocity(s, gains):
    """Speed forward and to the right asked for [m/s], heading axes; the stick pulled back flies backwards."""
    most, share, width = gains[GuideGain.SPEED_MAX], gains[GuideGain.EXPONENTIAL], gains[GuideGain.DEADBAND]
    return (
        -most * exponential(deadband(s.stick[Stick.PITCH], width), share),
        most * exponential(deadband(s.stick[Stick.ROLL], width), share),
    )


@inner
def stick_lands(s):
    """True while the throttle stick is where a pilot holds it to land."""
    return s.stick[Stick.THROTTLE] < LANDING_STICK
