"""A practice flight: a live flight on a course, with lap clock, strikes, aids and a quick restart."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from controllers.signals import Mode
from quadsim.config import Craft
from quadsim.config.course import Course
from quadsim.config.flight_schema import FlightFile, StartSection
from quadsim.config.wind_schema import TurbulenceSection, WindSection
from quadsim.kinematics.quaternion import rotation_matrix
from quadsim.practice.aids import Aids
from quadsim.practice.course_frame import from_its_start, start_shift
from quadsim.practice.course_record import course_record
from quadsim.practice.lap_watch import LapWatch, Miss, Passage
from quadsim.practice.strikes import Obstacles, body_of, struck_words
from quadsim.simulation.carried import COMMAND_FIELDS, Status
from quadsim.simulation.fly import finish, sentence, snapshot, start
from quadsim.simulation.rewind import Mark, mark, rewind
from quadsim.simulation.run import Event, Run
from quadsim.simulation.session import Session

LOG_RATE_HZ = 200.0
"""Rows of the log: the picture, strikes and gates are taken from them; at 40 m/s one every 0.2 m."""
LONGEST_S = 300.0
"""An attempt ends after this time [s]."""
OUT_S = 1.0
"""Time flown on after the last lap [s]."""
SET_BACK_S, KEPT_EVERY_S, KEPT = 2.0, 0.5, 8
"""How far a crash sets back where that is forgiven, how often the flight is marked for it [s], and how many marks are kept."""
SOFT_M_S = 1e3
"""Sink rate at which a landing breaks the craft where the ground forgives [m/s]: it bounces on its feet instead."""
AHEAD_S = 1.0
"""Sticks are written this far ahead [s]; they are set anew at every frame."""
SHORT = 2
"""A gate's name of so many letters is a number or a letter, and says by itself not that it is a gate's."""
BACK = "a crash set the flight back"
_STICK = COMMAND_FIELDS.index("roll")
PILOT_MODES = {
    "height": Mode.HEIGHT_HOLD,
    "attitude": Mode.ATTITUDE_COMMAND,
    "rate": Mode.RATE_COMMAND,
    "position": Mode.POSITION_HOLD,
}


@dataclass(frozen=True)
class _Kept:
    """A moment to be set back to."""

    t_s: float
    mark: Mark
    watch: LapWatch
    seen: int


class PracticeFlight:
    """Flies attempt after attempt at a course. Time 0 is the start signal.

    Parameters
    ----------
    course : in its own axes; the flight's origin is its start place
    craft : with the stick shaping, gains and video that are practised with
    mode : response type at the start: a key of PILOT_MODES
    wind : none if absent
    """

    def __init__(
        self, course: Course, craft: Craft, *, mode: str = "height", seed: int = 1, wind: WindSection | None = None,
        blocks: Mapping[str, str] | None = None,
    ) -> None:  # fmt: skip
        self._laid = course
        self.course, self.shift = from_its_start(course), start_shift(course)
        self.windy = wind is not None
        began = self.course.start
        flight = FlightFile(
            title=course.name, craft=craft.name, duration_s=LONGEST_S, log_rate_Hz=LOG_RATE_HZ, seed=seed,
            start=StartSection(
                mode=PILOT_MODES[mode].name.lower(), heading_deg=math.degrees(began.heading),
                height_m=max(0.0, -float(began.place[2])),
            ),
            wind=wind or WindSection(),
        )  # fmt: skip
        self._session = start(flight, craft=craft, blocks=blocks)
        self.mode = PILOT_MODES[mode]
        self._seed = seed
        self._log = {
            name: np.asarray(self._session.truth[name]) for name in ("t", "position", "velocity", "attitude")
        }
        self._whole = _whole_log(self._session)
        self._winds = np.array(self._session.winds)
        self._begin = mark(self._session)
        self._crash_speed = float(self._session.plant.crash_speed)
        self.body = body_of(self._session.view)
        self.obstacles = Obstacles(self.course, self.body)
        self.watch = LapWatch(self.course)
        self.aids = Aids()
        self.attempt = 0
        self.restart()

    def restart(self) -> None:
        """A new attempt from the start place, with other turbulence and noise."""
        session = self._session
        rewind(session, self._begin)
        self.attempt += 1
        session.seed = self._seed + self.attempt - 1
        session.carried.key = np.uint64(session.seed)
        self.watch.reset()
        self.struck = ""
        self.used_aids: set[str] = set()
        self.sticks: list[tuple[float, float, float, float, float]] = []
        self.set_backs = 0
        self.closest_m = math.inf
        self.news: list[Passage | Miss] = []
        self._seen, self._owed = 0, 0.0
        self._out_s = math.inf
        self._kept: list[_Kept] = []
        self._apply_aids()
        self.set_mode(self.mode)

    def set_aids(self, aids: Aids) -> None:
        """Change the aids; those that change the flight are remembered with the attempt."""
        self.aids = aids
        self._apply_aids()

    def _apply_aids(self) -> None:
        """Wind as the flight has it, or none: the mean and the gusts; turbulence follows its strength. And the ground."""
        self._session.plant.crash_speed = SOFT_M_S if self.aids.forgiving else self._crash_speed
        session, calm = self._session, self.aids.calm
        session.winds[...] = self._winds
        session.gusts[...] = self._begin.arrays["gusts"]
        session.wind.sigma_w = self._begin.records["wind"].sigma_w
        if calm:
            session.winds[:, 1:] = 0.0
            session.wind.sigma_w = 0.0
            for gust in session.gusts:
                gust.velocity[:] = 0.0

    def advance(self, duration_s: float) -> None:
        """Fly on by `duration_s` of flight time; fractions of a tick are owed to the next call."""
        if self.finished:
            return
        self.used_aids.update(self.aids.helping(self.windy))
        ticks = duration_s / self.time_step_s + self._owed
        whole = int(ticks + 1e-9)
        self._owed = ticks - whole
        self._session.advance(whole)
        self._look()
        if self.aids.forgiving and self._fallen:
            self._set_back()
        elif self.aids.forgiving and not self.finished and self.t_s - self._kept_s >= KEPT_EVERY_S:
            self._keep()

    def _look(self) -> None:
        """Gates and strikes in the rows that came since the last look."""
        session, log = self._session, self._log
        for k in range(max(self._seen, 1), session.rows):
            before, after = log["position"][k - 1], log["position"][k]
            t0, t1 = float(log["t"][k - 1]), float(log["t"][k])
            down = np.array(rotation_matrix(*log["attitude"][k].tolist())).reshape(3, 3)[:, 2]
            for one in self.watch.see(t0, before, t1, after, log["velocity"][k]):
                self.news.append(one)
                session.events.append(Event(one.t_s, "timeline", words(one)))
            what, room = self.obstacles.meet(before, after, down)
            self.closest_m = min(self.closest_m, room)
            if what:
                self.struck = what
                session.rows = k + 1
                break
            if self.watch.finished and math.isinf(self._out_s):
                self._out_s = t1 + OUT_S
        self._seen = session.rows

    @property
    def _kept_s(self) -> float:
        """Time of the newest mark [s]."""
        return self._kept[-1].t_s if self._kept else -math.inf

    @property
    def _fallen(self) -> bool:
        """True after a strike, or where the flight loop ended the flight."""
        return bool(self.struck) or (
            self._session.finished and int(self._session.carried.status) != Status.DONE
        )

    def _keep(self) -> None:
        self._kept.append(_Kept(self.t_s, mark(self._session, commands=False), self.watch.copy(), self._seen))
        del self._kept[:-KEPT]

    def _set_back(self) -> None:
        """To the newest mark that is SET_BACK_S old, or the oldest there is."""
        now = self.t_s
        older = [one for one in self._kept if now - one.t_s >= SET_BACK_S] or self._kept[:1]
        if not older:
            self.restart()
            return
        chosen = older[-1]
        rewind(self._session, chosen.mark)
        self.watch, self._seen = chosen.watch.copy(), chosen.seen
        self.struck = ""
        self._kept = self._kept[: self._kept.index(chosen) + 1]
        self.sticks = [row for row in self.sticks if row[0] <= chosen.t_s]
        self.set_backs += 1
        self.news.clear()
        self._session.events.append(Event(self.t_s, "timeline", BACK))

    def set_sticks(self, roll: float, pitch: float, yaw: float, throttle: float) -> None:
        """Hold the sticks from now on: roll, pitch, yaw -1..1, throttle 0..1."""
        row = self._row()
        ahead = math.ceil(AHEAD_S / (int(self._session.clock.command_every) * self.time_step_s))
        self._session.commands[row : row + ahead, _STICK : _STICK + 4] = roll, pitch, yaw, throttle
        self.sticks.append((self.t_s, roll, pitch, yaw, throttle))

    def set_mode(self, mode: Mode | int) -> None:
        """Response type from now on."""
        self.mode = Mode(mode)
        self._session.commands[self._row() :, 0] = self.mode

    def _row(self) -> int:
        """First row of the command table that has not been read."""
        session = self._session
        interval = int(session.clock.command_every)
        return min(-(-int(session.carried.tick) // interval), session.commands.shape[0] - 1)

    @property
    def clock_s(self) -> float | None:
        """The lap clock [s]; None before it has started."""
        return self.watch.clock_s(self.t_s)

    @property
    def seed(self) -> int:
        """Seed of this attempt."""
        return int(self._session.seed)

    @property
    def now(self) -> tuple[np.ndarray, np.ndarray, np.ndarray] | None:
        """Newest place [m] and velocity [m/s], north-east-down, and attitude quaternion; None before the first row."""
        k = self._session.rows - 1
        return (
            (self._log["position"][k], self._log["velocity"][k], self._log["attitude"][k]) if k >= 0 else None
        )

    @property
    def counts(self) -> bool:
        """True when a lap of this attempt may be a best lap."""
        return not self.used_aids and not self.set_backs

    @property
    def over(self) -> str:
        """Why the attempt has ended, in a sentence; empty while it goes on."""
        if self.struck:
            return struck_words(self.struck)
        if self._session.finished:
            return sentence(self._session)
        if self.t_s >= self._out_s:
            laps = len(self.watch.laps)
            return f"{laps} laps flown" if laps > 1 else "flown"
        return ""

    @property
    def finished(self) -> bool:
        """True once the attempt has ended."""
        return bool(self.struck) or self._session.finished or self.t_s >= self._out_s

    @property
    def craft(self) -> Craft:
        """The craft that is flown."""
        return self._session.craft

    @property
    def run(self) -> Run:
        """The attempt so far."""
        session, whole = self._session, self._whole
        run = replace(
            whole, data={name: column[: session.rows] for name, column in whole.data.items()}, events=list(session.events),
            status=Status(int(session.carried.status)).name.lower(), status_text=sentence(session),
            meta={**whole.meta, "seed": self.seed},
        )  # fmt: skip
        if self.struck:
            run.status, run.status_text = "crashed", f"{struck_words(self.struck)} after {self.t_s:.2f} s"
        elif self.watch.finished:
            run.status, run.status_text = "done", f"course flown in {self.watch.laps[-1].time_s:.2f} s"
        return run

    def judged(self, extra: Mapping[str, Any]) -> Run:
        """The attempt as a run file keeps it, with metrics; `extra` goes into its `meta` under `practice`."""
        now, judged = self.run, finish(self._session, 0.0)
        judged.status, judged.status_text = now.status, now.status_text
        judged.events[-1] = replace(
            judged.events[-1], text=now.status_text
        )  # of the course, not of the flight loop
        judged.meta["practice"] = course_record(self._laid, self.watch.passages) | dict(extra)
        return judged

    @property
    def t_s(self) -> float:
        """Time of the next tick [s]."""
        return self._session.t_s

    @property
    def time_step_s(self) -> float:
        """The physics step [s]."""
        return self._session.h


def _whole_log(session: Session) -> Run:
    """A run over the whole length of the log, of which a frame takes the rows there are: a new one at every frame costs more."""
    rows, session.rows = session.rows, len(session.truth)
    try:
        return snapshot(session)
    finally:
        session.rows = rows


def steady_wind(speed_m_s: float, from_deg: float) -> WindSection:
    """A wind for practice: logarithmic over the height, with the turbulence that goes with its mean."""
    return WindSection(
        speed_m_s=speed_m_s,
        from_deg=from_deg % 360.0,
        profile="log",
        turbulence=TurbulenceSection(intensity="mean"),
    )


def words(one: Passage | Miss) -> str:
    """What happened at a gate, for the event list."""
    name = f"gate {one.name}" if len(one.name) <= SHORT else one.name
    if isinstance(one, Passage):
        return f"{name} at {one.speed_m_s:.1f} m/s, {one.split_s:.2f} s"
    return f"{name} missed: {one.how}"
