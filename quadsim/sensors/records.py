"""Record of the sensors of one craft, resolved to SI and to ticks of the physics clock."""

from __future__ import annotations

from controllers.signals import Signal
from quadsim.dynamics.records import dtype_of
from quadsim.sensors.clock import CLOCK_SIZE
from quadsim.sensors.place_records import PLACE_TABLE

RING = 64
"""Slots of a delay line; `resolve` refuses delays that need more."""

FLICKERS = 3
"""Gauss-Markov processes that make the flicker noise of a bias."""

BLENDS = 21
"""Commands 0 to 1 in equal steps, at each of which the ESC may have a lag of its own up and down."""

SENSORS_TABLE = (
    Signal("imu_clock", (CLOCK_SIZE,), "-", "", "resolve", "when the inertial sensor samples, see clock.py"),
    Signal("gyro_noise", (), "rad/s", "", "resolve", "standard deviation of one sample"),
    Signal("gyro_bias", (3,), "rad/s", "sensor", "resolve", "turn-on bias"),
    Signal("gyro_walk", (), "rad/s", "", "resolve", "standard deviation of one bias step"),
    Signal("gyro_kick", (FLICKERS,), "rad/s", "", "resolve", "standard deviation of one step of its flicker"),
    Signal(
        "flicker_keep", (FLICKERS,), "-", "", "resolve", "share of a flicker process that one step leaves"
    ),
    Signal(
        "gyro_matrix",
        (3, 3),
        "-",
        "",
        "resolve, faults",
        "body axes to reading: mounting, misalignment, scale",
    ),
    Signal("gyro_g", (3, 3), "rad/s per m/s2", "", "resolve", "specific force in body axes to reading"),
    Signal("gyro_step", (), "rad/s", "", "resolve", "quantisation"),
    Signal("gyro_range", (), "rad/s", "", "resolve", "full scale"),
    Signal(
        "gyro_blend", (), "-", "", "resolve", "share of the new sample in the first-order bandwidth limit"
    ),
    Signal("gyro_lag", (), "s", "", "resolve", "1/(2 pi times the corner of that limit)"),
    Signal("accel_noise", (), "m/s2", "", "resolve", "standard deviation of one sample"),
    Signal("accel_bias", (3,), "m/s2", "sensor", "resolve", "turn-on bias"),
    Signal("accel_walk", (), "m/s2", "", "resolve", "standard deviation of one bias step"),
    Signal("accel_kick", (FLICKERS,), "m/s2", "", "resolve", "standard deviation of one step of its flicker"),
    Signal("accel_matrix", (3, 3), "-", "", "resolve", "body axes to reading: mounting, misalignment, scale"),
    Signal("accel_rectification", (), "s2/m", "", "resolve", "offset per mean square of vibration"),
    Signal("accel_step", (), "m/s2", "", "resolve", "quantisation"),
    Signal("accel_range", (), "m/s2", "", "resolve", "full scale"),
    Signal(
        "accel_blend", (), "-", "", "resolve", "share of the new sample in the first-order bandwidth limit"
    ),
    Signal("accel_lag", (), "s", "", "resolve", "1/(2 pi times the corner of that limit)"),
    Signal("shaking", (), "-", "", "resolve", "1 when there is an imbalance or a flexible mode, else 0"),
    Signal("imu_period", (), "s", "", "resolve", "between samples of the inertial sensor"),
    Signal(
        "imbalance", (4,), "kg m", "", "resolve, faults", "mass times distance from the axis of each rotor"
    ),
    Signal(
        "mode_share",
        (3,),
        "-",
        "body",
        "resolve",
        "of the angular acceleration that drives the flexible mode",
    ),
    Signal("mode_frequency", (), "rad/s", "", "resolve", "of that mode, undamped"),
    Signal("mode_damping", (), "-", "", "resolve", "damping ratio of that mode"),
    Signal("mode_step", (8,), "-", "", "resolve", "one sample of that mode: of its angle, then of its rate"),
    Signal("imu_delay", (), "ticks", "", "resolve", "age of a sample when the controller reads it"),
    Signal("imu_position", (3,), "m", "body", "resolve", "from the centre of mass"),
    Signal(
        "mounting_believed", (3, 3), "-", "", "resolve", "sensor axes to body axes as the controller was told"
    ),
    *PLACE_TABLE,
    Signal("motor_delay", (), "ticks", "", "resolve", "from the command computed to the command in force"),
    Signal(
        "motor_blend",
        (2, BLENDS),
        "-",
        "",
        "resolve",
        "share of the new command per tick in the ESC's lag: down, up; over the command",
    ),
    Signal("motor_every", (), "ticks", "", "resolve", "ticks between commands that the ESC takes over"),
    Signal("motor_levels", (), "-", "", "resolve", "number of command steps the ESC resolves"),
)

SENSORS = dtype_of(SENSORS_TABLE)
