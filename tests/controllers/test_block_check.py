"""The conformance check finds each fault it is meant to find, and says it in words."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest

from controllers import Block, Gains, NoGains, check_block, kernel
from controllers.contract import BLOCK


class Tight(Gains):
    DIVISOR = 0, "s", 1.0, 0.0, 2.0


class Careless(Gains):
    NO_UNIT = 0, "", 1.0, 0.0, 2.0
    OUTSIDE = 1, "s", 3.0, 0.0, 2.0


def writes_elsewhere(s, craft, gains, memory):
    s.angular_acceleration_wanted[0] = s.rates[0]
    s.attitude[1] = 0.5


def serves_a_later_slot(s, craft, gains, memory):
    s.motor[0] = 0.5


def takes_a_root(s, craft, gains, memory):
    s.angular_acceleration_wanted[0] = math.sqrt(max(s.rates[0], 0.0)) / (s.rates[0] * s.dt)


def divides_by_a_gain(s, craft, gains, memory):
    s.angular_acceleration_wanted[0] = s.rates[0] / gains[0] if gains[0] > 0.0 else math.inf


def writes_beyond(s, craft, gains, memory):
    s.angular_acceleration_wanted[0] = s.rates[0]
    memory[3] += 1.0


def reads_beyond(s, craft, gains, memory):
    s.angular_acceleration_wanted[0] = s.rates[0] + memory[5]


def fine(s, craft, gains, memory):
    s.angular_acceleration_wanted[0] = s.rates[0]


def made(function: Callable, gains: type[Gains] = NoGains, memory: int = 0, compiled: bool = True) -> Block:
    return Block(
        function.__name__, "rate", function, gains, memory,
        kernel(function, signature=BLOCK, cache=False) if compiled else None,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("block", "name", "words"),
    [
        (
            (writes_elsewhere,),
            "writes",
            ["writes attitude", "not for slot rate", "angular_acceleration_wanted"],
        ),
        (
            (takes_a_root,),
            "finite",
            ["angular_acceleration_wanted becomes NaN or infinite", "guard divisions"],
        ),
        ((divides_by_a_gain, Tight), "gain bounds", ["DIVISOR = 0 s"]),
        ((fine, Careless), "gains", ["NO_UNIT, OUTSIDE", "unit"]),
        ((writes_beyond, NoGains, 3), "memory", ["beyond the 3 numbers", "raise `memory=`"]),
        ((reads_beyond, NoGains, 3), "memory", ["reads memory or gains it does not declare"]),
    ],
)
def test_each_fault_is_found(block: tuple, name: str, words: list[str]) -> None:
    faults = [f for f in check_block(made(*block)) if not f.ok]
    assert name in [f.name for f in faults]
    message = next(f.message for f in faults if f.name == name)
    assert all(word in message for word in words), message


def test_a_sound_block_has_no_fault() -> None:
    findings = check_block(made(fine))
    assert all(f.ok for f in findings)
    assert [f.message for f in findings if f.name == "writes"] == ["writes angular_acceleration_wanted"]


def test_a_later_slot_may_be_served() -> None:
    assert all(f.ok for f in check_block(made(serves_a_later_slot)))


COUNT = [0.0]


def counts(s, craft, gains, memory):
    COUNT[0] += 1.0
    s.angular_acceleration_wanted[0] = COUNT[0]


def raises(s, craft, gains, memory):
    raise RuntimeError("no")


@pytest.mark.parametrize(
    ("function", "name", "words"),
    [(counts, "repeatable", "keep nothing outside `memory`"), (raises, "runs", "raised RuntimeError: no")],
)
def test_plain_functions_are_checked_too(function: Callable, name: str, words: str) -> None:
    faults = [f for f in check_block(made(function, compiled=False)) if not f.ok]
    assert name in [f.name for f in faults]
    assert any(words in f.message for f in faults)
