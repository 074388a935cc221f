"""A wave added to what one block hands on, in a flight whose loops are all closed.

A block stands in for the one that writes the signal: it puts back what that block wrote last, lets it run, and adds the wave to
what it writes now. So the wave acts at the very moment the law's own output does, for all who read it, and the law knows
nothing of it.

Rationale: neither the flight loop nor any block need be changed, and no slope of the allocator or the motors is needed.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import IntEnum
from functools import cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from controllers.contract import BLOCK, JIT, MEMORY_SIZE, SLOTS
from quadsim.errors import InputError, Problem
from quadsim.jit import as_block, kernel

Array = NDArray[np.float64]

MOST_LINES = 40
"""Sines in one wave: what fits behind the memory of the block itself."""


@dataclass(frozen=True)
class Cut:
    """Where a loop is cut: at what a slot's block writes.

    node : code of `value_at`
    unit : of the wave
    """

    slot: str
    node: int
    unit: str


LOOPS = {
    "roll": Cut("rate", 0, "rad/s2"),
    "pitch": Cut("rate", 1, "rad/s2"),
    "yaw": Cut("rate", 2, "rad/s2"),
    "height": Cut("guide", 3, "N"),
    "roll_attitude": Cut("attitude", 4, "rad/s"),
    "pitch_attitude": Cut("attitude", 5, "rad/s"),
    "heading": Cut("attitude", 6, "rad/s"),
    "place_right": Cut("guide", 8, "half rad"),
    "place_ahead": Cut("guide", 9, "half rad"),
}
"""The loops: the first four cut at what the allocator is asked for, then at the rates wanted, then at the tilt wanted."""


class Place(IntEnum):
    """Where the wave stands in the memory of the slot, behind what the block itself keeps."""

    ADDRESS = MEMORY_SIZE - 3 * MOST_LINES - 8
    NODE = ADDRESS + 1
    RUN = ADDRESS + 2
    PERIOD = ADDRESS + 3
    """Runs of the block in one period."""
    LINES = ADDRESS + 4
    LAW = ADDRESS + 5
    """What the block wrote last."""
    STARTED = ADDRESS + 6
    LINE = ADDRESS + 8
    """Harmonic, amplitude and phase of each line."""


@kernel
def next_value(memory):
    """The wave at this run, sum of a cos(2 pi h n/N + phase), and on to the next run. Whole numbers: the period is exact."""
    period, total = int(memory[Place.PERIOD]), 0.0
    n = int(memory[Place.RUN])
    for line in range(int(memory[Place.LINES])):
        at = Place.LINE + 3 * line
        turn = (int(memory[at]) * n) % period / period
        total += memory[at + 1] * math.cos(2.0 * math.pi * turn + memory[at + 2])
    memory[Place.RUN] = (n + 1) % period
    return total


@kernel
def value_at(s, node):
    """The number at a node: 0-2 angular acceleration wanted, 3 thrust, 4-6 rates, 7-10 attitude (quaternion)."""
    if node < 3:
        return s.angular_acceleration_wanted[node]
    if node == 3:
        return s.thrust_wanted
    return s.rates_wanted[node - 4] if node < 7 else s.attitude_wanted[node - 7]


@kernel
def put_at(s, node, value):
    """Set the number at a node."""
    if node < 3:
        s.angular_acceleration_wanted[node] = value
    elif node == 3:
        s.thrust_wanted = value
    elif node < 7:
        s.rates_wanted[node - 4] = value
    else:
        s.attitude_wanted[node - 7] = value


@kernel
def give_back(s, memory):
    """Before a run: the block finds what it wrote itself."""
    if memory[Place.STARTED] > 0.0:
        put_at(s, int(memory[Place.NODE]), memory[Place.LAW])


@kernel
def add_wave(s, memory):
    """After a run: the wave on top of what it wrote."""
    node = int(memory[Place.NODE])
    memory[Place.LAW], memory[Place.STARTED] = value_at(s, node), 1.0
    put_at(s, node, memory[Place.LAW] + next_value(memory))


def _injecting(s, craft, gains, memory):
    """The block; the entry address of the one it stands for is kept in the memory (a float keeps 53 bits of it)."""
    inner = as_block(int(memory[Place.ADDRESS]))
    give_back(s, memory)
    inner(s, craft, gains, memory)
    add_wave(s, memory)


@cache
def _compiled() -> Any:
    """That block, compiled when a flight first asks for it."""
    return kernel(_injecting, signature=BLOCK)


class Injection:
    """A block with the wave on top of what it writes; `contract.chain` takes it in place of a Block."""

    def __init__(self, inner: Any) -> None:
        self.inner = inner
        self.messages: list[str] = getattr(inner, "messages", [])

    @property
    def address(self) -> int:
        """Entry address of the compiled block."""
        compiled = _compiled().get_compile_result(BLOCK)
        return compiled.library.get_pointer_to_function(compiled.fndesc.llvm_func_name)

    def function(self, s: Any, craft: Any, gains: Array, memory: Array) -> None:
        """What the loop calls without the compiler."""
        give_back(s, memory)
        self.inner.function(s, craft, gains, memory)
        add_wave(s, memory)


def inject(
    session: Any, cut: Cut, period: int, harmonics: Any, amplitudes: Array, phases: Array, first: int = 0
) -> None:
    """Add a wave in a session from now on.

    Parameters
    ----------
    session : Session
    period : runs of the block in one period
    harmonics : whole numbers, (n,), n at most MOST_LINES
    amplitudes, phases : (n,) [the cut's unit; rad]
    first : where in the period it begins

    Raises
    ------
    InputError
        when there is no room for the wave.
    """
    row = SLOTS.index(cut.slot)
    memory, block = session.memory[row], session.blocks[row]
    if len(harmonics) > MOST_LINES:
        raise InputError([Problem("lines", f"are {len(harmonics)}", f"must be at most {MOST_LINES}")])
    if block.memory > Place.ADDRESS:
        room = f"must be at most {int(Place.ADDRESS)} numbers for a sweep"
        raise InputError([Problem(f"memory of {block.name}", f"is {block.memory} numbers", room)])

    def around(inner: Any) -> Injection:
        if JIT:
            memory[Place.ADDRESS] = float(inner.address)
        return Injection(inner)

    session.wrap(cut.slot, around)
    lines = np.column_stack([harmonics, amplitudes, phases]).ravel()
    memory[Place.NODE : Place.LINE] = cut.node, first, period, len(harmonics), 0.0, 0.0, 0.0
    memory[Place.LINE : Place.LINE + lines.size] = lines
