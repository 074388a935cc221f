"""A wave added to what the allocator is asked for, in a flight whose loops are all closed.

A block stands before the allocator. At each of its runs it adds the wave to one of the four things asked for, lets the allocator
work, and puts back what the law had asked. So the wave acts at the very moment a law's own output does, thrust curve,
voltage and limits of the allocator included, and the log shows the law's output alone.

Rationale: neither the flight loop nor any block knows of it, and no slope of the allocator is needed.
"""

from __future__ import annotations

import math
from enum import IntEnum
from typing import Any

import numpy as np
from numpy.typing import NDArray

from controllers.contract import BLOCK, JIT, MEMORY_SIZE, SLOTS
from quadsim.errors import InputError, Problem
from quadsim.jit import as_block, kernel

Array = NDArray[np.float64]

AXES = ("roll", "pitch", "yaw", "thrust")
"""What the allocator is asked for: angular accelerations [rad/s2] and thrust [N]."""
MOST_LINES = 40
"""Sines in one wave: what fits behind the memory of the allocator's own block."""


class Place(IntEnum):
    """Where the wave stands in the memory of slot allocate, behind what the block itself keeps."""

    ADDRESS = MEMORY_SIZE - 3 * MOST_LINES - 8
    AXIS = ADDRESS + 1
    RUN = ADDRESS + 2
    PERIOD = ADDRESS + 3
    """Runs of the allocator in one period."""
    LINES = ADDRESS + 4
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
def ask_for(s, axis, value):
    """Set one of the four things asked for; returns what stood there."""
    if axis < 3:
        before = s.angular_acceleration_wanted[axis]
        s.angular_acceleration_wanted[axis] = value
    else:
        before = s.thrust_wanted
        s.thrust_wanted = value
    return before


@kernel
def asked_for(s, axis):
    """One of the four things asked for."""
    return s.angular_acceleration_wanted[axis] if axis < 3 else s.thrust_wanted


def _injecting(s, craft, gains, memory):
    """The block: the wave, then the allocator whose entry address stands in the memory (a float keeps 53 bits of it)."""
    allocate = as_block(int(memory[Place.ADDRESS]))
    axis = int(memory[Place.AXIS])
    law = ask_for(s, axis, asked_for(s, axis) + next_value(memory))
    allocate(s, craft, gains, memory)
    ask_for(s, axis, law)


_compiled: Any = kernel(_injecting, signature=BLOCK) if JIT else None


class Injection:
    """An allocator with the wave before it; `contract.chain` takes it in place of a Block."""

    def __init__(self, inner: Any) -> None:
        self.inner = inner
        self.messages: list[str] = getattr(inner, "messages", [])

    @property
    def address(self) -> int:
        """Entry address of the compiled block."""
        compiled = _compiled.get_compile_result(BLOCK)
        return compiled.library.get_pointer_to_function(compiled.fndesc.llvm_func_name)

    def function(self, s: Any, craft: Any, gains: Array, memory: Array) -> None:
        """What the loop calls without the compiler."""
        axis = int(memory[Place.AXIS])
        law = ask_for(s, axis, asked_for(s, axis) + next_value(memory))
        self.inner.function(s, craft, gains, memory)
        ask_for(s, axis, law)


def inject(
    session: Any, axis: int, period: int, harmonics: Any, amplitudes: Array, phases: Array, first: int = 0
) -> None:
    """Begin to add a wave in a session, or go on with another one.

    Parameters
    ----------
    session : Session
    axis : index into AXES
    period : runs of the allocator in one period
    harmonics : whole numbers, (n,), n at most MOST_LINES
    amplitudes, phases : (n,) [rad/s2 or N; rad]
    first : where in the period it begins

    Raises
    ------
    InputError
        when there is no room for the wave.
    """
    row = SLOTS.index("allocate")
    memory, block = session.memory[row], session.blocks[row]
    if len(harmonics) > MOST_LINES:
        raise InputError([Problem("lines", f"are {len(harmonics)}", f"must be at most {MOST_LINES}")])
    if block.memory > Place.ADDRESS:
        room = f"must be at most {int(Place.ADDRESS)} numbers for a sweep"
        raise InputError([Problem(f"memory of {block.name}", f"is {block.memory} numbers", room)])

    def before(inner: Any) -> Injection:
        if JIT:
            memory[Place.ADDRESS] = float(inner.address)
        return Injection(inner)

    if not memory[Place.PERIOD]:
        session.wrap("allocate", before)
    lines = np.column_stack([harmonics, amplitudes, phases]).ravel()
    memory[Place.AXIS : Place.LINE] = axis, first, period, len(harmonics), 0.0, 0.0, 0.0
    memory[Place.LINE : Place.LINE + lines.size] = lines
