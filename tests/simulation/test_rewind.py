"""A flight taken back to a mark flies on with the same bits, whatever was done to it in between."""

import numpy as np
import pytest

from controllers.signals import Mode
from quadsim.simulation.fly import start
from quadsim.simulation.rewind import mark, rewind


@pytest.mark.jit
@pytest.mark.parametrize("flight", ["gust", "turbulence"])
def test_the_same_bits_after_a_detour(flight):
    session = start(flight, craft="siskin")
    session.advance(3000)
    moment, rows = mark(session), session.rows
    session.advance(1500)
    seen, motors = session.truth[rows : session.rows].copy(), session.heard[rows : session.rows].motor.copy()
    rewind(session, moment)
    session.gains[3] *= 0.5
    session.commands[:, 0] = Mode.RATE_COMMAND
    session.held.outside_torque[:] = 0.02
    session.sensors.gyro_noise *= 3.0
    session.advance(700)
    assert not np.array_equal(session.truth[rows : rows + 5], seen[:5])
    rewind(session, moment)
    session.advance(1500)
    assert np.array_equal(session.truth[rows : session.rows], seen)
    assert np.array_equal(session.heard[rows : session.rows].motor, motors)


def test_a_mark_is_not_moved_by_the_flight():
    session = start("hover", craft="siskin")
    moment = mark(session)
    session.advance(20)
    assert int(moment.records["carried"]["tick"]) == 0
    rewind(session, moment)
    assert (int(session.carried.tick), session.rows, session.finished) == (0, 0, False)
