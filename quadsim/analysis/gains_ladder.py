"""A ladder of gain sets for the first flights, from half the gains to all of them, each looked at over the craft's conditions.

P, I and D of the rate loops, P of attitude and heading, and P and I of height and climb go up together; filters, limits and
feed-forward stay, and so do the gains of the place, which is not held on the ladder. Half the gains are not half the risk: the
low-gain margin shrinks on the way down, and a set that wallows is as bad as one that buzzes.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from quadsim.analysis.craft_loops import LOOPS, Condition, CraftLoops, LoopBench, frequencies
from quadsim.analysis.gain_conversion import Converter
from quadsim.analysis.gain_sets import INTEGRALS, SHARES, Scaled, scaled_gains, with_share
from quadsim.analysis.gains_at import GainsAt
from quadsim.analysis.loop_edges import Crossover, crossovers, part_too_high, too_high, too_low
from quadsim.analysis.loop_model import LoopModel
from quadsim.analysis.margin_survey import GAIN_DB, LOW_CELL_V, PHASE_DEG
from quadsim.analysis.margins import CAP_DB, Margins, margins
from quadsim.analysis.sampled_loop import loop_modes

Array = NDArray[np.float64]

SHOWN = ("roll", "pitch", "yaw", "height")
"""Loops cut at what the rotors are asked for, all others closed."""
THROTTLES = (0.10, 0.30, 0.95)
FIRST = 0
"""Place of hover on a full pack in `conditions_of`: the condition of the first flight."""


@dataclass(frozen=True)
class LoopLook:
    """One loop of one set.

    hover : its margins in hover on a full pack; without meaning when that is unstable
    gain_up_dB, gain_down_dB, phase_deg : the least over all stable conditions, each with the condition where it is least;
        below zero where the set is unstable because of this loop (see `_culprit`): by so much the gain is too high or too low
    buzz, wallow, windup : how it would oscillate in hover with more gain, with less, and with more of its integral alone
    """

    hover: Margins
    gain_up_dB: tuple[float, Condition]
    gain_down_dB: tuple[float, Condition]
    phase_deg: tuple[float, Condition]
    buzz: Crossover | None
    wallow: Crossover | None
    windup: Crossover | None

    @property
    def short(self) -> list[str]:
        """What falls short of the practice, in words; empty if nothing does."""
        found = []
        for words, (value, where), least, unit in (
            ("up", self.gain_up_dB, GAIN_DB, "dB"), ("down", self.gain_down_dB, GAIN_DB, "dB"),
            ("phase", self.phase_deg, PHASE_DEG, "deg"),
        ):  # fmt: skip
            if value < least:
                found.append(f"{words} {value:.1f} {unit} at {where.words}")
        return found


@dataclass(frozen=True)
class Rung:
    """One set of the ladder: gains (5, GAINS_SIZE), its loops by name, the conditions in which it is unstable, in words, and
    whether it is stable in hover on a full pack."""

    share: float
    gains: Array
    loops: dict[str, LoopLook]
    unstable: tuple[str, ...]
    hovers: bool

    @property
    def low_gain_short(self) -> bool:
        """True when a loop wallows, or nearly does: its low-gain margin is short of the practice somewhere."""
        return any(one.gain_down_dB[0] < GAIN_DB for one in self.loops.values())

    @property
    def hover_ok(self) -> bool:
        """True when all loops meet the practice in hover on a full pack, where every set is flown first."""
        return self.hovers and all(
            min(one.hover.gain_up_dB, one.hover.gain_down_dB) >= GAIN_DB and one.hover.phase_deg >= PHASE_DEG
            for one in self.loops.values()
        )

    @property
    def flags(self) -> list[str]:
        """All that falls short, in words."""
        lines = [f"UNSTABLE at {where}" for where in self.unstable]
        return lines + [f"{name}: {', '.join(one.short)}" for name, one in self.loops.items() if one.short]


def conditions_of(payload: float = 0.0) -> list[Condition]:
    """Hover full and low, three throttles, and hover with the payload [kg] if there is one. The first is hover on a full pack."""
    found = [Condition(), Condition(cell_voltage=LOW_CELL_V), *(Condition(duty=duty) for duty in THROTTLES)]
    return found + ([Condition(payload=payload)] if payload > 0.0 else [])


def ladder(
    bench: LoopBench,
    wanted: Sequence[Condition],
    converter: Converter | None = None,
    progress: Callable[[int, int, str], None] | None = None,
    shares: Sequence[float] = SHARES,
) -> list[Rung]:
    """The sets of a ladder, least first.

    Parameters
    ----------
    wanted : conditions to look at, hover on a full pack first; see `conditions_of`
    converter : of a flight controller; the loops are then as strong as it makes them, and its derivative filter counts
    progress : called with the number of conditions done, how many there are, and the next in words
    shares : of the gains, one a set

    Raises
    ------
    InputError
        when the craft cannot hover, or its law has no gains to scale.
    """
    scaled = scaled_gains(bench.blocks)
    w = frequencies(bench)
    looks: list[list[_Look]] = []
    windups: list[dict[str, Crossover | None]] = []
    for done, condition in enumerate(wanted):
        if progress is not None:
            progress(done, len(wanted), condition.words)
        strength = 1.0 if converter is None else converter.strength(bench, condition)
        at = GainsAt.of(bench, condition)
        sets = [as_flown(bench, scaled, share, strength) for share in shares]
        found = [at.with_gains(gains) for gains in sets]
        models = [loops.model(w) for loops in found]
        looks.append([_look(loops, model) for loops, model in zip(found, models, strict=True)])
        if not windups:
            windups = [_windups(at, model, gains, scaled) for model, gains in zip(models, sets, strict=True)]
    return [
        _rung(share, with_share(bench.gains, scaled, share), [row[k] for row in looks], wanted, windups[k])
        for k, share in enumerate(shares)
    ]


def as_flown(bench: LoopBench, scaled: Sequence[Scaled], share: float, strength: float) -> Array:
    """Gains of a set with the innermost ones times the strength of the loop behind them."""
    gains = with_share(bench.gains, scaled, share)
    if strength != 1.0:
        inner = [one for one in scaled if one.slot == "rate" or one.gain.name.startswith("CLIMB")]
        gains = with_share(gains, inner, strength)
    return gains


@dataclass(frozen=True)
class _Look:
    """One set in one condition."""

    stable: bool
    margins: dict[str, Margins]

    def judged(self, name: str) -> Margins | None:
        """Margins of a loop; where all is unstable, below zero for the loop that makes it so and None for the others."""
        if self.stable:
            return self.margins[name]
        loop, at = _culprit(self.margins)
        if loop != name:
            return None
        up, down = (at.gain_dB, CAP_DB) if at.gain_dB < 0.0 else (CAP_DB, -at.gain_dB)
        return replace(self.margins[name], gain_up_dB=up, gain_down_dB=down, phase_deg=0.0)


def _culprit(found: dict[str, Margins]) -> tuple[str, Crossover]:
    """The loop that makes a set unstable: the one that the least change of its gain would bring to the edge."""
    turns = [(name, turn) for name, one in found.items() for turn in crossovers(one)]
    return min(turns, key=lambda pair: abs(pair[1].gain_dB), default=("", Crossover(0.0, 0.0)))


def _look(loops: CraftLoops, model: LoopModel) -> _Look:
    stable = loop_modes(loops).stable
    found = {name: margins(model.w, model.loop(LOOPS[name]), stable=stable) for name in SHOWN}
    return _Look(stable, found)


def _windups(
    at: GainsAt, once: LoopModel, gains: Array, scaled: Sequence[Scaled]
) -> dict[str, Crossover | None]:
    """How each loop would oscillate with more integral alone.

    L is linear in the integral gain, so L with twice of it less L is the integral's part. All loops are given twice at once:
    what that does to a loop through the others is small and left out.
    """
    integrals = {
        name: [one for one in scaled if one.gain.name in known and gains[one.row, one.gain] > 0.0]
        for name, known in INTEGRALS.items()
    }
    more = with_share(gains, list({one.key: one for row in integrals.values() for one in row}.values()), 2.0)
    twice = at.with_gains(more).model(once.w)
    found: dict[str, Crossover | None] = dict.fromkeys(SHOWN)
    for name in SHOWN:
        if integrals[name]:
            loop = once.loop(LOOPS[name])
            found[name] = part_too_high(once.w, loop, twice.loop(LOOPS[name]) - loop)
    return found


def _rung(
    share: float,
    gains: Array,
    looks: list[_Look],
    wanted: Sequence[Condition],
    windups: dict[str, Crossover | None],
) -> Rung:
    unstable = tuple(where.words for look, where in zip(looks, wanted, strict=True) if not look.stable)
    loops = {}
    for name in SHOWN:
        pairs = [
            (one, where)
            for look, where in zip(looks, wanted, strict=True)
            if (one := look.judged(name)) is not None
        ]
        hover = looks[FIRST].margins[name]
        loops[name] = LoopLook(
            hover, _least(pairs, "gain_up_dB"), _least(pairs, "gain_down_dB"),
            _least(pairs, "phase_deg"), too_high(hover), too_low(hover), windups[name],
        )  # fmt: skip
    return Rung(share, gains, loops, unstable, looks[FIRST].stable)


def _least(pairs: list[tuple[Margins, Condition]], name: str) -> tuple[float, Condition]:
    values = [(float(getattr(one, name)), where) for one, where in pairs]
    return min(values, key=lambda pair: pair[0], default=(math.nan, Condition()))


def first_rung(rungs: Sequence[Rung]) -> Rung | None:
    """The set to begin with: the least that meets the practice in hover; None when no set does."""
    return next((one for one in rungs if one.hover_ok), None)
