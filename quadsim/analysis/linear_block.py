"""Linear model of any control block about an operating point, by central differences of the block itself.

A block is a map in discrete time: what it keeps (its memory and the signals it writes, which it may read again) and the
signals it reads go in, the same come out. So a user's own block is treated like ours, and no formula is written twice.

A block that acts on a slow sensor only when a sample is new does two different things: a run without a new sample, and one
with it. Both are linearised, and what the second does more is spread over the runs from one sample to the next, so that all of
them together do what it does at once. That is good up to about one radian between two samples.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from controllers.contract import Block
from controllers.python_block import OUTPUTS
from controllers.signals import SIGNALS, SIGNALS_TABLE, rows

Array = NDArray[np.float64]
Complex = NDArray[np.complex128]
Place = tuple[str, int]
"""A scalar in the signals: name and index (0 for a scalar signal)."""

NOTHING = 1e-12
"""A slope below this counts as none."""
STEP = 1e-6
"""Step of the differences, in each signal's SI unit; memory is moved by this times its size or one."""

STRONG, TERMS = 0.8, 100
"""Share of an error taken over at once up to which its logarithm is used, and terms of the series: 0.8^100 is 2e-10."""

SAME = 1e-6
"""Slopes that differ by less are the same: differences of steps of 1e-6 are good to 1e-10."""

