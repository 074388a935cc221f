"""A plain Python function as a block: same result, on the loop's own memory, and what it raises is not lost."""

from __future__ import annotations

import signal
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from controllers import JIT, SIGNALS, Block, chain, example_craft, make_python_block, rows
from controllers.check import run_chain


def law(s: Any, craft: Any, gains: np.ndarray, memory: np.ndarray) -> None:
    memory[0] += s.dt
    for axis in range(3):
        s.angular_acceleration_wanted[axis] = gains[0] * (s.rates_wanted[axis] - s.rates[axis]) + memory[0]


def bound(function: Callable) -> tuple:
    signals = rows(SIGNALS)
    s, craft = signals[0], example_craft()
    gains, memory = np.full(32, 4.0), np.zeros(64)
    s.dt, s.rates_wanted[:] = 0.25, (1.0, 2.0, 3.0)
    made = make_python_block(Block("law", "rate", function), s, craft, gains, memory)
    return made, signals, s, craft, gains, memory


def test_writes_reach_the_loop() -> None:
    made, signals, s, craft, gains, memory = bound(law)
    run_chain(chain([made]), s, craft, gains, memory, 3)
    assert memory[0] == 0.75
    assert signals[0].angular_acceleration_wanted == pytest.approx([4.75, 8.75, 12.75], abs=1e-12)
    assert made.messages == []


def test_what_is_raised_is_kept_and_ends_in_nan() -> None:
    def broken(s: Any, craft: Any, gains: np.ndarray, memory: np.ndarray) -> None:
        s.angular_acceleration_wanted[0] = 1.0
        raise ZeroDivisionError("the sky is down")

    made, _, s, craft, gains, memory = bound(broken)
    run_chain(chain([made]), s, craft, gains, memory, 1)
    assert np.isnan(s.angular_acceleration_wanted).all()
    assert len(made.messages) == 1
    assert made.messages[0].startswith("law line ")
    assert made.messages[0].endswith("ZeroDivisionError: the sky is down")


def test_an_interrupt_comes_back_once_the_loop_is_done() -> None:
    def interrupted(s: Any, craft: Any, gains: np.ndarray, memory: np.ndarray) -> None:
        memory[0] += 1.0
        raise KeyboardInterrupt

    made, _, s, craft, gains, memory = bound(interrupted)
    before = signal.signal(
        signal.SIGINT, signal.default_int_handler
    )  # a shell's background job may ignore it
    try:
        with pytest.raises(KeyboardInterrupt):
            run_chain(chain([made]), s, craft, gains, memory, 2)
            for _ in range(10):
                pass
    finally:
        signal.signal(signal.SIGINT, before)
    assert memory[0] >= 1.0
    assert made.messages == []


def test_takes_the_place_of_a_block() -> None:
    made, *_ = bound(law)
    assert isinstance(made.address, int) if JIT else callable(made.function)
