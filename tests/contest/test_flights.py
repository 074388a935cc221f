"""Flights that confirm a prediction: watched as they go, and ended whole or not at all."""

import pytest

from quadsim.config import load_craft
from quadsim.contest.rules import DashRule
from quadsim.environment.atmosphere import Site

pytestmark = pytest.mark.jit


class Watcher:
    """Notes what it is told, and presses Ctrl-C at a time of the flight [s]."""

    def __init__(self, until_s: float = 1e9) -> None:
        self.until_s = until_s
        self.told: list[tuple[str, float, float]] = []

    def __call__(self, words, session, longest_s):
        self.told.append((words, float(session.t_s), longest_s))
        if session.t_s >= self.until_s:
            raise KeyboardInterrupt


def test_half_an_attempt_is_none():
    from quadsim.contest.lift_flight import fly_attempt

    watcher = Watcher(1.0)
    with pytest.raises(KeyboardInterrupt):
        fly_attempt(load_craft("siskin"), Site(), 0.3, 20.0, watch=watcher)
    words, at, longest = watcher.told[-1]
    assert (words, longest) == ("300 g", 20.0) and 1.0 <= at < 20.0


def test_a_dash_takes_about_as_long_as_is_said():
    from quadsim.contest.dash_flight import fly_speed

    watcher, rule = Watcher(), DashRule()
    flown = fly_speed(load_craft("williwaw"), Site(), rule, 25.0, score=25.0, watch=watcher)
    assert len(flown.runs) == 2 and not flown.ended
    words, at, usual = watcher.told[-1]
    assert words == "25.0 m/s" and at == pytest.approx(usual, rel=0.2)
    along, speed = flown.runs[0].way
    assert along[0] == pytest.approx(0.0, abs=0.5) and along[-1] > rule.course_m + flown.runs[0].run_up_m
    assert speed.max() == pytest.approx(25.0, rel=0.05) and speed[-1] < 2.0
    with pytest.raises(KeyboardInterrupt):
        fly_speed(load_craft("williwaw"), Site(), rule, 25.0, watch=Watcher(2.0))
