"""Places flown in the whole simulation, with an estimate that knows the truth: what guidance alone does, without sensors."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from controllers.contract import Block, chain
from controllers.guide_gains import GuideGain
from controllers.python_block import make_python_block
from quadsim.config.flight_loader import load_flight, parse_flight
from quadsim.dynamics.state import X
from quadsim.simulation.fly import finish, start
from quadsim.simulation.run import Run
from quadsim.simulation.session import Session

pytestmark = pytest.mark.jit
G0 = 9.80665


def all_knowing(session: Session) -> Session:
    """The same session with an estimate that reads the state."""
    x = session.x

    def truth(s: Any, craft: Any, gains: Any, memory: Any) -> None:
        """The state as it is."""
        s.attitude[:], s.rates[:] = x[X.QUATERNION : X.QUATERNION + 4], x[X.RATES : X.RATES + 3]
        s.position[:], s.velocity[:] = x[X.POSITION : X.POSITION + 3], x[X.VELOCITY : X.VELOCITY + 3]
        s.height, s.climb_rate = -x[X.POSITION + 2], -x[X.VELOCITY + 2]
        s.position_known = s.heading_known = 1.0

    block = Block("truth", "estimate", truth)
    slow = make_python_block(block, session.signals, session.builder, session.gains[0], session.memory[0])
    session._runners[0] = slow
    session._chain = chain(session._runners)
    return session


def flown(session: Session) -> Run:
    session.advance(session.total_ticks)
    return finish(session, 0.0)


WIND = """
title = "held in a steady wind"
craft = "bonxie"
duration_s = 25
log_rate_Hz = 20
[start]
height_m = 8
mode = "position_hold"
[wind]
speed_m_s = 6
from_deg = 270
"""


@pytest.mark.parametrize("integral", [0.0, 0.2])
def test_hold_in_a_steady_wind(integral: float) -> None:
    """Statics, as in tests/verification: without an integral the craft stands g tan(tilt)/P downwind, with one at its place; the
    tilt is the same. P = 1.5 1/s2. Tolerance: the thrust is not quite along the body's axis (in-plane force of the rotors)."""
    session = all_knowing(start(parse_flight(WIND)))
    session.gains[1, GuideGain.PLACE_P], session.gains[1, GuideGain.PLACE_D] = 1.5, 2.2
    session.gains[1, GuideGain.PLACE_I] = integral
    run = flown(session)
    last = run.t_s > 22.0
    east = float(np.mean(run["position_m"][last, 1]))
    tilt = np.arccos(1.0 - 2.0 * (run["attitude"][last, 1] ** 2 + run["attitude"][last, 2] ** 2))
    asked = G0 * math.tan(float(np.mean(tilt)))
    assert asked > 0.3
    assert east == pytest.approx(0.0 if integral else asked / 1.5, abs=0.04)
    assert np.abs(run["position_m"][last, 0]).max() < 0.05


def test_the_shipped_flights_of_place_with_a_perfect_estimate() -> None:
    """What is left without sensors: the square's lines within 0.5 m, the eight within 0.7 m, landing within 0.2 m."""
    square = flown(all_knowing(start(load_flight("waypoints"))))
    assert all(verdict.ok for verdict in square.expectations)
    assert square.metrics["landing_distance_m"] < 0.2
    assert square.metrics["cross_track_m"] < 0.5
    eight = flown(all_knowing(start(load_flight("trajectory"))))
    away = np.linalg.norm(
        eight["position_m"][:, :2]
        - np.stack([eight["signals/target_north_m"], eight["signals/target_east_m"]], axis=1),
        axis=1,
    )
    assert all(verdict.ok for verdict in eight.expectations)
    assert away[eight.t_s > 6.0].max() < 0.7
