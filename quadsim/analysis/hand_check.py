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
from quadsim.analysis.chain_run import run_chain
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

FULL_PCT = 99.9
Numbers = NDArray[np.float64]
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
    ends_pct: float
    """Where the front motors end with the integrators on [% of full command], `seconds` after the hand begins; `full`: at
    their stop, else where the integrators are limited."""
    seconds: float
    full: bool
    ground_pct: float
    """Where they stand with the integrators waiting, and by how much they drift while held there."""
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

    def run(self, seconds: float, motion: Motion | None, in_air: bool = False) -> Numbers:
        """Motor commands at the motors, one row per run of the fastest block, shape (n, 4); `motion` takes all of `seconds`."""
        axis, whole = (motion.axis, motion.angle_deg * DEG) if motion else (0, 0.0)
        share = np.arange(self.count(seconds)) / self.count(seconds)
        angle = whole * 0.5 * (1.0 - np.cos(math.pi * share))
        return self._run(axis, angle, whole * 0.5 * math.pi / seconds * np.sin(math.pi * share), in_air)

    def hold(self, seconds: float, motion: Motion, in_air: bool = False) -> Numbers:
        """As `run`, held still at the end of a motion."""
        still = np.full(self.count(seconds), motion.angle_deg * DEG)
        return self._run(motion.axis, still, np.zeros_like(still), in_air)

    def count(self, seconds: float) -> int:
        return math.ceil(seconds / (self.session.h * self.stride))

    def _run(self, axis: int, angle: Numbers, rate: Numbers, in_air: bool) -> Numbers:
        """Gyroscope and accelerometer without noise and bias, as they are mounted and as that is believed."""
        session, sensors, zero = self.session, self.session.sensors, np.zeros_like(angle)
        c, s = np.cos(angle), np.sin(angle)
        up = ((zero, -s, -c), (s, zero, -c), (zero, zero, zero - 1.0))[axis]  # of the world, in body axes
        turn = np.zeros((3, len(angle)))
        turn[axis] = rate
        believed = np.asarray(sensors.mounting_believed)
        gyro = np.ascontiguousarray((believed @ np.asarray(sensors.gyro_matrix) @ turn).T)
        accel = np.ascontiguousarray((believed @ np.asarray(sensors.accel_matrix) @ (G0 * np.array(up))).T)
        motors = np.empty((len(angle), 4))
        run_chain(
            self.ticks, self.stride, session.rates.every, session.h, gyro, accel, float(in_air), session.signals,
            session.builder, session.gains, session.memory, session.chain, motors,
        )  # fmt: skip
        self.ticks += self.stride * len(angle)
        return motors[:, session.carried.wiring]


def answer(craft: Craft, motion: Motion, mode: str, fault: FaultSection | None = None) -> Answer:
    """How the motors answer one motion: held afterwards where the attitude counts, else in the middle of the motion."""
    bench = HandBench(craft, mode, fault)
    level = bench.run(SETTLE_S, None)[-1]
    moving = bench.run(MOVE_S, motion)
    held = mode == "attitude_command" and motion.axis < 2
    there = bench.hold(HOLD_S, motion)[-1] if held else moving[len(moving) // 2]
    change = tuple(float(c) for c in 100.0 * (there - level))
    return Answer(motion.words, mode, "held there" if held else "while it turns", change)


def answers(craft: Craft) -> list[Answer]:
    """The whole table: every motion in both response types."""
    return [
        answer(craft, motion, mode) for mode in ("attitude_command", "rate_command") for motion in MOTIONS
    ]


def run_away(craft: Craft) -> RunAway:
    """Nose held down: the front motors run up with the integrators on, and stand with the integrators waiting for lift-off."""
    motion = Motion("nose down", 1, -RUNAWAY_DEG)
    front = [ROTOR_NAMES.index("front_right"), ROTOR_NAMES.index("front_left")]
    commands = []
    for in_air in (True, False):
        bench = HandBench(craft, "attitude_command")
        parts = (
            bench.run(SETTLE_S, None, in_air)[-1:],
            bench.run(MOVE_S, motion, in_air),
            bench.hold(RUNAWAY_S, motion, in_air),
        )
        commands.append(100.0 * np.concatenate(parts)[:, front].max(axis=1))
    air, ground = commands
    step, moved = bench.stride * bench.session.h, bench.count(MOVE_S)
    stops = int(np.argmax(air >= air[0] + 0.99 * (air[-1] - air[0])))
    return RunAway(
        tilt_deg=RUNAWAY_DEG,
        level_pct=float(air[0]),
        ends_pct=float(air[-1]),
        seconds=stops * step,
        full=bool(air[-1] >= FULL_PCT),
        ground_pct=float(ground[-1]),
        ground_drift_pct=float(np.ptp(ground[moved + 1 + bench.count(HOLD_S) :])),
    )
