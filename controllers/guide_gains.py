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
    TILT_MAX = 3, "rad", 0.7, 0.05, 1.5
    ANGLE_FREQUENCY = 4, "rad/s", 12.0, 1.0, 60.0
    """Of the critically damped command filter on roll and pitch."""
    ANGLE_RATE_MAX = 5, "rad/s", 4.0, 0.1, 20.0
    YAW_FREQUENCY = 6, "rad/s", 4.0, 0.2, 30.0
    YAW_ACCELERATION = 7, "rad/s2", 10.0, 0.1, 100.0
    DEADBAND = 8, "-", 0.08, 0.0, 0.5
    """Of the throttle stick about its centre, and of roll and pitch where they command a speed."""
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
    SPEED_MAX = 24, "m/s", 5.0, 0.2, 30.0
    """At full stick, position hold."""
    ACCELERATION_MAX = 25, "m/s2", 2.5, 0.2, 12.0
    """Of the place asked for; it brakes with 0.8 of it."""
    PLACE_P = 26, "1/s2", 1.0, 0.0, 8.0
    """With PLACE_D 1.8 and PLACE_I 0.2 the poles are -1.0 and -0.4 +- 0.2i; with 0.2 s from acceleration asked for to tilt flown
    the phase margin is 52 deg and |1/(1 + L)| stays below 1.4 (computed)."""
    PLACE_D = 27, "1/s", 1.8, 0.05, 10.0
    PLACE_I = 28, "1/s3", 0.2, 0.0, 4.0
    PLACE_TILT = 29, "rad", 0.5, 0.05, 1.2
    """Greatest tilt in the response types that hold or fly a place."""
    PLACE_FREQUENCY = 30, "rad/s", 20.0, 1.0, 60.0
    """Of the critically damped filter on the acceleration asked for."""
    JERK_MAX = 31, "m/s3", 25.0, 1.0, 300.0
    CRUISE_SPEED = 32, "m/s", 4.0, 0.2, 30.0
    """From one waypoint to the next."""
    HOMING_SPEED = 33, "m/s", 5.0, 0.2, 30.0
    HOMING_HEIGHT = 34, "m", 15.0, 0.0, 120.0
    """Least height at which it flies home."""
    HOMING_NEAR = 35, "m", 3.0, 0.0, 100.0
    """Nearer than this it lands at once."""
    ALONG_TRACK = 36, "-", 0.0, 0.0, 1.0
    """Above 0.5 the nose points along the track to a waypoint or home, else the heading asked for is kept."""
    OFF_TIME = 37, "s", 1.5, 0.1, 60.0
    """On the ground in landing for this long: motors off."""
    LINK_BACK_TIME = 44, "s", 1.0, 0.0, 60.0
    """Good link for this long before a craft in the air is handed back."""
    PLACE_LOST_TIME = 45, "s", 2.0, 0.0, 60.0
    """Without place or heading for this long, the way home after a lost link becomes a level descent."""
    BATTERY_ACTS = 46, "-", 1.0, 0.0, 2.0
    """Low battery: 0 warns only, 1 acts where no pilot is at the sticks, 2 takes the craft from a pilot too."""
    BATTERY_HOMES = 47, "-", 1.0, 0.0, 1.0
    """Above 0.5 it acts by flying home where place and heading are known, else by landing where it is."""
    BATTERY_MARGIN = 48, "-", 0.1, 0.0, 0.8
    """It warns this share of the capacity before it acts."""
    BATTERY_SMOOTHING = 49, "s", 4.0, 0.0, 60.0
    """Time constant of the voltage at rest and of the current."""
    BATTERY_TIME = 50, "s", 3.0, 0.0, 60.0
    """How long a charge must have been too low."""
    HOME_MARGIN = 51, "-", 1.3, 1.0, 5.0
    """Factor on the charge for the way home: wind against it, and what hover needs less than flight."""
    INFLOW_LOSS = 52, "s/m", 0.0, 0.0, 0.3
    """What a climb w along the shafts takes, made up for by `track`: c in f_static = f + c w sqrt(f g) of thrust over mass."""
    LINE_LEAD = 53, "s", 0.0, 0.0, 0.2
    """By which `target_acceleration` comes ahead: rates and thrust of `track` take it as it comes, the attitude waits."""
    LINE_DRAG = 54, "1/s", 0.0, 0.0, 5.0
    LINE_DRAG_SQUARED = 55, "1/m", 0.0, 0.0, 1.0
    """Drag over mass (d1 + d2 V) V that `track` holds against."""
    PUSH_FREQUENCY = 56, "rad/s", 0.0, 0.0, 60.0
    """With which `track` learns from the accelerometer what else pushes; 0: it does not."""
    LINE_LEAST = 57, "-", 0.25, 0.05, 0.9
    """Least thrust vector that `track` asks for, as a share of the weight: a shorter one has no direction worth turning to."""
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
    PLACED = 14
    """1 while a place is held or flown."""
    NORTH = 15
    EAST = 16
    """Place asked for at this moment, on its way to the one that is wanted."""
    NORTH_SPEED = 17
    EAST_SPEED = 18
    NORTH_INTEGRAL = 19
    EAST_INTEGRAL = 20
    NORTH_ACCELERATION = 21
    EAST_ACCELERATION = 22
    """Asked of the attitude, filtered; and their change with time."""
    NORTH_JERK = 23
    EAST_JERK = 24
    PHASE = 25
    """Of homing: see `guide_home.Phase`."""
    GROUNDED = 26
    """Time on the ground in landing."""
    DOWN_INTEGRAL = 29
    """Of a line flown with the whole thrust vector (`track`)."""
    LINE = 30
    """1 while such a line is flown."""
    ASKED = 51
    """Acceleration asked for at the last run, 3; the same as the attitude waits for it, 3."""
    WAITED = 54
    HELD = 57
    """What was added to it to hold the line at the last run, 3."""
    PUSHED = 60
    """What else pushes across the shafts, 3 [m/s2]."""
    GIVEN = 63
    """Thrust over mass as the rotors should give it by now."""
    MORE = 64
    """What they are seen to give more [m/s2]."""
    CHANGE = 65
    """Of what holds the line, smoothed, 3 [m/s3]."""
    LINK_SILENT = 40
    """Time without a link, and of good link since something is done about it."""
    LINK_GOOD = 41
    LINK_ACTION = 42
    STILL = 43
    """Time in which a craft that fell lay still."""
    PLACE_LOST = 44
    """Time without place or heading on the way home."""
    REST_VOLTAGE = 45
    """Of a cell, smoothed."""
    HOVER_CURRENT = 46
    """Of the pack in the air, smoothed."""
    CHARGE_LEFT = 47
    """Share of the capacity."""
    WARN_TIME = 48
    """Time in which so little was left that it warns, and that it acts."""
    SPENT_TIME = 49
    LANDS = 50
    """1 once a low battery lands where it is."""


SIZE = 80
