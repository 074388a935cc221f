"""The clock of the viewer: replay at any pace, or a live flight flown in fixed steps with a capped catch-up."""

from __future__ import annotations

import time
from collections import deque
from collections.abc import Callable
from typing import Protocol

from controllers.signals import Mode
from quadsim.simulation.run import Run
from quadsim.viewer.track import Track

PACES = (1 / 16, 1 / 8, 1 / 4, 1 / 2, 1.0, 2.0, 4.0, 8.0, 16.0)
REAL_TIME = PACES.index(1.0)
BUDGET_S = 0.010
"""Wall time that a frame may spend on physics [s]: what is left of 1/60 s after drawing; assumed."""
SLICE_S, LONGEST_SLICE_S = 0.004, 0.017
"""Flight time flown between two looks at the wall clock [s]: the longer, a frame's in one go, where that is cheap."""
CHEAP = 0.2
"""A slice that takes less than this share of the budget makes the next one twice as long."""
BEHIND_S = 0.1
"""Wall time that may be owed to a live flight [s]; beyond it the clock gives up the rest and re-synchronises."""
MEASURED_S = 1.0
"""The real pace is measured over this wall time [s]."""


class LiveFlight(Protocol):
    """A flight that is flown while it is watched."""

    @property
    def run(self) -> Run:
        """The flight so far; columns grow."""

    @property
    def finished(self) -> bool:
        """True once the flight has ended."""

    @property
    def t_s(self) -> float:
        """Time flown [s]."""

    @property
    def time_step_s(self) -> float:
        """Physics step [s]."""

    def advance(self, duration_s: float) -> None:
        """Fly on."""

    def set_sticks(self, roll: float, pitch: float, yaw: float, throttle: float) -> None:
        """Sticks from now on: roll, pitch, yaw -1..1, throttle 0..1."""

    def set_mode(self, mode: Mode) -> None:
        """Response type from now on."""


class Playback:
    """Where the viewer stands in time and how it moves on.

    In a live flight the newest row is the edge: at the edge, playing flies the flight on; behind it, playing replays
    until the edge is reached.
    """

    def __init__(
        self, track: Track, live: LiveFlight | None, start_s: float = 0.0,
        wall: Callable[[], float] = time.perf_counter,
    ) -> None:  # fmt: skip
        self.track, self.live, self._wall = track, live, wall
        self.t_s = min(max(start_s, 0.0), track.end_s)
        self.playing = True
        self._pace = REAL_TIME
        self._owed, self._slice_s = 0.0, SLICE_S
        self.dropped_s = 0.0
        """Wall time given up so far because the physics could not follow [s]."""
        self._seen: deque[tuple[float, float]] = deque()

    @property
    def asked(self) -> float:
        """Pace asked for, flight seconds per second."""
        return PACES[self._pace]

    @property
    def at_edge(self) -> bool:
        """True at the newest row."""
        return self.t_s >= self.track.end_s - 1e-9

    @property
    def over(self) -> bool:
        """True when there is nothing left to play."""
        return self.at_edge and (self.live is None or self.live.finished)

    @property
    def word(self) -> str:
        """How the clock stands, in a word."""
        if self.over:
            return "ended"
        if not self.playing:
            return "paused"
        if self.live is not None:
            return "live" if self.at_edge else "looking back"
        return "playing"

    def faster(self, notches: int) -> None:
        """Change the pace by doublings."""
        self._pace = min(max(self._pace + notches, 0), len(PACES) - 1)
        self._seen.clear()

    def real_time(self) -> None:
        """Back to one second per second."""
        self._pace = REAL_TIME

    def toggle(self) -> None:
        """Play or pause; at the end of a replay, play from the start."""
        if self.over and self.live is None:
            self.seek(0.0)
            self.playing = True
        else:
            self.playing = not self.playing
        self._owed = 0.0

    def seek(self, t_s: float) -> None:
        """Go to a time that has been flown."""
        self.t_s = min(max(t_s, 0.0), self.track.end_s)
        self._owed = 0.0
        self._seen.clear()

    def step(self, rows: int) -> None:
        """Pause and go some log rows back or on; at the edge of a live flight, fly one row on."""
        self.playing = False
        k = self.track.index(self.t_s) + rows
        if rows > 0 and k >= len(self.track) and self.live is not None and not self.live.finished:
            self.live.advance(self._row_s())
            self.track.refresh(self.live.run)
            k = len(self.track) - 1
        self.seek(float(self.track["t"][min(max(k, 0), len(self.track) - 1)]))

    def _row_s(self) -> float:
        t = self.track["t"]
        return float(t[-1] - t[-2]) if len(t) > 1 else 0.01

    def tick(self, wall_s: float) -> None:
        """Let `wall_s` of wall time pass."""
        if self.playing and not self.over:
            if self.live is not None and self.at_edge:
                self._fly(self.live, wall_s)
            else:
                self.t_s = min(self.t_s + wall_s * self.asked, self.track.end_s)
        now = self._wall()
        self._seen.append((now, self.t_s))
        while len(self._seen) > 2 and now - self._seen[0][0] > MEASURED_S:
            self._seen.popleft()

    def _fly(self, live: LiveFlight, wall_s: float) -> None:
        """Fly whole physics steps until what is owed is paid or the budget of the frame is spent."""
        self._owed += wall_s * self.asked
        most = BEHIND_S * self.asked
        if self._owed > most:
            self.dropped_s += (self._owed - most) / self.asked
            self._owed = most
        begun, step = self._wall(), live.time_step_s
        while self._owed >= step and not live.finished and self._wall() - begun < BUDGET_S:
            steps = max(1, int(min(self._owed, self._slice_s) / step + 1e-9))
            started = self._wall()
            live.advance(steps * step)
            self._owed -= steps * step
            cheap = self._wall() - started < CHEAP * BUDGET_S
            self._slice_s = min(2.0 * self._slice_s, LONGEST_SLICE_S) if cheap else SLICE_S
        self.track.refresh(live.run)
        self.t_s = self.track.end_s

    @property
    def real(self) -> float:
        """Pace achieved, flight seconds per second; 0 when paused."""
        if not self.playing or self.over or len(self._seen) < 2:
            return 0.0
        (w0, t0), (w1, t1) = self._seen[0], self._seen[-1]
        return max(0.0, (t1 - t0) / (w1 - w0)) if w1 > w0 else 0.0
