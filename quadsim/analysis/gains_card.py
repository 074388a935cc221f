"""Everything that stands on a gains card: the sets of the ladder, what each is good for, and what the field needs to know."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from controllers.contract import SLOTS
from quadsim.analysis.craft_loops import Condition, LoopBench, loop_bench
from quadsim.analysis.flown_sets import FlownSet, fly_set
from quadsim.analysis.gain_conversion import (
    AXES,
    Converter,
    HandCheck,
    check_rate,
    converter_of,
    hand_check,
    lacking_keys,
)
from quadsim.analysis.gain_sets import Scaled, scaled_gains
from quadsim.analysis.gains_ladder import Rung, conditions_of, first_rung, ladder
from quadsim.config import Craft
from quadsim.config.equilibrium import hover_balance

RATE = SLOTS.index("rate")
LOG_SAMPLES, ROTOR_SAMPLES = 4.0, 2.5
"""Samples a period that a log needs to show an oscillation, and not to fold the rotors' line into another place; assumed."""


@dataclass(frozen=True)
class GainRow:
    """One gain over the sets: as the craft file spells it, its unit, its values, and the same in the controller's unit."""

    gain: Scaled
    unit: str
    values: tuple[float, ...]
    converted_unit: str
    converted: tuple[float, ...]

    @property
    def key(self) -> str:
        return f"{self.gain.slot}.{self.gain.key}"

    @property
    def words(self) -> str:
        """In words: `roll P`."""
        parts = self.gain.key.split("_")
        return " ".join([*parts[:-1], parts[-1].upper()])


@dataclass(frozen=True)
class GainsCard:
    """A gains card.

    conditions : that the sets were looked at in, hover first
    rungs, flown : the sets, least first, and how each flew
    begin : the set to begin with; None when none meets the practice in hover
    lacking : keys without which gains stay in physical units
    checks : by set, then axis; empty without a converter
    rotor_Hz : of the rotors in hover: what the log shows there is not the gains
    notes : what else must be said
    """

    craft: Craft
    bench: LoopBench
    payload: float
    conditions: tuple[Condition, ...]
    rows: tuple[GainRow, ...]
    rungs: tuple[Rung, ...]
    flown: tuple[FlownSet, ...]
    begin: Rung | None
    converter: Converter | None
    lacking: tuple[str, ...]
    checks: tuple[tuple[HandCheck, ...], ...]
    rotor_Hz: float
    log_Hz: float
    notes: tuple[str, ...]

    @property
    def sound(self) -> bool:
        """True when there is a set to begin with and the sets flew."""
        return self.begin is not None and all(one.ok for one in self.flown)


def gains_card(
    craft: Craft,
    payload: float = 0.0,
    progress: Callable[[int, int, str], None] | None = None,
    wanted: Sequence[Condition] | None = None,
) -> GainsCard:
    """The card of a craft, as its file says it flies; takes some seconds.

    Parameters
    ----------
    payload : that the sets are looked at with besides the empty craft [kg]
    progress : called with conditions done, how many there are, and the next in words
    wanted : conditions to look at, hover on a full pack first; the usual ones when left out

    Raises
    ------
    InputError
        when the craft cannot hover or its law has no gains that a ladder could scale.
    """
    bench = loop_bench(craft)
    scaled = scaled_gains(bench.blocks)
    converter = converter_of(bench)
    bench, notes = _as_filtered(bench, converter)
    conditions = tuple(conditions_of(payload) if wanted is None else wanted)
    rungs = ladder(bench, conditions, converter, progress)
    flown = [fly_set(craft, rung) for rung in rungs]
    rotor_Hz = _rotor_Hz(bench)
    return GainsCard(
        craft, bench, payload, conditions, tuple(_row(one, rungs, converter) for one in scaled), tuple(rungs), tuple(flown),
        first_rung(rungs), converter, () if converter else lacking_keys(bench), _checks(bench, rungs, converter), rotor_Hz,
        _log_Hz(rungs, rotor_Hz), tuple(notes),
    )  # fmt: skip


def _rotor_Hz(bench: LoopBench) -> float:
    """Turns of the rotors in hover on a full pack [Hz]."""
    hover = hover_balance(bench.plant)
    assert hover is not None  # the ladder has found it hovering
    return hover.rotor_speed / (2.0 * math.pi)


def _log_Hz(rungs: Sequence[Rung], rotor_Hz: float) -> float:
    """Rate at which a log shows every oscillation of the card, and the rotors where they are [Hz]; whole fifties."""
    fastest = max(
        (one.buzz.frequency_Hz for rung in rungs for one in rung.loops.values() if one.buzz), default=0.0
    )
    return 50.0 * math.ceil(max(LOG_SAMPLES * fastest, ROTOR_SAMPLES * rotor_Hz) / 50.0)


def _as_filtered(bench: LoopBench, converter: Converter | None) -> tuple[LoopBench, list[str]]:
    """The bench with the flight controller's own filter on the derivative, if that is another."""
    gain = next((g for g in bench.blocks[RATE].gains if g.name == "DERIVATIVE_CUTOFF"), None)
    if converter is None or gain is None or converter.stated.derivative_cutoff_Hz is None:
        return bench, []
    own, stated = float(bench.gains[RATE, gain]), float(converter.stated.derivative_cutoff_Hz)
    if own == stated:
        return bench, []
    gains = bench.gains.copy()
    gains[RATE, gain] = stated
    words = f"Margins are with the flight controller's derivative filter, {stated:g} Hz; the craft's own is {own:g} Hz."
    return replace(bench, gains=gains), [words]


def _row(one: Scaled, rungs: list[Rung], converter: Converter | None) -> GainRow:
    values = tuple(float(rung.gains[one.row, one.gain]) for rung in rungs)
    unit = ""
    converted: tuple[float, ...] = ()
    if converter is not None and one.slot == "rate":
        name, _, kind = one.key.rpartition("_")
        axis = AXES.index(name)
        unit = converter.unit(kind)
        converted = tuple(converter.converted(value, axis, kind) for value in values)
    return GainRow(one, one.gain.unit, values, unit, converted)


def _checks(
    bench: LoopBench, rungs: list[Rung], converter: Converter | None
) -> tuple[tuple[HandCheck, ...], ...]:
    """The check by hand of each set, at the voltage of a full pack at rest; an axis is turned at one rate for all sets."""
    if converter is None:
        return ()
    volts = float(bench.plant.cells * bench.plant.full_cell_voltage)
    gains = [
        [converter.converted(float(rung.gains[RATE, axis]), axis, "p") for axis in range(3)] for rung in rungs
    ]
    rates = [check_rate(converter, axis, gains[-1][axis], volts) for axis in range(3)]
    return tuple(
        tuple(hand_check(converter, axis, row[axis], volts, rates[axis]) for axis in range(3))
        for row in gains
    )
