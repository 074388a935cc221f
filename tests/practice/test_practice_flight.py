"""A practice flight by itself: what the forgiving ground forgives."""

import numpy as np
import pytest

from quadsim.config import load_craft
from quadsim.config.course import Course, Field, Gate, Start
from quadsim.practice.aids import Aids
from quadsim.practice.practice_flight import PracticeFlight

pytestmark = pytest.mark.jit


def drop(flight, seconds=1.5):
    """Let go of the throttle; the times are those of frames."""
    while not flight.finished and flight.t_s < seconds:
        flight.set_sticks(0.0, 0.0, 0.0, 0.0)
        flight.advance(1.0 / 60.0)


def test_a_hard_landing_bounces_where_the_ground_forgives():
    """The same drop from 2.5 m breaks the craft, and bounces on its feet with the aid: the flight is not even set back."""
    gate = Gate("1", np.array([20.0, 0.0, -1.8]), 0.0, 2.4, 2.4)
    field = Field(np.array([-10.0, -10.0, -10.0]), np.array([40.0, 10.0, 0.0]))
    start = Start(np.array([0.0, 0.0, -2.5]), 0.0)
    course = Course("Invented drop", "", (gate,), start, False, 1, (), (), field, 0.3)
    flight = PracticeFlight(course, load_craft("bonxie"), mode="attitude")
    drop(flight)
    assert "hit the ground" in flight.over and flight.counts
    flight.set_aids(Aids(forgiving=True))
    flight.restart()
    drop(flight)
    assert not flight.finished and flight.set_backs == 0 and not flight.counts
    touched = next(event for event in flight.run.events if event.kind == "ground")
    assert touched.sink_m_s > load_craft("bonxie").landing.crash_speed_m_s
    height = -flight.run["position_m"][:, 2]
    after = height[flight.run.t_s > touched.t_s + 0.1]
    assert after.max() > after[0] and after.min() > 0.0  # up again, and never in the ground
    flight.set_aids(Aids())
    flight.restart()
    drop(flight)
    assert "hit the ground" in flight.over  # the aid leaves nothing behind
