"""The block that adds a wave to what another writes: the very wave, at the very moment, and the other knows nothing of it."""

from __future__ import annotations

import numpy as np
import pytest

from controllers.contract import MEMORY_SIZE, SLOTS
from controllers.python_block import OUTPUTS
from controllers.registry import STOCK, load_block
from controllers.signals import SIGNALS, rows
from quadsim.analysis.injection import (
    LOOPS,
    MOST_LINES,
    Injection,
    Place,
    inject,
    next_value,
    put_at,
    value_at,
)
from quadsim.analysis.loop_estimate import wave_at
from quadsim.analysis.sweep_flight import at_node, steady
from quadsim.errors import InputError

WAVE = wave_at(np.array([20.0, 50.0, 90.0]), 500.0).scaled(2.0)


def memory_of(node: int, first: int = 0) -> np.ndarray:
    memory = np.zeros(MEMORY_SIZE)
    lines = np.column_stack([WAVE.harmonics, WAVE.amplitudes, WAVE.phases]).ravel()
    memory[Place.NODE], memory[Place.RUN], memory[Place.PERIOD] = node, first, WAVE.period
    memory[Place.LINES] = len(WAVE.harmonics)
    memory[Place.LINE : Place.LINE + lines.size] = lines
    return memory


def numbered() -> np.recarray:
    """Signals in which each node holds its own number."""
    signals = rows(SIGNALS)
    for node in range(11):
        put_at(signals[0], node, float(node))
    return signals


def test_nodes_are_numbered_alike_in_a_flight_and_in_its_log() -> None:
    signals = numbered()
    assert [value_at(signals[0], node) for node in range(11)] == list(range(11))
    assert [at_node(signals, node)[0] for node in range(11)] == list(range(11))
    assert signals[0].attitude_wanted.tolist() == [7.0, 8.0, 9.0, 10.0]


@pytest.mark.parametrize("name", LOOPS)
def test_a_loop_is_cut_at_what_its_slot_writes(name: str) -> None:
    cut, signals = LOOPS[name], rows(SIGNALS)
    put_at(signals[0], cut.node, 1.0)
    (written,) = (s for s in SIGNALS.names if np.any(signals[0][s]))
    assert written in OUTPUTS[cut.slot]


def test_the_kernel_adds_the_very_wave_that_the_estimate_reckons_with() -> None:
    memory = memory_of(0)
    told = [next_value(memory) for _ in range(WAVE.period + 5)]
    assert np.allclose(told[: WAVE.period], WAVE.samples, atol=1e-9)
    assert told[WAVE.period :] == told[:5], "the period is exact"


@pytest.mark.parametrize("node", range(11))
def test_the_wave_is_on_top_and_the_law_finds_its_own_word(node: int) -> None:
    """A law that counts its own output up by one at each run goes on counting, whatever the wave."""
    found = []

    class Law:
        def function(self, s, craft, gains, memory) -> None:
            found.append(float(value_at(s, node)))
            put_at(s, node, found[-1] + 1.0)

    s, memory, law = numbered()[0], memory_of(node, first=7), Injection(Law())
    for run in range(3):
        law.function(s, None, np.zeros(1), memory)
        assert value_at(s, node) == pytest.approx(node + run + 1.0 + WAVE.samples[7 + run])
        assert [value_at(s, k) for k in range(11) if k != node] == [k for k in range(11) if k != node]
    assert found == [node, node + 1.0, node + 2.0]


@pytest.mark.jit
@pytest.mark.parametrize("name", ["roll", "yaw", "height"])
def test_in_flight_it_acts_at_the_moment_of_the_laws_own_output(name: str) -> None:
    """At the very first run the allocator's commands are those of the same allocator asked for law and wave at once."""
    cut = LOOPS[name]
    with_wave, without = steady("siskin")(0.1), steady("siskin")(0.1)
    inject(with_wave, cut, WAVE.period, WAVE.harmonics, WAVE.amplitudes, WAVE.phases)
    for session in (with_wave, without):
        session.advance(1)
    assert not np.allclose(with_wave.signals.motor, without.signals.motor, atol=1e-4)
    put_at(without.signals, cut.node, value_at(without.signals, cut.node) + WAVE.samples[0])
    memory = np.zeros(MEMORY_SIZE)
    without.blocks[4](without.signals, without.builder, without.gains[4], memory)
    assert np.allclose(with_wave.signals.motor, without.signals.motor, atol=1e-9)


def test_a_wave_without_room_is_refused() -> None:
    session = steady("siskin")(0.1)
    many = np.arange(1, MOST_LINES + 2)
    with pytest.raises(InputError, match=f"are {MOST_LINES + 1}; must be at most {MOST_LINES}"):
        inject(session, LOOPS["roll"], 1000, many, np.ones(len(many)), np.zeros(len(many)))


def test_every_stock_block_leaves_room_for_a_wave() -> None:
    kept = [load_block(name, slot).block.memory for slot, name in STOCK if slot in SLOTS[1:4]]
    assert max(kept) <= Place.ADDRESS
