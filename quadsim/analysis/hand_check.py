"""What the motors must do when a builder tips and turns the craft by hand, propellers off, before it is armed for a flight.

The craft's own blocks, from estimate to allocate, run on the signals that its sensors would give of the hand's motion. Nothing
flies here: a motor without a propeller moves nothing, so the hand alone decides how the craft turns.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from controllers.contract import SLOTS
from quadsim.config import Craft
from quadsim.config.flight_schema import FaultSection, FlightFile
from quadsim.constants import G0
from quadsim.dynamics.state import ROTOR_NAMES
from quadsim.simulation.faults import apply_fault
from quadsim.simulation.session import Session
from quadsim.units import DEG

SETTLE_S, MOVE_S, HOLD_S = 0.2, 0.8, 0.3
"""Level, moving and held still afterwards [s]. 0.8 s for 20 deg: a calm hand, yet fast enough not to pass for standing still."""

TILT_DEG, TURN_DEG, RUNAWAY_DEG = 20.0, 45.0, 10.0
THROTTLE_SHARE = 0.5
"""Throttle stick of the check as a share of its place in hover: well below lift-off, with room either way."""

CLEAR_PCT = 0.5
"""Change of a motor command that counts as an answer [% of full]; assumed, hardly audible below."""

RUNAWAY_S = 10.0
"""How long a motor is given to run away [s]."""

FULL = 0.999
GUIDE = SLOTS.index("guide")


@dataclass(frozen=True)
class Motion:
    """A motion of the hand: by how much, about which body axis, and in words."""

    words: str
    axis: int
    angle_deg: float


MOTIONS = (
    Motion("nose down", 1, -TILT_DEG),
    Motion("nose up", 1, TILT_DEG),
    Motion("right side down", 0, TILT_DEG),
    Motion("left side down", 0, -TILT_DEG),
    Motion("turned clockwise", 2, TURN_DEG),
    Motion("turned counter-clockwise", 2, -TURN_DEG),
)
"""Axes forward, right, down: a positive turn about them lowers the right side, raises the nose, goes clockwise from above."""


@dataclass(frozen=True)
class Answer:
    """How the motors answer a motion: change of the command of each against level [% of full command]."""

    motion: str
    mode: str
    while_: str
    change_pct: tuple[float, ...]

    @property
    def signs(self) -> tuple[int, ...]:
        """+1 speeds up, -1 slows down, 0 stays, per rotor."""
        return tuple(int(np.sign(c)) if abs(c) >= CLEAR_PCT else 0 for c in self.change_pct)


@dataclass(frozen=True)
class RunAway:
    """Motors while the craft is held tilted: with the integrators on, as in the air, and on the ground as they are."""

    tilt_deg: float
    level_pct: float
    first_pct: float
    last_pct: float
    seconds_to_full: float | None
    ground_drift_pct: float


class HandBench:
    """A craft's control chain in somebody's hands.

    Parameters
    ----------
    craft : checked craft
    mode : response type, `attitude_command` or `rate_command`
    fault : a wiring mistake, as a flight file states it
    """

    def __init__(self, craft: Craft, mode: str, fault: FaultSection | None = None) -> None:
        flight = FlightFile.model_validate(
            {"title": "hand check", "craft": craft.name, "duration_s": 1.0, "start": {"mode": mode}}
        )
        self.session = session = Session(craft, flight)
        if fault is not None:
            apply_fault(fault, session.held, session.sensors, session.carried)
        session.signals.mode = session.commands[0, 0]
        session.signals.link = session.signals.armed = 1.0
        session.signals.battery_voltage = session.builder.nominal_voltage
        guide, gains = session.blocks[GUIDE], session.gains[GUIDE]
        hover_at = next((gains[g] for g in guide.gains if g.name == "THROTTLE_HOVER_AT"), 0.0)
        session.signals.stick[3] = THROTTLE_SHARE * (hover_at or float(session.builder.hover_throttle))
        self.every = session.rates.every
        self.stride = int(np.gcd.reduce(self.every))
        self.ticks = 0

    def run(self, seconds: float, motion: Motion | None, in_air: bool = False) -> NDArray[np.float64]:
        """Motor commands at the motors, one row per run of the fastest block, shape (n, 4); `motion` takes all of `seconds`."""
        h, first = self.session.h, self.ticks
        count = math.ceil(seconds / (h * self.stride))
        rows = np.empty((count, 4))
        for k in range(count):
            self._sense(motion, (self.ticks - first) * h / seconds, seconds)
            self._run_blocks(in_air)
            rows[k] = np.asarray(self.session.signals.motor)[self.session.carried.wiring]
            self.ticks += self.stride
        return rows

    def hold(self, seconds: float, axis: int, angle_deg: float, in_air: bool = False) -> NDArray[np.float64]:
        """As `run`, held still at an angle."""
        self._still = (axis, angle_deg)
        rows = self.run(seconds, None, in_air)
        self._still = (0, 0.0)
        return rows

    _still = (0, 0.0)

    def _sense(self, motion: Motion | None, share: float, seconds: float) -> None:
        """Gyroscope and accelerometer, free of noise and bias, through the mounting as it is and as it is believed."""
        axis, angle = self._still
        rate = np.zeros(3)
        if motion is not None:
            axis, angle = motion.axis, motion.angle_deg * 0.5 * (1.0 - math.cos(math.pi * share))
            rate[axis] = motion.angle_deg * DEG * 0.5 * math.pi / seconds * math.sin(math.pi * share)
        c, s = math.cos(angle * DEG), math.sin(angle * DEG)
        up = ((0.0, -s, -c), (s, 0.0, -c), (0.0, 0.0, -1.0))[axis]  # of the world, in body axes
        sensors, signals = self.session.sensors, self.session.signals
        seen, believed = np.asarray(sensors.mounting), np.asarray(sensors.mounting_believed)
        signals.gyro[:] = believed @ (np.asarray(self.session.carried.gyro_sign) * (seen @ rate))
        signals.accel[:] = believed @ (seen @ (G0 * np.array(up)))
        signals.t = self.ticks * self.session.h

    def _run_blocks(self, in_air: bool) -> None:
        for slot, every in enumerate(self.every):
            if self.ticks % every == 0:
                self.session.signals.dt = every * self.session.h
                self.session.run_block(slot)
                if slot == GUIDE and in_air:
                    self.session.signals.airborne = 1.0


def answer(craft: Craft, motion: Motion, mode: str, fault: FaultSection | None = None) -> Answer:
    """How the motors answer one motion: held afterwards where the attitude counts, else in the middle of the motion."""
    bench = HandBench(craft, mode, fault)
    level = bench.run(SETTLE_S, None)[-1]
    moving = bench.run(MOVE_S, motion)
    held = mode == "attitude_command" and motion.axis < 2
    there = bench.hold(HOLD_S, motion.axis, motion.angle_deg)[-1] if held else moving[len(moving) // 2]
    change = tuple(float(c) for c in 100.0 * (there - level))
    return Answer(motion.words, mode, "held there" if held else "while it turns", change)


def answers(craft: Craft) -> list[Answer]:
    """The whole table: every motion in both response types."""
    return [answer(craft, motion, mode) for mode in ("attitude_command", "rate_command") for motion in MOTIONS]


def run_away(craft: Craft) -> RunAway:
    """Nose held down: the front motors run up with the integrators on, and stand with the integrators waiting for lift-off."""
    motion = Motion("nose down", 1, -RUNAWAY_DEG)
    front = [ROTOR_NAMES.index("front_right"), ROTOR_NAMES.index("front_left")]
    results = []
    for in_air in (True, False):
        bench = HandBench(craft, "attitude_command")
        level = bench.run(SETTLE_S, None, in_air)[-1, front].max()
        bench.run(MOVE_S, motion, in_air)
        seconds = RUNAWAY_S if in_air else 2.0
        rows = bench.hold(seconds, 1, -RUNAWAY_DEG, in_air)[:, front].max(axis=1)
        results.append((level, rows, seconds / len(rows)))
    (_, air, step), (level, ground, _) = results
    full = np.flatnonzero(air >= FULL)
    return RunAway(
        tilt_deg=RUNAWAY_DEG,
        level_pct=100.0 * float(level),
        first_pct=100.0 * float(air[0]),
        last_pct=100.0 * float(air[-1]),
        seconds_to_full=float(full[0] * step) if full.size else None,
        ground_drift_pct=100.0 * float(ground[-1] - ground[len(ground) // 2]),
    )
