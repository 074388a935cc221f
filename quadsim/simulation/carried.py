"""What a flight carries from tick to tick besides the state: delay lines, sensor memories, counters, status."""

from __future__ import annotations

from enum import IntEnum

import numpy as np

from controllers.signals import F
from quadsim.dynamics.state import SIZE
from quadsim.sensors.place_records import PLACE_CARRIED
from quadsim.sensors.records import FLICKERS, RING

I = np.int64
NOTES = 64
"""Most notes (things that happen inside the loop) that are kept between two chunks."""


class Status(IntEnum):
    """How a flight stands; every value but FLYING ends it."""

    FLYING = 0
    DONE = 1
    CRASHED = 2
    PROPELLER_STRIKE = 3
    BATTERY_EMPTY = 4
    DIVERGED = 5
    BLOCK_NOT_FINITE = 6
    STOPPED = 7
    OVERHEATED = 8
    TIPPED_OVER = 9


class Note(IntEnum):
    """Kinds of notes: (tick, kind, value)."""

    LIFT_OFF = 0
    TOUCH_DOWN = 1
    LOAD_LIFT_OFF = 2
    LOAD_TOUCH_DOWN = 3
    LINE_TAUT = 4
    LINE_SLACK = 5
    VORTEX_RING = 6
    CASE_WARM = 7
    CASE_HOT = 8
    MAGNETS_HOT = 9
    TIP_LOUD = 10
    PROPELLER_FAST = 11
    LINK_LOST = 12
    LINK_BACK = 13
    LINK_ACTS = 14
    BATTERY_ALERT = 15
    SAFETY_MODE = 16
    MOTORS_OFF = 17
    MOTORS_ON = 18


DRIVE_NOTES = 5
"""Kinds of notes on the drive, from CASE_WARM on: each is taken once in a flight, `value` is the rotor that came first."""
CARRIED = np.dtype(
    [
        ("key", np.uint64),
        ("tick", I),
        ("rows", I),
        ("status", I),
        ("failed_block", I),
        ("value", F),
        ("touching", I),
        ("clear_looks", I),
        ("sink", F),
        ("lying_looks", I),
        ("energy", F),
        ("ring_looks", I),
        ("load_touching", I),
        ("load_clear_looks", I),
        ("load_sink", F),
        ("line_taut", I),
        ("line_slack_looks", I),
        ("notes", I),
        ("note_tick", I, NOTES),
        ("note_kind", I, NOTES),
        ("note_value", F, NOTES),
        ("note_energy", F, NOTES),
        ("said", I, DRIVE_NOTES),
        ("link_seen", F),
        ("action_seen", F),
        ("alert_seen", F),
        ("mode_seen", F),
        ("armed_seen", F),
        ("imu_due", I),
        ("imu_parts", F),
        ("imu_count", I),
        ("gyro_clipped", I),
        ("accel_clipped", I),
        ("gyro_trouble", I),
        ("accel_trouble", I),
        ("wiring", I, 4),
        ("disconnected", F, 4),
        ("rotor_phase", F, 4),
        ("mode", F, (3, 2)),
        ("mode_drive", F, 3),
        ("shake_rate", F, 3),
        ("shake_accel", F, 3),
        ("shake_raw", F, (2, 3)),
        ("shake_offset", F, 3),
        ("gyro_smooth", F, 3),
        ("accel_smooth", F, 3),
        ("gyro_bias", F, 3),
        ("accel_bias", F, 3),
        ("gyro_flicker", F, (3, FLICKERS)),
        ("accel_flicker", F, (3, FLICKERS)),
        ("gyro_line", F, (RING, 3)),
        ("accel_line", F, (RING, 3)),
        *PLACE_CARRIED,
        ("wind_row", I),
        ("wind_along", F, 2),
        ("eddies", F, 5),
        ("eddy_step", F, (2, 5)),
        ("eddy_sigma", F, 2),
        ("motor_line", F, (RING, 4)),
        ("motor_taken", F, 4),
        ("motor_smooth", F, 4),
        ("blend_down", F, 4),
        ("blend_up", F, 4),
    ],
    align=True,
)
"""Zeroed at the start of a flight, then owned by the flight loop."""

MOTION = np.dtype([(name, F, SIZE) for name in ("x", "k1", "k", "y", "total")], align=True)
"""The state and the stepper's scratch. As fields of a record they cost the compiled loop no reference counting of
arrays handed over from Python."""

CLOCK = np.dtype(
    [
        ("h", F),
        ("every", I, 5),
        ("command_every", I),
        ("log_every", I),
        ("refresh_every", I),
        ("stick_delay", I),
        ("stick_every", I),
        ("stick_steps", F),
        ("trim", F, 3),
        ("semi_implicit", I),
    ],
    align=True,
)
"""The clock of a flight: physics step [s], ticks between runs of each block, reads of commands, log rows and refreshes;
and what the radio link does to the sticks: delay and interval [ticks], steps over the travel, trims."""

COMMAND_FIELDS = ("mode", "link", "roll", "pitch", "yaw", "throttle",
                  "target_roll", "target_pitch", "target_yaw", "target_height", "target_north", "target_east",
                  "velocity_north", "velocity_east", "velocity_down",
                  "acceleration_north", "acceleration_east", "acceleration_down")  # fmt: skip
"""Columns of the command table, one row per guide interval."""
