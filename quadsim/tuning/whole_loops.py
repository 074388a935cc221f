"""The gains found, seen once more in the whole linear model: at every corner, with all other loops closed and every coupling in
it, where the search took each axis by itself."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from quadsim.analysis.craft_loops import LOOPS, CraftLoops
from quadsim.analysis.loop_model import linear_chain
from quadsim.analysis.margins import Margins, margins
from quadsim.tuning.corners import Corner

Array = NDArray[np.float64]

SEEN = ("roll", "pitch", "yaw", "height")


@dataclass(frozen=True)
class WorstMargins:
    """Least margins of one loop over the corners, and at which corner each is."""

    gain_up_dB: float
    gain_up_at: str
    gain_down_dB: float
    gain_down_at: str
    phase_deg: float
    phase_at: str

    def meets(self, gain_dB: float, phase_deg: float) -> bool:
        """Whether all three are there."""
        return min(self.gain_up_dB, self.gain_down_dB) >= gain_dB and self.phase_deg >= phase_deg


def with_gains(loops: CraftLoops, gains: Array) -> CraftLoops:
    """The same craft in the same condition with other gains: the plant stays as it is linearised."""
    bench = loops.bench.with_gains(gains)
    every = np.asarray(bench.rates.every)
    chain = linear_chain(
        bench.blocks, gains, bench.builder, bench.sensors, every, bench.h, loops.plant, loops.condition.mode
    )
    return replace(loops, bench=bench, chain=chain)


def whole_margins(corners: list[Corner], gains: Array, w: Array) -> dict[str, WorstMargins]:
    """Least margins of roll, pitch, yaw and height over corners, with some gains (5, GAINS_SIZE).

    Yaw and height give way where hardly any thrust is left, and next to none holds no height: they count at the other corners.
    """
    seen: dict[str, list[tuple[str, Margins]]] = {name: [] for name in SEEN}
    for corner in corners:
        model = with_gains(corner.loops, gains).model(w)
        for name in SEEN:
            if (name in ("yaw", "height") and corner.strained) or (name == "height" and corner.idling):
                continue
            seen[name].append((corner.name, margins(w, model.loop(LOOPS[name]))))
    return {name: _worst(rows) for name, rows in seen.items() if rows}


def _worst(rows: list[tuple[str, Margins]]) -> WorstMargins:
    up = min(rows, key=lambda row: row[1].gain_up_dB)
    down = min(rows, key=lambda row: row[1].gain_down_dB)
    phase = min(rows, key=lambda row: row[1].phase_deg)
    return WorstMargins(up[1].gain_up_dB, up[0], down[1].gain_down_dB, down[0], phase[1].phase_deg, phase[0])