_SHAPES = {s.name: s.shape for s in SIGNALS_TABLE}
_fields: Mapping[str, tuple[Any, ...]] = SIGNALS.fields or {}
_OFFSETS = {s.name: (_fields[s.name][1] // 8, int(np.prod(s.shape)) if s.shape else 1) for s in SIGNALS_TABLE}


def places(names: Sequence[str]) -> list[Place]:
    """All scalars of some signals."""
    return [(name, k) for name in names for k in range(_OFFSETS[name][1])]


def _at(wanted: Sequence[Place]) -> NDArray[np.intp]:
    """Where scalars lie in a signals record seen as an array of numbers."""
    return np.array([_OFFSETS[name][0] + k for name, k in wanted], np.intp)


@dataclass(frozen=True)
class Rest:
    """A block at rest, at the moment before a run: signals as numbers, and memory."""

    signals: Array
    memory: Array


@dataclass(frozen=True)
class LinearBlock:
    """x' = A x + B u once per `dt` [s]; x is what is kept that matters, and the outputs are its last elements.

    inputs, outputs : the scalars that are read, and those that the block's slot writes
    held : for each input, whether runs between two samples read it too, (inputs,)
    """

    inputs: tuple[Place, ...]
    outputs: tuple[Place, ...]
    dt: float
    a: Array
    b: Array
    held: NDArray[np.bool_]

    def response(self, w: Array) -> Complex:
        """Frequency response (n, outputs, inputs) at angular frequencies [rad/s], of the outputs after a run to what it read."""
        last = np.arange(self.a.shape[0] - len(self.outputs), self.a.shape[0])
        direct = np.broadcast_to(self.b[last], (len(w), len(last), self.b.shape[1])).astype(complex)
        kept = np.flatnonzero(np.any(np.abs(self.a) > NOTHING, axis=0))
        if not kept.size:
            return direct
        z = np.exp(1j * np.asarray(w) * self.dt)[:, None, None]
        into = np.broadcast_to(self.b[kept], (len(w), kept.size, self.b.shape[1]))
        inner = np.linalg.solve(z * np.eye(kept.size) - self.a[np.ix_(kept, kept)], into)
        return self.a[np.ix_(last, kept)] @ inner + direct


def linearise_block(
    block: Block, craft: Any, gains: Array, rest: Rest, dt: float, inputs: Sequence[Place],
    fresh: Mapping[str, tuple[Rest, int]] | None = None,
) -> LinearBlock:  # fmt: skip
    """The linear model of a block about where it rests.

    Parameters
    ----------
    block : the block
    craft, gains : as the block gets them
    rest : of a run without a new sample
    dt : its interval [s]
    inputs : scalars that it may read
    fresh : counter of a slow sensor -> how the block rests before a run with a new sample, and every how many runs that is
    """
    outputs = places(OUTPUTS[block.slot])
    a, b = _slopes(block, craft, gains, rest, dt, inputs, outputs, None)
    held = np.any(np.abs(b) > NOTHING, axis=0)
    jumps = []
    for counter, (before, every) in (fresh or {}).items():
        a1, b1 = _slopes(block, craft, gains, before, dt, inputs, outputs, counter)
        jumps.append((a1 - a, b1 - b, every))
    kept = _reaching(a + sum(more / every for more, _, every in jumps), len(outputs))
    a, b = a[np.ix_(kept, kept)], b[kept]
    for more_a, more_b, every in jumps:
        jump = more_a[np.ix_(kept, kept)]
        share = _spread(jump) / every
        a, b = a + share @ jump, b + share @ more_b[kept]
    return LinearBlock(tuple(inputs), tuple(outputs), dt, a, b, held)


def _spread(jump: Array) -> Array:
    """The matrix F that makes a jump x' = (1 + E) x + G u small: n runs that each add (F E x + F G u)/n do the same together.

    1 + E = exp(D) with D = F E, and a steady u moves x by (exp(D) - 1) D^-1 F G = G: F = ln(1 + E) E^-1, the series
    1 - E/2 + E^2/3 - ... A velocity of which a fix takes over 40 % loses ln 0.6 = -0.51 of its error per fix, not 0.4.
    """
    identity = np.eye(len(jump))
    # a count, a time since: nothing is left of what was there
    reset = np.all(np.abs(jump + identity) < SAME, axis=1)
    jump = jump * ~(reset[:, None] | reset[None, :])
    if np.max(np.abs(np.linalg.eigvals(jump)), initial=0.0) > STRONG:
        return identity
    total, power = identity.copy(), identity
    for k in range(1, TERMS):
        power = -power @ jump
        total += power / (k + 1)
    return total


def _reaching(a: Array, outputs: int) -> NDArray[np.intp]:
    """Elements of the state that reach the outputs at all; the outputs stay, last."""
    size = a.shape[0]
    found = np.zeros(size, bool)
    found[size - outputs :] = True
    while True:
        more = found | np.any(np.abs(a[found]) > NOTHING, axis=0)
        if np.array_equal(more, found):
            return np.flatnonzero(found)
        found = more


def _slopes(
    block: Block, craft: Any, gains: Array, rest: Rest, dt: float, inputs: Sequence[Place], outputs: Sequence[Place],
    counter: str | None,
) -> tuple[Array, Array]:  # fmt: skip
    """A and B of one kind of run: all memory, then the outputs, are the state."""
    size, scratch = block.memory, rows(SIGNALS)
    numbers = scratch.view(np.float64).reshape(-1)
    s, memory = scratch[0], rest.memory.copy()
    out, read = _at(outputs), _at(inputs)
    call = block.compiled if block.compiled is not None else block.function
    count = _at([(counter, 0)]) if counter else np.array([], np.intp)

    def run(kept: Array, given: Array) -> Array:
        numbers[:] = rest.signals
        numbers[count] += 1.0
        s.dt = dt
        memory[:] = rest.memory
        memory[:size] = kept[:size]
        numbers[out] = kept[size:]
        numbers[read] = given
        call(s, craft, gains, memory)
        return np.concatenate([memory[:size], numbers[out]])

    kept, given = np.concatenate([rest.memory[:size], rest.signals[out]]), rest.signals[read]
    a = _differences(lambda x: run(x, given), kept, STEP * np.maximum(np.abs(kept), 1.0))
    b = _differences(lambda u: run(kept, u), given, STEP * np.maximum(np.minimum(np.abs(given), 1.0), 1e-3))
    return a, b


def _differences(f: Callable[[Array], Array], at: Array, steps: Array) -> Array:
    """Jacobian of f by central differences, one column per number of `at`."""
    columns = []
    for n, step in enumerate(steps):
        ahead, behind = at.copy(), at.copy()
        ahead[n] += step
        behind[n] -= step
        columns.append((f(ahead) - f(behind)) / (2.0 * step))
    return np.array(columns).T.reshape(-1, len(at))
