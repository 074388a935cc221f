"""What the instruments should show after a run: a difference means that craft and file are not the same any more."""

from __future__ import annotations

import math
from dataclasses import dataclass

from quadsim.contest.crowd import Crowd
from quadsim.contest.feed import Store, feed, hold, open_circuit
from quadsim.contest.steady import Trim
from quadsim.units import CELSIUS, MAH

COOLED = 4.0
"""Warmth over the air falls to this part before the next run, one in ...; our choice."""


@dataclass(frozen=True)
class RunEnd:
    """seconds : of the run; hover_pct : motor command of the heaviest loaded motor in the first hover [%]
    loaded_cell_V, rest_cell_V : at the end under load, and after a rest; back_mAh : what the charger puts back
    case_C, winding_C, pack_C : at the end [deg C]; cooling_min : until a quarter of the motors' warmth over the air is left
    """

    seconds: float
    hover_pct: float
    loaded_cell_V: float
    rest_cell_V: float
    back_mAh: float
    case_C: float
    winding_C: float
    pack_C: float
    cooling_min: float


def run_end(crowd: Crowd, hover: Trim, legs: list[tuple[Trim, float]]) -> RunEnd:
    """The end of a run of the first craft from a full pack: steady flights and their seconds, one after the other."""
    store = Store.full(crowd)
    first = feed(crowd, hover, store)
    at, drawn = first, 0.0
    for flown, seconds in legs:
        before = feed(crowd, flown, store).pack_current[0]
        at = hold(crowd, flown, seconds, store)
        drawn += 0.5 * float(before + at.pack_current[0]) * seconds
    cells = float(crowd.cells[0])
    tau = float(crowd.case_heat[0] + crowd.winding_heat[0]) / float(crowd.case_to_still_air[0])
    return RunEnd(
        sum(seconds for _, seconds in legs),
        100.0 * float(first.command[0]),
        float(at.volts[0]) / cells,
        float(open_circuit(store.charge, crowd.full_cell_voltage)[0]),
        drawn / MAH,
        float(store.case[0]) - CELSIUS,
        float(store.winding[0]) - CELSIUS,
        float(store.pack[0]) - CELSIUS,
        tau * math.log(COOLED) / 60.0,
    )
