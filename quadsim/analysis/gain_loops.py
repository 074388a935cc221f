"""Loops of a craft in one condition as a function of two gains, fast enough for a map.

The chain is cut at the outputs of the blocks whose gains change and at the loops of interest; what comes back there for a unit
put in is a small matrix M(jw). Only the changed blocks are linearised again, at a few values of each gain, and M in between is
interpolated: exactly where the blocks are straight in a gain (P, I and D are), by a spline over more values where not (cut-offs).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline

from controllers.contract import SLOTS
from quadsim.analysis.block_rest import chain_at_rest
from quadsim.analysis.craft_loops import CraftLoops
from quadsim.analysis.grid_margins import unstable_modes
from quadsim.analysis.linear_block import Place, linearise_block
from quadsim.analysis.loop_model import ASKED, READS, LinearChain, slot_flow
from quadsim.analysis.sampled_loop import NEUTRAL, loop_modes

Array = NDArray[np.float64]
Complex = NDArray[np.complex128]

KNOTS = 7
"""Values of a gain at which the blocks are linearised where they are not straight in it."""
STRAIGHT = 1e-4
"""Departure from a straight line, relative, that counts as none."""
ANGLES: dict[Place, Place] = {place: ("attitude", k + 1) for k, place in enumerate(ASKED[:3])}
"""The angle (half of it, of the quaternion) that a disturbance at each rate loop turns."""


@dataclass(frozen=True)
class Knob:
    """A gain that is turned: row of its slot, index, and the range over which it is [its unit]."""

    row: int
    index: int
    low: float
    high: float


@dataclass(frozen=True)
class GridLoops:
    """At many points of two gains; `loops` and `angles` by place, each (points, n)."""

    unstable: NDArray[np.int64]
    loops: dict[Place, Complex]
    angles: dict[Place, Complex]
    """Angle [rad] over a disturbance of 1 rad/s2 put in at a rate loop."""


class GainLoops:
    """See the module; `at` gives the loops at any points within the knobs' ranges."""

    def __init__(self, now: CraftLoops, w: Array, knobs: tuple[Knob, Knob], nodes: Sequence[Place]) -> None:
        self.now, self.w, self.knobs, self.nodes = now, w, knobs, tuple(nodes)
        model = now.model(w)
        self.slots = sorted({SLOTS[knob.row] for knob in knobs})
        changed = [place for slot in self.slots for place in now.chain.blocks[slot].outputs]
        self.cut = tuple(dict.fromkeys([*self.nodes, *changed]))
        self._at = [model.nodes.index(place) for place in self.cut]
        self._opened = model.opened(self.cut)
        self._own = model.flow[:, self._at, :]
        self._place = {place: n for n, place in enumerate(model.nodes)}
        self.present = [float(now.bench.gains[knob.row, knob.index]) for knob in knobs]
        self._lean([self._answer(self.present), *(self._answer(self._turned(k, 1.0)) for k in (0, 1))])
        self._known = np.linalg.det(np.eye(len(self.cut)) - self._answer(self.present))
        self._known_unstable = int(np.sum(loop_modes(now).growth > NEUTRAL))

    @cached_property
    def _knots(self) -> tuple[Array, Array]:
        return self._find_knots(0), self._find_knots(1)

    @cached_property
    def _table(self) -> Complex:
        """M at all knots, (knots of the first gain, of the second, n, cut, cut)."""
        return np.array([[self._answer([a, b]) for b in self._knots[1]] for a in self._knots[0]])

    def _turned(self, which: int, share: float) -> list[float]:
        """Both gains, one of them moved to a share of its range."""
        knob = self.knobs[which]
        return [
            knob.low + share * (knob.high - knob.low) if k == which else value
            for k, value in enumerate(self.present)
        ]

    def _lean(self, answers: Sequence[Complex]) -> None:
        """Keep cut only the loops of interest and the rows that the gains move: the rest is closed for good."""
        moved = np.any([np.abs(one - answers[0]).max(axis=(0, 2)) > 1e-9 for one in answers[1:]], axis=0)
        self.cut = tuple(p for p, m in zip(self.cut, moved, strict=True) if m or p in self.nodes)
        model = self.now.model(self.w)
        self._at = [model.nodes.index(place) for place in self.cut]
        self._opened, self._own = model.opened(self.cut), model.flow[:, self._at, :]

    def _answer(self, values: Sequence[float]) -> Complex:
        """M (n, cut, cut) with the blocks linearised anew at these gains."""
        flow = self._own.copy()
        row_of = {place: n for n, place in enumerate(self.cut)}
        chain = self._chain(values)
        for slot in self.slots:
            outputs = chain.blocks[slot].outputs
            wanted = [n for n, place in enumerate(outputs) if place in row_of]
            rows = slot_flow(slot, chain, self.now.hardware, self.now.plant, self.w)
            flow[:, [row_of[outputs[n]] for n in wanted]] = rows[:, wanted]
        return np.asarray(flow @ self._opened)

    def _chain(self, values: Sequence[float]) -> LinearChain:
        """The linear blocks with these gains; those whose gains stay are not done again."""
        bench, mode = self.now.bench, self.now.condition.mode
        gains, every = bench.gains.copy(), np.asarray(bench.rates.every)
        for knob, value in zip(self.knobs, values, strict=True):
            gains[knob.row, knob.index] = value
        rest = chain_at_rest(
            bench.blocks, gains, bench.builder, bench.sensors, every, bench.h, self.now.plant.point, mode
        )
        blocks = dict(self.now.chain.blocks)
        for slot in self.slots:
            k, fresh = SLOTS.index(slot), rest.fresh if slot == "estimate" else None
            blocks[slot] = linearise_block(
                bench.blocks[k], bench.builder, gains[k], rest.rest[slot], int(every[k]) * bench.h, READS[slot], fresh
            )  # fmt: skip
        return LinearChain(blocks, rest)

    def _find_knots(self, which: int) -> Array:
        """The two ends of a gain's range where everything is straight in it, else KNOTS values."""
        knob = self.knobs[which]
        low, middle, high = (self._answer(self._turned(which, share)) for share in (0.0, 0.5, 1.0))
        # at each frequency by itself: at low ones M is huge and hides everything else
        bend = np.max(np.abs(0.5 * (low + high) - middle) / (1.0 + np.abs(middle)))
        if bend < STRAIGHT:
            return np.array([knob.low, knob.high])
        if knob.low > 0.0:
            return np.geomspace(knob.low, knob.high, KNOTS)
        return np.linspace(knob.low, knob.high, KNOTS)

    def _weights(self, which: int, values: Array) -> Array:
        """Share of each knot in the answer at values of a gain, (points, knots)."""
        knots = self._knots[which]
        if len(knots) == 2:
            share = (values - knots[0]) / (knots[1] - knots[0])
            return np.stack([1.0 - share, share], axis=1)
        scale = np.log if knots[0] > 0.0 else np.asarray
        return np.asarray(CubicSpline(scale(knots), np.eye(len(knots)))(scale(values)))

    def at(self, values: Array) -> GridLoops:
        """Loops at points (points, 2) of the two gains."""
        first, second = (self._weights(k, values[:, k]) for k in (0, 1))
        return self._closed(np.einsum("pa,pb,abnij->pnij", first, second, self._table, optimize=True))

    def exactly(self, values: Sequence[Sequence[float]]) -> GridLoops:
        """As `at`, with the blocks linearised anew at each point: slow, and nothing interpolated."""
        return self._closed(np.array([self._answer(one) for one in values]))

    def _closed(self, answers: Complex) -> GridLoops:
        """Everything closed again, for M (points, n, cut, cut)."""
        difference = np.eye(len(self.cut)) - answers
        closed = np.linalg.inv(difference)
        unstable = unstable_modes(np.linalg.det(difference), self._known, self._known_unstable)
        column = {place: self.cut.index(place) for place in self.nodes}
        loops: dict[Place, Any] = {place: 1.0 / closed[:, :, k, k] - 1.0 for place, k in column.items()}
        angles: dict[Place, Any] = {}
        for place, angle in ANGLES.items():
            if place in column:
                seen = self._opened[None, :, self._place[angle]] * closed[:, :, :, column[place]]
                angles[place] = 2.0 * seen.sum(axis=-1)
        return GridLoops(unstable, loops, angles)
