"""What the guide `response` can be set to, and what it keeps between runs."""

from __future__ import annotations

from enum import IntEnum

from controllers.contract import Gains


class GuideGain(Gains):
    """Defaults fly a craft of about 0.6 kg briskly; common practice, no source, unless said otherwise."""

    RATE_FULL = 0, "rad/s", 6.0, 0.1, 35.0
    """Roll and pitch rate at full stick, rate command."""
    YAW_RATE_FULL = 1, "rad/s", 2.5, 0.1, 20.0
    EXPONENTIAL = 2, "-", 0.3, 0.0, 1.0
    """Share of the cubic term in the sticks of roll and pitch."""
    TILT_MAX = 3, "rad", 0.7, 0.05, 1.4
    ANGLE_FREQUENCY = 4, "rad/s", 12.0, 1.0, 60.0
    """Of the critically damped command filter on roll and pitch."""
    ANGLE_RATE_MAX = 5, "rad/s", 4.0, 0.1, 20.0
    YAW_FREQUENCY = 6, "rad/s", 4.0, 0.2, 30.0
    YAW_ACCELERATION = 7, "rad/s2", 10.0, 0.1, 100.0
    DEADBAND = 8, "-", 0.08, 0.0, 0.5
    """Of the throttle stick about its centre, height hold."""
    CLIMB_MAX = 9, "m/s", 2.5, 0.1, 20.0
    SINK_MAX = 10, "m/s", 1.5, 0.1, 10.0
    """Slow enough to stay out of the rotors' own wake: below about half the induced speed of hover."""
    CLIMB_ACCELERATION = 11, "m/s2", 4.0, 0.1, 20.0
    HEIGHT_P = 12, "1/s", 1.2, 0.0, 5.0
    """With CLIMB_P 4 and CLIMB_I 3 the poles are -0.65 and -1.7 +- 1.7i: damping 0.7 (characteristic polynomial)."""
    CLIMB_P = 13, "1/s", 4.0, 0.0, 15.0
    CLIMB_I = 14, "1/s2", 3.0, 0.0, 20.0
    THRUST_LOW = 15, "-", 0.25, 0.0, 0.9
    """Least thrust in the air as a share of the weight: keeps hold of roll and pitch."""
    THRUST_HIGH = 16, "-", 0.9, 0.1, 1.0
    """Greatest thrust as a share of all four rotors' greatest."""
    TILT_FACTOR_MAX = 17, "-", 1.6, 1.0, 5.0
    """Greatest factor on the thrust to make up for tilt."""
    TAKE_OFF_TIME = 18, "s", 1.2, 0.1, 10.0
    """In which the take-off ramp gains one weight of thrust."""
    LANDING_RATE = 19, "m/s", 0.4, 0.05, 2.0
    LANDING_HEIGHT = 20, "m", 0.8, 0.0, 10.0
    """Below this the descent is at LANDING_RATE."""
    TOUCH_TIME = 21, "s", 0.4, 0.05, 5.0
    TOUCH_SHARE = 22, "-", 0.75, 0.1, 0.95
    """Thrust below this share of the weight, without climb or sink for TOUCH_TIME, means touched down;
    so does 2.5 times TOUCH_TIME in which a descent has stopped."""
    LIFT_SHARE = 23, "-", 1.15, 1.0, 3.0
    """Thrust above this share of the weight means lifted off."""
    STICK_DEADBAND = 60, "-", 0.02, 0.0, 0.3
    """Of the sticks of roll, pitch and yaw about their centre."""
    YAW_EXPONENTIAL = 61, "-", 0.3, 0.0, 1.0
    """Share of the cubic term in the yaw stick."""
    THROTTLE_HOVER_AT = 62, "-", 0.0, 0.0, 0.9
    """Position 0..1 of the throttle stick at which the craft hovers; 0: the stick is the motor command itself."""
    THROTTLE_EXPONENTIAL = 63, "-", 0.3, 0.0, 0.95
    """How much flatter the throttle curve is about that position."""


class Memory(IntEnum):
    """What is kept between runs."""

    READY = 0
    ROLL = 1
    PITCH = 2
    YAW = 3
    ROLL_SPEED = 4
    PITCH_SPEED = 5
    YAW_SPEED = 6
    HEIGHT = 7
    CLIMB = 8
    CLIMB_INTEGRAL = 9
    HOLDING = 10
    """1 while a height is held, 0 while the throttle stick commands a climb rate."""
    RAMP = 11
    TIMER = 12
    MODEL = 13
    """Climb rate of a craft that answers CLIMB_P alone."""


SIZE = 14
