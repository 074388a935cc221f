"""What a block asks for that this craft cannot give: a filter faster than half its rate, memory that it did not declare."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from controllers.contract import Block
from quadsim.errors import Problem


def filter_problems(slot: str, block: Block, gains: np.ndarray, rate_Hz: float) -> Iterator[Problem]:
    """Gains in Hz above half the rate at which the block runs in this craft; 0 is a filter that is off.

    H. Nyquist, Certain Topics in Telegraph Transmission Theory, Trans. AIEE 47 (1928): a sampled signal holds nothing above
    half its rate, so a cut-off up there is not the one that was asked for.
    """
    for gain in block.gains:
        value, half = float(gains[gain]), 0.5 * rate_Hz
        if gain.unit == "Hz" and value > half:
            allowed = f"must be at most {half:g} Hz, half the {rate_Hz:g} Hz at which {block.name} runs in this craft"
            off = ", set it to 0 for no filter" if gain.low <= 0.0 else ""
            remedy = f"Lower it{off}, or raise flight_controller.rates_Hz.{slot}"
            yield Problem(f"gains.{slot}.{gain.name.lower()}", f"is {value:g} Hz", allowed, remedy)


def memory_problem(slot: str, spec: str, block: Block) -> Problem | None:
    """A compiled block of the user's that writes beyond the memory it declares, found by trying it out."""
    if ".py:" not in spec or block.compiled is None:
        return None
    from controllers.bench import Bench
    from controllers.check import check_memory

    with np.errstate(all="ignore"):
        finding = check_memory(Bench(block))
    if finding.ok:
        return None
    return Problem(f"block for {slot}", f"{spec} {finding.message}", remedy=f"See quadsim blocks {spec}")
