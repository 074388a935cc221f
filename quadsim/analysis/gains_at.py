"""The loops of a craft in one condition with one set of gains after the other, without doing again what no gain changes."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from controllers.contract import SLOTS
from quadsim.analysis.craft_loops import Condition, CraftLoops, LoopBench, craft_loops
from quadsim.analysis.linear_block import linearise_block
from quadsim.analysis.loop_model import READS, LinearChain

Array = NDArray[np.float64]


@dataclass(frozen=True)
class GainsAt:
    """A condition with what no set of gains changes: plant, hardware, how the blocks rest, and blocks whose gains stay."""

    loops: CraftLoops

    @classmethod
    def of(cls, bench: LoopBench, condition: Condition) -> GainsAt:
        """A bench in a condition.

        Raises
        ------
        InputError
            when the craft cannot fly like that.
        """
        return cls(craft_loops(bench, condition))

    def with_gains(self, gains: Array) -> CraftLoops:
        """The loops with other gains (5, GAINS_SIZE), those of the estimate excepted.

        Only blocks whose gains differ are linearised again. At rest no error stands, so that gains do not change what the blocks
        keep; an estimate's gains would.
        """
        bench, blocks = self.loops.bench, dict(self.loops.chain.blocks)
        for k, slot in enumerate(SLOTS):
            if not np.array_equal(gains[k], bench.gains[k]):
                dt = int(bench.rates.every[k]) * bench.h
                rest, reads = self.loops.chain.rest.rest[slot], READS[slot]
                blocks[slot] = linearise_block(bench.blocks[k], bench.builder, gains[k], rest, dt, reads)
        return replace(
            self.loops, bench=bench.with_gains(gains), chain=LinearChain(blocks, self.loops.chain.rest)
        )
