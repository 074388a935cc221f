"""The crew that flies a dash in the simulation: both ways along a straight, by the law of quadsim.contest.straight.

It sees the true airspeed, as a crew with a speed trap and a wind vane does, and asks the guide for pitch, heading and height.
What the flight controller makes of that, with its own sensors, is what the flight is to show.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np

from quadsim.contest.rules import DashRule
from quadsim.contest.straight import (
    LONGEST_S,
    PITCH_RATE,
    SPARE,
    STEP_S,
    STOPPED_M_S,
    Aim,
    Legs,
    run_aim,
    stop_aim,
)
from quadsim.dynamics.state import X
from quadsim.simulation.carried import COMMAND_FIELDS
from quadsim.simulation.session import Session

PITCH, HEADING = COMMAND_FIELDS.index("target_pitch"), COMMAND_FIELDS.index("target_yaw")
LEARN = 0.008
"""Tilt per airspeed missing and second [rad/m]: makes up for what the estimate of the attitude is off; our choice."""
NEAR = 1.5
"""Airspeed missing below which the crew corrects [m/s]: not while it is still speeding up."""
SETTLE_S = 1.0
WATCHED = 25
"""Moments between two looks of whoever watches: half a second of flight."""


@dataclass
class Leg:
    """One run as marked by the crew: the way ahead, +1 north, -1 south; wind from behind [m/s]; places along the way [m] and
    times [s] of the lean-in, of both gates and of the stop."""

    way: float
    wind: float
    begun_s: float = math.nan
    begun_m: float = math.nan
    gates_m: tuple[float, float] = (math.nan, math.nan)
    braked_s: float = math.nan
    stopped_s: float = math.nan
    stopped: bool = False


@dataclass
class Crew:
    """Flies a session that hovers: `fly(ways)` makes one run or two.

    greatest : tilt that rule and craft allow [rad]; speed : airspeed wanted [m/s]; watch : called now and then
    """

    session: Session
    rule: DashRule
    legs: Legs
    speed: float
    greatest: float
    made: list[Leg] = field(default_factory=list)
    asked: float = 0.0
    learnt: float = 0.0
    watch: Callable[[], None] | None = None
    steered: int = 0

    def fly(self, ways: int = 2) -> list[Leg]:
        """The runs as far as the flight got."""
        for k in range(ways):
            self.asked = float(self.legs.hover[k])
            self._hover(k, SETTLE_S if k == 0 else self.rule.between_s)
            leg = Leg(1.0 - 2.0 * k, float(self.legs.wind[k]))
            self.made.append(leg)
            self._run(leg, k)
            self._brake(leg, k)
        return self.made

    def _run(self, leg: Leg, k: int) -> None:
        aim = run_aim(np.array(self.speed), self.legs.lean[k], self.greatest)
        leg.begun_s, leg.begun_m = self.session.t_s, self._along(leg.way)
        room = SPARE * float(self.legs.run_up_m[k]) if self.rule.run_up_m is None else self.rule.run_up_m
        first = leg.begun_m + (room if self.rule.start == "flying" else 0.0)
        leg.gates_m = first, first + self.rule.course_m
        until = leg.begun_s + self._patience(k)
        while self._along(leg.way) < leg.gates_m[1] and self._goes_on(until):
            self._steer(aim, leg.way, leg.wind)
        leg.braked_s = self.session.t_s

    def _patience(self, k: int) -> float:
        ground = max(self.speed + float(self.legs.wind[k]), 1.0)
        return min(
            2.0 * SPARE * float(self.legs.run_up_s[k]) + 2.0 * self.rule.course_m / ground, 2.0 * LONGEST_S
        )

    def _brake(self, leg: Leg, k: int) -> None:
        self.learnt = 0.0
        aim, until = self._stop(k), self.session.t_s + LONGEST_S
        while self._ahead(leg.way) > STOPPED_M_S and self._goes_on(until):
            self._steer(aim, leg.way, leg.wind)
        leg.stopped_s, leg.stopped = self.session.t_s, self._ahead(leg.way) <= STOPPED_M_S

    def _hover(self, k: int, seconds: float) -> None:
        """Turned to the way of run `k`."""
        self.session.commands[self._row() :, HEADING] = math.pi * k
        aim, until = self._stop(k), self.session.t_s + seconds
        while self._goes_on(until):
            self._steer(aim, 1.0 - 2.0 * k, float(self.legs.wind[k]))
        self.learnt = 0.0

    def _stop(self, k: int) -> Aim:
        return stop_aim(self.legs.calm[k], self.legs.hover[k])

    def _goes_on(self, until: float) -> bool:
        return self.session.t_s < until and not self.session.finished

    def _along(self, way: float) -> float:
        return way * float(self.session.x[X.POSITION])

    def _ahead(self, way: float) -> float:
        return way * float(self.session.x[X.VELOCITY])

    def _steer(self, aim: Aim, way: float, wind: float) -> None:
        """Ask for a pitch, and fly on for a moment."""
        airspeed = self._ahead(way) - wind
        missing = float(aim.airspeed) - airspeed
        if abs(missing) < NEAR:
            self.learnt += STEP_S * LEARN * missing
        wanted = min(float(aim.tilt(np.array(airspeed))) + self.learnt, self.greatest)
        most = PITCH_RATE * STEP_S
        self.asked += min(max(wanted - self.asked, -most), most)
        row = self._row()
        self.session.commands[row : row + self.ahead, PITCH] = -self.asked
        self.session.advance(round(STEP_S / self.session.h))
        self.steered += 1
        if self.watch is not None and self.steered % WATCHED == 0:
            self.watch()

    @property
    def ahead(self) -> int:
        """Rows of the command table that two moments read: what lies farther ahead is written in time."""
        return math.ceil(2.0 * STEP_S / (float(self.session.h) * int(self.session.clock.command_every)))

    def _row(self) -> int:
        """First row of the command table that has not been read."""
        return -(-int(self.session.carried.tick) // int(self.session.clock.command_every))
