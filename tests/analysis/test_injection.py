"""The block before the allocator: the wave it adds, and that the law's own output stands there again afterwards."""

from __future__ import annotations

import numpy as np
import pytest

from controllers.contract import MEMORY_SIZE
from controllers.signals import SIGNALS, rows
from quadsim.analysis.injection import AXES, MOST_LINES, Injection, Place, asked_for, inject, next_value
from quadsim.analysis.loop_estimate import wave_at
from quadsim.analysis.sweep_flight import steady
from quadsim.errors import InputError

WAVE = wave_at(np.array([20.0, 50.0, 90.0]), 500.0).scaled(2.0)


def memory_of(axis: int, first: int = 0) -> np.ndarray:
    memory = np.zeros(MEMORY_SIZE)
    lines = np.column_stack([WAVE.harmonics, WAVE.amplitudes, WAVE.phases]).ravel()
    memory[Place.AXIS], memory[Place.RUN], memory[Place.PERIOD] = axis, first, WAVE.period
    memory[Place.LINES] = len(WAVE.harmonics)
    memory[Place.LINE : Place.LINE + lines.size] = lines
    return memory


def test_the_kernel_adds_the_very_wave_that_the_estimate_reckons_with() -> None:
    memory = memory_of(0)
    told = [next_value(memory) for _ in range(WAVE.period + 5)]
    assert np.allclose(told[: WAVE.period], WAVE.samples, atol=1e-9)
    assert told[WAVE.period :] == told[:5], "the period is exact"


@pytest.mark.parametrize("axis", range(4))
def test_the_allocator_is_asked_for_more_and_the_law_keeps_its_word(axis: int) -> None:
    seen = []

    class Inner:
        def function(self, s, craft, gains, memory) -> None:
            seen.append([float(asked_for(s, k)) for k in range(4)])

    s, memory = rows(SIGNALS)[0], memory_of(axis, first=7)
    s.angular_acceleration_wanted[:], s.thrust_wanted = (1.0, 2.0, 3.0), 4.0
    Injection(Inner()).function(s, None, np.zeros(1), memory)
    extra = np.array(seen[0]) - [1.0, 2.0, 3.0, 4.0]
    assert extra[axis] == pytest.approx(WAVE.samples[7])
    assert np.count_nonzero(extra) == 1
    assert [*s.angular_acceleration_wanted, s.thrust_wanted] == [1.0, 2.0, 3.0, 4.0]


@pytest.mark.jit
@pytest.mark.parametrize("axis", range(4))
def test_in_flight_it_acts_at_the_moment_of_the_laws_own_output(axis: int) -> None:
    """At the very first run the allocator's commands are those of the same allocator asked for law and wave at once."""
    with_wave, without = steady("siskin")(0.1), steady("siskin")(0.1)
    inject(with_wave, axis, WAVE.period, WAVE.harmonics, WAVE.amplitudes, WAVE.phases)
    for session in (with_wave, without):
        session.advance(1)
    for k in range(4):
        assert asked_for(with_wave.signals, k) == asked_for(without.signals, k), AXES[k]
    assert not np.allclose(with_wave.signals.motor, without.signals.motor, atol=1e-4)
    if axis < 3:
        without.signals.angular_acceleration_wanted[axis] += WAVE.samples[0]
    else:
        without.signals.thrust_wanted += WAVE.samples[0]
    memory = np.zeros(MEMORY_SIZE)
    without.blocks[4](without.signals, without.builder, without.gains[4], memory)
    assert np.allclose(with_wave.signals.motor, without.signals.motor, atol=1e-9)


def test_a_wave_without_room_is_refused() -> None:
    session = steady("siskin")(0.1)
    many = np.arange(1, MOST_LINES + 2)
    with pytest.raises(InputError, match=f"are {MOST_LINES + 1}; must be at most {MOST_LINES}"):
        inject(session, 0, 1000, many, np.ones(len(many)), np.zeros(len(many)))
