"""Gains changed while a flight goes on."""

import numpy as np
import pytest

from quadsim.simulation.live import LiveFlight
from quadsim.simulation.live_gains import LiveGains


def named(gains: LiveGains, slot: str, name: str):
    return next(one for one in gains.by_slot[slot] if one.name == name)


@pytest.fixture
def live():
    return LiveFlight("hover", craft="siskin")


def test_they_are_listed_with_their_bounds_and_kept_within(live):
    gains = live.gains
    roll, as_filed = named(gains, "rate", "ROLL_P"), gains.values
    assert (roll.slot, roll.unit, roll.low, roll.high) == ("rate", "1/s", 0.0, 100.0)
    assert gains.set(roll, 500.0) == gains.value(roll) == 100.0
    assert gains.set(roll, -1.0) == 0.0
    assert [one.name for one in gains.changed] == ["ROLL_P"]
    gains.reset()
    assert gains.changed == []
    assert np.array_equal(gains.values, as_filed)


def test_a_filter_stays_below_half_its_blocks_rate(live):
    cutoff = named(live.gains, "estimate", "GYRO_CUTOFF")
    assert cutoff.high == 1000.0  # of a block that runs at 2000 Hz; its own bound is 2000


def test_lines_for_the_craft_file_and_marks_in_the_flight(live):
    gains = live.gains
    roll, tilt = named(gains, "rate", "ROLL_P"), named(gains, "attitude", "TILT_P")
    before = gains.value(roll)
    gains.set(roll, 30.0)
    gains.set(tilt, 7.25)
    gains.note(roll, before)
    gains.note(tilt, 7.25)  # nothing changed since
    assert gains.craft_lines() == ["[gains.attitude]", "tilt_p = 7.25", "[gains.rate]", "roll_p = 30"]
    assert [event.text for event in live.run.events] == [f"rate roll_p {before:g} to 30 1/s"]


@pytest.mark.jit
def test_a_change_is_flown_at_once(live):
    live.advance(0.5)
    roll = named(live.gains, "rate", "ROLL_P")
    live.gains.set(roll, 0.0)
    live.gains.set(named(live.gains, "rate", "ROLL_I"), 0.0)
    live.gains.set(named(live.gains, "rate", "ROLL_D"), 0.0)
    live.gains.set(named(live.gains, "rate", "FEED_FORWARD"), 0.0)
    live.gains.set(named(live.gains, "rate", "GYROSCOPIC"), 0.0)
    live.advance(0.1)
    asked = live.run["signals/angular_acceleration_wanted_rad_s2"]
    assert np.ptp(asked[-5:, 0]) == 0.0  # what its integral has come to, and nothing that moves
    assert np.ptp(asked[-5:, 1]) > 0.0


@pytest.mark.jit
@pytest.mark.parametrize(("law", "name"), [("lqr", "TILT_ERROR"), ("incremental", "CUTOFF")])
def test_a_law_that_computes_its_feedback_does_so_again(law, name):
    live = LiveFlight("hover", craft="siskin", blocks={"rate": law})
    live.advance(0.2)
    memory = live._session.memory[3]
    before = memory.copy()
    one = named(live.gains, "rate", name)
    live.gains.set(one, 0.5 * live.gains.value(one))
    live.advance(0.01)
    assert memory[0] == 1.0
    assert np.count_nonzero(np.abs(memory - before) > 0.05 * np.abs(before) + 1e-12) > 0
    live.advance(0.5)
    assert live.run.status == "flying"
