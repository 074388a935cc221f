"""A sweep in the terminal: how many passed, the grid, the figures, what matters most, the worst flight and how to see it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from quadsim.cli.out import counted, say
from quadsim.cli.sweep_grid_text import print_grid, value_text
from quadsim.cli.table import Cell, Column, table
from quadsim.report.numbers import figure

if TYPE_CHECKING:
    from quadsim.sweep.influence import Influence, Influences
    from quadsim.sweep.outcome import Outcome, Share

MOST_INPUTS = 6
"""Inputs that are listed for a figure."""
MOST_REFUSED = 5
"""Refused combinations whose words are printed."""


def print_sweep(outcome: Outcome, commands: Mapping[int, str]) -> None:
    """Print a sweep; commands : that fly a flight again, by its number."""
    say()
    say(f"Sweep of {outcome.sweep.flight.name}: {outcome.sweep.flight.title}", "title")
    for line in _what_was_flown(outcome):
        say(f"  {line}", "soft")
    say()
    _print_share(outcome)
    print_grid(outcome)
    _print_figures(outcome)
    _print_influences(outcome)
    _print_refused(outcome)
    _print_again(outcome, commands)
    say()
    say(
        "  A simulated pass is not a clearance to fly: try a real craft low and far from people first.",
        "soft",
    )


def _what_was_flown(outcome: Outcome) -> list[str]:
    sweep = outcome.sweep
    names = ", ".join(sweep.base.crafts)
    lines = [f"{names}; {counted(len(sweep.cases), 'flight')}: {_combined(outcome)}"]
    if sweep.drawn:
        lines += _wrapped(
            "drawn",
            [f"{one.key.name} {figure(one.value, 4)} ± {figure(one.sigma, 2)}" for one in sweep.drawn],
        )
    if sweep.unfelt:
        lines += _wrapped("not drawn, no flight feels it", [one.key.name for one in sweep.unfelt])
    return lines


def _wrapped(what: str, words: Sequence[str], width: int = 108) -> list[str]:
    import textwrap

    return textwrap.wrap(f"{what}: {', '.join(words)}", width, subsequent_indent="  ", break_long_words=False)


def _combined(outcome: Outcome) -> str:
    sweep = outcome.sweep
    parts = [f"{len(axis.values)} of {'/'.join(key.name for key in axis.keys)}" for axis in sweep.axes]
    parts += [f"{len(sweep.base.crafts)} crafts"] if len(sweep.base.crafts) > 1 else []
    parts += [f"{len(sweep.base.laws)} laws"] if len(sweep.base.laws) > 1 else []
    each = f"{sweep.wanted.scatter} draws" if sweep.wanted.scatter else counted(sweep.wanted.seeds, "seed")
    return " x ".join([*parts, each])


def _print_share(outcome: Outcome) -> None:
    if not outcome.judged:
        return
    share = outcome.share
    good = share.passed == share.flown
    percent = (
        f", {_percent(share)}" if len(outcome.sweep.cells) == 1 else ""
    )  # over a grid it would be a share of nothing
    say(f"  {share.passed} of {share.flown} passed{percent}", "good" if good else "caution")
    if not outcome.sweep.flight.expect:
        say("  the flight file expects nothing: only the way a flight ends is judged", "soft")
    if outcome.missed:
        rows = [[what, f"{count}"] for what, count in outcome.missed]
        say(table([Column("missed", words=True), Column("flights")], rows, 4))


def _percent(share: Share) -> str:
    low, high = share.interval
    return f"{100.0 * share.share:.3g} % (95 % interval {100.0 * low:.3g} to {100.0 * high:.3g} %)"


def _print_figures(outcome: Outcome) -> None:
    from quadsim.config.metric_names import METRIC_NAMES

    columns = [
        Column("over all flights", words=True), Column("unit", words=True), Column("5 %"), Column("median"), Column("95 %"),
        Column("least"), Column("flight"), Column("greatest"), Column("flight"),
    ]  # fmt: skip
    rows = []
    for one in outcome.figures:
        ends = [
            part
            for end in (one.least, one.greatest)
            for part in (("-", "-") if end is None else (figure(end[1]), str(end[0])))
        ]
        unit = METRIC_NAMES[one.label.split(" ")[0]][0]
        rows.append([one.label, unit, figure(one.low), figure(one.middle), figure(one.high), *ends])
    say()
    say(table(columns, rows))


def _print_influences(outcome: Outcome) -> None:
    from quadsim.sweep.outcome import PASSES

    found = [one for label in (PASSES, *outcome.sweep.shown) if (one := outcome.influences(label))]
    if not found:
        return
    say()
    say(
        "  What matters most: correlation of the ranks (-1 to 1) and effect; intervals hold for all inputs at once (95 %)"
    )
    for one in found:
        _print_of(one)


def _print_of(found: Influences) -> None:
    from quadsim.config.metric_names import METRIC_NAMES
    from quadsim.sweep.outcome import PASSES

    passes = found.figure == PASSES
    unit = "% of flights" if passes else METRIC_NAMES[found.figure.split(" ")[0]][0]
    sure = [one for one in found.ranked if one.certain][:MOST_INPUTS]
    columns = [
        Column(found.figure, words=True, style=""), Column("rank"), Column("interval"), Column("changed by", words=True),
        Column("moves it by", unit), Column("interval"),
    ]  # fmt: skip
    if sure:
        say(table(columns, [_influence(one, 100.0 if passes else 1.0) for one in sure], 4))
    else:
        say(f"    {found.figure}: no input can be told from chance in {counted(found.flights, 'flight')}")
    rest = len(found.ranked) - len([one for one in found.ranked if one.certain])
    words = [
        f"the inputs explain {100.0 * max(found.explained, 0.0):.0f} % of its variance in a straight line"
    ]
    words += [f"{counted(rest, 'other input')} cannot be told from chance"] if sure and rest else []
    say(f"      {'; '.join(words)}", "soft")


def _influence(one: Influence, scale: float) -> list[str | Cell]:
    low, high = one.interval
    a, b = (scale * end for end in one.effect_interval)
    return [
        one.input.name, f"{one.correlation:+.2f}", f"{low:+.2f} to {high:+.2f}",
        f"+{figure(one.input.step, 2)} {one.input.unit}".rstrip(), _signed(scale * one.effect), f"{_signed(a)} to {_signed(b)}",
    ]  # fmt: skip


def _signed(value: float) -> str:
    text = figure(value, 2)
    return f"+{text}" if value > 0.0 and text != "0" else text


def _print_refused(outcome: Outcome) -> None:
    if not outcome.refused:
        return
    say()
    say(f"  {counted(len(outcome.refused), 'combination')} could not be flown:", "caution")
    told: dict[str, list[int]] = {}
    for one in outcome.refused:
        told.setdefault(one.words, []).append(one.number)
    for words, numbers in list(told.items())[:MOST_REFUSED]:
        values = _changes(outcome, numbers[0])
        say(
            f"    flight {numbers[0]}{f' and {len(numbers) - 1} more' if len(numbers) > 1 else ''} ({values}):"
        )
        for line in words.splitlines():
            say(f"      {line}")


def _changes(outcome: Outcome, number: int) -> str:
    case = outcome.case(number)
    words = [case.cell.craft] if len(outcome.sweep.base.crafts) > 1 else []
    words += [case.cell.law] if len(outcome.sweep.base.laws) > 1 else []
    words += [
        f"{axis.key.name} = {value_text(value)}"
        for axis, value in zip(outcome.sweep.axes, case.cell.values, strict=True)
    ]
    return ", ".join([*words, f"seed {case.seed}"])


def _print_again(outcome: Outcome, commands: Mapping[int, str]) -> None:
    worst: Any = outcome.worst
    for number, command in commands.items():
        one = outcome.judged.get(number)
        say()
        title = "Asked for"
        if worst is not None and number == worst.flown.number:
            title = "Nearest to missing" if worst.passed else "Worst"
        say(f"  {title}: flight {number}, {_changes(outcome, number)}", "title")
        if one is not None:
            say(f"    {one.flown.words}" + (f"; missed {'; '.join(one.failed)}" if one.failed else ""))
        say(f"    fly it again:  {command}")
