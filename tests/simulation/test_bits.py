"""Same file and seed give the same bits, whatever the chunks; another seed gives another run."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from quadsim.config.flight_loader import parse_flight
from quadsim.simulation.fly import snapshot, start
from quadsim.simulation.live import LiveFlight

TICKS = 160
FLIGHT = """
title = "chunks"
craft = "siskin"
duration_s = 60
log_rate_Hz = 1000
[start]
height_m = 3
[wind]
speed_m_s = 3
profile = "log"
turbulence = { intensity = "moderate" }
fronts = [{ at_s = 0.01, over_s = 0.02, to_speed_m_s = 5, to_from_deg = 200 }]
gusts = [{ at_s = 0.0, duration_s = 0.1, speed_m_s = 6, from_deg = 40 }]
[[at]]
t_s = 0.011
attach = { mass_g = 120, at_mm = [10, 5, 50] }
[[at]]
t_s = 0.02
height_m = 4
ramp_s = 0.5
[[at]]
t_s = 0.025
fault = { kind = "rotor_weak", rotor = "rear_left", remaining_pct = 60 }
"""


def columns(chunks, seed=7):
    """All columns of the first TICKS ticks, flown in the given chunks."""
    session = start(parse_flight(FLIGHT), seed=seed)
    for ticks in chunks:
        session.advance(ticks)
    session.advance(TICKS - int(session.carried.tick))
    return {name: np.array(values) for name, values in snapshot(session).data.items()}


WHOLE = {}


def whole():
    if not WHOLE:
        WHOLE.update(columns([TICKS]))
    return WHOLE


@settings(max_examples=12, deadline=None)
@given(st.lists(st.integers(1, 60), max_size=8))
def test_chunks_of_any_length_give_the_same_bits(chunks):
    total, kept = 0, []
    for ticks in chunks:
        if total + ticks <= TICKS:
            kept.append(ticks)
            total += ticks
    flown = columns(kept)
    for name, values in whole().items():
        assert np.array_equal(flown[name], values), name


def test_the_live_flight_gives_the_same_bits():
    live = LiveFlight(parse_flight(FLIGHT), seed=7)
    for _ in range(3):
        live.advance(13.4 * live.time_step_s)
    live.advance((TICKS - 3 * 13.4) * live.time_step_s + 1e-9)
    flown = live.run.data
    assert round(live.t_s / live.time_step_s) == TICKS
    for name, values in whole().items():
        assert np.array_equal(flown[name], values), name


def test_another_seed_is_another_run():
    other = columns([TICKS], seed=8)
    assert not np.array_equal(other["signals/gyro_rad_s"], whole()["signals/gyro_rad_s"])
    assert not np.array_equal(other["position_m"], whole()["position_m"])
    assert not np.array_equal(other["wind_m_s"], whole()["wind_m_s"])


def test_sticks_taken_in_a_live_flight_act():
    text = FLIGHT.replace("height_m = 3\n", 'height_m = 3\nmode = "rate_command"\n')
    live, free = LiveFlight(parse_flight(text), seed=7), LiveFlight(parse_flight(text), seed=7)
    for one in (live, free):
        one.advance(0.01)
    live.set_sticks(0.8, 0.0, 0.0, 0.5)
    for one in (live, free):
        one.advance(0.03)
    assert live.run["signals/stick"][-1] == pytest.approx(
        [0.8, 0.0, 0.0, 0.5], abs=1 / 1024
    )  # steps of the link
    assert live.run["rates_rad_s"][-1, 0] > free.run["rates_rad_s"][-1, 0] + 0.01
