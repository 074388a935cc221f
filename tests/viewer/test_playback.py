"""The clock: fixed steps, capped catch-up, re-synchronising, the pace really achieved."""

import copy

import numpy as np
import pytest

from controllers.signals import Mode
from quadsim.viewer.playback import BEHIND_S, BUDGET_S, Playback
from quadsim.viewer.track import Track


class FakeLive:
    """A live flight cut out of an invented run: 4 kHz steps, a row every 10 ms; each advance may cost wall time."""

    def __init__(self, run, wall, cost_s=0.0):
        self._whole, self._wall, self._cost_s = run, wall, cost_s
        self.time_step_s, self.ticks, self.calls = 1 / 4000, 0, []
        self.sticks, self.modes = [], []

    @property
    def t_s(self):
        return self.ticks * self.time_step_s

    @property
    def finished(self):
        return self.t_s >= self._whole.t_s[-1]

    @property
    def run(self):
        part = copy.copy(self._whole)
        rows = int(self.t_s / 0.01 + 1e-9) + 1
        part.data = {name: values[:rows] for name, values in self._whole.data.items()}
        return part

    def advance(self, duration_s):
        steps = duration_s / self.time_step_s
        assert steps == pytest.approx(round(steps), abs=1e-6), "not a whole number of physics steps"
        self.ticks += round(steps)
        self.calls.append(round(steps))
        self._wall.now += self._cost_s

    def set_sticks(self, roll, pitch, yaw, throttle):
        self.sticks.append((roll, pitch, yaw, throttle))

    def set_mode(self, mode):
        self.modes.append(Mode(mode))


class Wall:
    """A clock under control."""

    now = 0.0

    def __call__(self):
        return self.now


@pytest.fixture
def wall():
    return Wall()


def frames(playback, wall, count, wall_s=1 / 60):
    for _ in range(count):
        wall.now += wall_s
        playback.tick(wall_s)


def test_replay_keeps_time_at_any_pace(run, wall):
    playback = Playback(Track(run), None, 2.0, wall)
    frames(playback, wall, 60)
    assert playback.t_s == pytest.approx(3.0)
    assert playback.real == pytest.approx(1.0)
    playback.faster(2)
    frames(playback, wall, 60)
    assert playback.t_s == pytest.approx(7.0)
    assert playback.real == pytest.approx(4.0)


def test_replay_stops_at_the_end_and_starts_again(run, wall):
    playback = Playback(Track(run), None, 29.9, wall)
    frames(playback, wall, 30)
    assert playback.t_s == pytest.approx(30.0) and playback.word == "ended" and playback.real == 0.0
    playback.toggle()
    assert playback.t_s == 0.0 and playback.playing


def test_step_goes_row_by_row(run, wall):
    playback = Playback(Track(run), None, 5.0, wall)
    playback.step(1)
    assert playback.t_s == pytest.approx(5.01) and not playback.playing
    playback.step(-3)
    assert playback.t_s == pytest.approx(4.98)


def test_live_flies_whole_steps_in_real_time(run, wall):
    live = FakeLive(run, wall)
    playback = Playback(Track(live.run), live, 0.0, wall)
    frames(playback, wall, 120)
    assert live.t_s == pytest.approx(2.0, abs=2 * live.time_step_s)
    assert playback.word == "live" and playback.real == pytest.approx(1.0, abs=0.02)
    assert playback.dropped_s == 0.0


def test_a_long_pause_is_not_caught_up(run, wall):
    live = FakeLive(run, wall)
    playback = Playback(Track(live.run), live, 0.0, wall)
    frames(playback, wall, 1, wall_s=3.0)
    assert live.t_s == pytest.approx(BEHIND_S, abs=2 * live.time_step_s)
    assert playback.dropped_s == pytest.approx(3.0 - BEHIND_S)


def test_slow_physics_keeps_to_its_budget_and_shows_its_pace(run, wall):
    live = FakeLive(
        run, wall, cost_s=0.008
    )  # 4 ms of flight cost 8 ms of wall time: at best half of real time
    playback = Playback(Track(live.run), live, 0.0, wall)
    for _ in range(120):
        before = wall.now
        playback.tick(1 / 60)
        assert wall.now - before <= BUDGET_S + 0.008 + 1e-9
        wall.now += 1 / 60
    assert 0.1 < playback.real < 0.5


def test_looking_back_in_a_live_flight_does_not_fly_on(run, wall):
    live = FakeLive(run, wall)
    playback = Playback(Track(live.run), live, 0.0, wall)
    frames(playback, wall, 120)
    flown = live.t_s
    playback.seek(0.5)
    frames(playback, wall, 30)
    assert playback.word == "looking back" and playback.t_s == pytest.approx(1.0) and live.t_s == flown
    frames(playback, wall, 90)
    assert playback.word == "live" and live.t_s > flown


def test_a_live_flight_can_be_stepped_at_its_edge(run, wall):
    live = FakeLive(run, wall)
    playback = Playback(Track(live.run), live, 0.0, wall)
    frames(playback, wall, 60)
    rows = len(playback.track)
    playback.step(1)
    assert len(playback.track) == rows + 1 and not playback.playing
    assert np.isclose(playback.t_s, playback.track.end_s)
