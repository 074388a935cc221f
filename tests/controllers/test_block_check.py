"""The conformance check finds each fault it is meant to find, and says it in words."""

from __future__ import annotations

import math
import re
from collections.abc import Callable

import pytest

from controllers import GAINS_SIZE, Block, Gains, NoGains, block, check_block, kernel
from controllers.contract import BLOCK


class Degrees(Gains):
    TILT = 0, "deg", 1.0, 0.0, 2.0
    ODD = 1, "furlong", 1.0, 0.0, 2.0
    OPEN = 2, "rad", 1.0


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


def writes_far_beyond(s, craft, gains, memory):
    s.angular_acceleration_wanted[0] = s.rates[0]
    memory[9] = 1.0


def reads_a_gain_of_the_next_block(s, craft, gains, memory):
    s.angular_acceleration_wanted[0] = s.rates[0] + gains[GAINS_SIZE]


def divides_by_voltage(s, craft, gains, memory):
    if s.battery_voltage != 0.0 or s.t != 0.0:
        s.angular_acceleration_wanted[0] = s.rates[0]
    else:
        s.angular_acceleration_wanted[0] = math.inf


def overdrives(s, craft, gains, memory):
    s.motor[0] = s.stick[3] * 1.01


def stretches(s, craft, gains, memory):
    s.attitude_wanted[0] = 1.0 + 0.01 * s.stick[0]
    s.attitude_wanted[1] = s.attitude_wanted[2] = s.attitude_wanted[3] = 0.0


def explicit_lag(s, craft, gains, memory):
    memory[0] += 1e17 * s.dt * (1.0 - memory[0])  # 20 runs at 1 s are too many for a double, at 1 ms not
    s.angular_acceleration_wanted[0] = memory[0]


def fine(s, craft, gains, memory):
    s.angular_acceleration_wanted[0] = s.rates[0]


def made(
    function: Callable,
    gains: type[Gains] = NoGains,
    memory: int = 0,
    compiled: bool = True,
    slot: str = "rate",
) -> Block:
    return Block(
        function.__name__, slot, function, gains, memory,
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
        (
            (fine, Careless),
            "gains",
            ["NO_UNIT has no unit", "OUTSIDE has the default 3, which is not within 0 to 2 s"],
        ),
        (
            (fine, Degrees),
            "gains",
            ["TILT is in deg", "use rad", "ODD has the unit 'furlong'", "OPEN has no bounds"],
        ),
        ((divides_by_voltage,), "limits", ["with 0 V at the pack", "do not divide by the voltage"]),
        ((overdrives,), "limits", ["motor becomes 0 to 1.01, must be 0 to 1", "sticks at their upper stop"]),
        ((explicit_lag, NoGains, 1), "limits", ["with an interval of 1 s", "limit gain times `s.dt`"]),
        ((writes_far_beyond, NoGains, 3), "memory", ["memory[9]", "in @block to 10"]),
        pytest.param(  # plain Python finds the end of the array by itself
            (reads_a_gain_of_the_next_block,),
            "memory",
            ["reads memory or gains it does not declare"],
            marks=pytest.mark.jit,
        ),
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


def test_a_quaternion_must_keep_its_length() -> None:
    finding = next(f for f in check_block(made(stretches, slot="guide")) if f.name == "limits")
    assert not finding.ok
    assert finding.message.startswith(
        "attitude_wanted has length 1.01, must be 1, with all sticks at their upper"
    )


def test_the_cost_is_told_beside_the_default_blocks() -> None:
    cost = next(f for f in check_block(made(fine)) if f.name == "cost")
    spent, share, usual = (float(word) for word in re.findall(r"[\d.]+(?:e[+-]\d+)?", cost.message))
    assert share == pytest.approx(spent / usual, abs=0.05 * share + 0.5 / usual)
    assert "times the default rate block's" in cost.message


def test_two_gains_cannot_share_an_index() -> None:
    class Twice(Gains):
        FIRST = 0, "s", 1.0, 0.0, 2.0
        SECOND = 0, "s", 1.0, 0.0, 2.0

    with pytest.raises(ValueError, match="gives the gain SECOND the index 0 of FIRST"):
        block("rate", gains=Twice)(fine)


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
