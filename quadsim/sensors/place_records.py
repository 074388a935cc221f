"""Parameters and memories of the sensors that tell the place: barometer, satellite receiver, magnetometer, rangefinder, and
of what the ESCs and the current sensor report.

They sample slowly, each at its own rate, which need not divide the physics rate: sample number n is due at the first tick
at or after n times `slow_every`. It waits in a line and reaches the controller `slow_delay` ticks later.
"""

from __future__ import annotations

from enum import IntEnum

import numpy as np

from controllers.signals import F, Signal


class Slow(IntEnum):
    """Order of the slow sensors in their records."""

    BAROMETER = 0
    SATELLITE = 1
    MAGNETOMETER = 2
    RANGEFINDER = 3
    TELEMETRY = 4


KINDS = len(Slow)
SLOTS = 16
"""Samples that a delay line holds; `resolve_position_sensors` refuses delays that need more."""
WIDTH = 6
"""Numbers of one sample: at most a position and a velocity."""
NEVER = 2**62
"""A tick that does not come."""
NO_DROP = -99.0
"""Stands for the bound of a normal number under which a sample is lost, where none is."""


PLACE_TABLE = (
    Signal(
        "slow_every", (KINDS,), "ticks", "", "resolve", "between samples of each slow sensor (Slow); 0: none"
    ),
    Signal("slow_delay", (KINDS,), "ticks", "", "resolve", "from a sample to the controller"),
    Signal(
        "slow_drop", (KINDS,), "-", "", "resolve", "a sample is lost when a normal number lies below this"
    ),
    Signal("baro_noise", (), "m", "", "resolve", "standard deviation of one sample"),
    Signal("baro_blend", (), "-", "", "resolve", "share of the new sample in the sensor's own smoothing"),
    Signal("baro_scale", (), "-", "", "resolve", "height converted over height, for the day's air"),
    Signal("baro_port", (), "s2/m", "", "resolve", "height read too low per airspeed squared"),
    Signal("baro_wash", (), "m/N", "", "resolve", "height read too low per thrust, hubs on the ground"),
    Signal("baro_walk", (), "m", "", "resolve", "standard deviation of one step of its drift"),
    Signal("baro_warm_up", (2,), "m, 1/s", "", "resolve", "height gained by warming up, and its rate"),
    Signal("baro_step", (), "m", "", "resolve", "quantisation; 0: none"),
    Signal("gnss_place", (3,), "m", "body", "resolve", "antenna from the centre of mass"),
    Signal("gnss_white", (2,), "m", "", "resolve", "white part of one fix, per axis: horizontal, vertical"),
    Signal("gnss_wander", (2,), "m", "", "resolve", "slow part of a fix, standard deviation per axis"),
    Signal("gnss_keep", (), "-", "", "resolve", "share of the slow part that is left after one fix"),
    Signal("gnss_speed_noise", (), "m/s", "", "resolve", "velocity of one fix, per axis"),
    Signal("gnss_first_fix", (), "ticks", "", "resolve", "before it there is none"),
    Signal("mag_noise", (), "T", "", "resolve", "standard deviation of one sample, per axis"),
    Signal("mag_step", (), "T", "", "resolve", "quantisation; 0: none"),
    Signal(
        "mag_bias",
        (3,),
        "T",
        "body",
        "resolve",
        "what magnets and steel of the craft leave after calibration",
    ),
    Signal(
        "mag_matrix",
        (3, 3),
        "-",
        "body",
        "resolve",
        "what soft iron leaves after calibration; unity: nothing",
    ),
    Signal("mag_current", (3,), "T/A", "body", "resolve", "field of the wires per pack current"),
    Signal("range_place", (3,), "m", "body", "resolve", "rangefinder from the centre of mass"),
    Signal("range_limits", (2,), "m", "", "resolve", "least and greatest distance it measures"),
    Signal(
        "range_upright", (), "-", "", "resolve", "cosine of the greatest tilt at which it sees the ground"
    ),
    Signal("range_noise", (2,), "m, -", "", "resolve", "standard deviation: its constant, and per distance"),
    Signal("range_step", (), "m", "", "resolve", "quantisation; 0: none"),
    Signal("telemetry_step", (), "rad/s", "", "resolve", "quantisation of reported rotor speeds; 0: none"),
    Signal("current_scale", (), "-", "", "resolve", "pack current as read over what flows"),
    Signal("current_offset", (), "A", "", "resolve", "read when nothing flows"),
    Signal("current_step", (), "A", "", "resolve", "quantisation; 0: none"),
    Signal("voltage_scale", (), "-", "", "resolve", "pack voltage as read over what there is"),
    Signal("voltage_step", (), "V", "", "resolve", "quantisation; 0: none"),
)
"""Rows of the SENSORS record."""

PLACE_CARRIED = [
    ("slow_due", np.int64),
    ("slow_next", np.int64, KINDS),
    ("slow_taken", np.int64, KINDS),
    ("slow_given", np.int64, KINDS),
    ("slow_valid", F, (KINDS, SLOTS)),
    ("slow_line", F, (KINDS, SLOTS, WIDTH)),
    ("baro_smooth", F),
    ("baro_drift", F),
    ("baro_stuck", F),
    ("gnss_error", F, 3),
    ("gnss_home", F, 3),
    ("gnss_found", F),
    ("gnss_lost", F),
    ("mag_disturbance", F, 3),
    ("range_lost", F),
]
"""Fields of the CARRIED record: the next tick at which any, and at which each, slow sensor has something to do; samples taken
and handed over; the delay lines; memories and faults of each."""
