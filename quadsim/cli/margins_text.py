"""Margins in the terminal and as JSON: the condition asked for, then where each loop stands worst."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from quadsim.cli.out import say, say_prose
from quadsim.cli.table import Cell, Column, table

if TYPE_CHECKING:
    from quadsim.analysis.craft_loops import LoopBench
    from quadsim.analysis.flown_beside_linear import FlownBeside
    from quadsim.analysis.margin_survey import PointMargins
    from quadsim.analysis.margins import Margins

WORDS = {
    "roll": "roll rate",
    "pitch": "pitch rate",
    "yaw": "yaw rate",
    "height": "height",
    "roll_attitude": "roll attitude",
    "pitch_attitude": "pitch attitude",
    "heading": "heading",
    "place_right": "place, sideways",
    "place_ahead": "place, ahead",
}
"""Loops in words."""

NOTES = (
    "Each loop is cut where its controller's output leaves it, all others closed. Gain up and down: by how much the loop's gain",
    "may rise and fall; delay: what may come on top; disk: gain and phase together; peak: greatest |1/(1+L)|.",
    "Practice for aircraft: 6 dB up and down, 45 deg (MIL-F-9490D, SAE AS94900); 8 dB, 60 deg at a flexible mode (from memory).",
    "Helicopter handling boundaries (ADS-33E-PRF) are not scaled to this size and are not shown.",
)
PAST = "kalman"
"""An estimate whose history of past motion no linear model of single runs has."""
PAST_CAUTION = (
    "place loops are rough with the Kalman filter: the model leaves out its history of past motion. Measured once in flight they",
    "were up to 5 dB and 23 deg from it: take them for a hint, and look at quadsim fly",
)
CAUTION = "Good margins are not a clearance to fly: the model is only as good as the craft file. First without propellers."


def print_margins(
    bench: LoopBench, point: PointMargins, points: Sequence[PointMargins], changes: Sequence[str], stopped: bool
) -> None:  # fmt: skip
    """Print everything that was found."""
    say()
    say(f"Loops of {bench.craft.name}", "title")
    if changes:
        say(f"  with {', '.join(changes)}", "soft")
    say()
    say(f"  {point.condition.words}")
    say(_table(point.margins, {}))
    _say_unstable(point)
    if "place_ahead" in point.margins and bench.blocks[0].name == PAST:
        for line in PAST_CAUTION:
            say(f"  {line}", "caution")
    say()
    _say_together(point)
    if points:
        from quadsim.analysis.margin_survey import worst_points

        worst = worst_points(points)
        say()
        say(f"  worst of {len(points)} conditions{' (stopped before the last)' if stopped else ''}")
        say(
            _table(
                {k: p.margins[k] for k, p in worst.items()}, {k: p.condition.words for k, p in worst.items()}
            )
        )
        for bad in [one for one in points if not one.modes.stable]:
            _say_unstable(bad)
    say()
    say("  the craft by itself there, motor commands held")
    say(_mode_table(point))
    say()
    say_prose(NOTES, "soft")
    say(f"  {CAUTION}", "soft")


def _say_unstable(point: PointMargins) -> None:
    if not point.modes.stable:
        say(
            f"  UNSTABLE in {point.condition.words}: an oscillation doubles every {1e3 * point.modes.doubling_s:.0f} ms",
            "bad",
        )


def _say_together(point: PointMargins) -> None:
    """The disk margin of all four at once, room at a flexible mode, and how fast the craft follows."""
    from quadsim.analysis.margin_survey import FLEXIBLE_DB, flexible_margins

    one = point.together
    if point.modes.stable:
        gain = f"{one.gain_dB:.1f} dB" if math.isfinite(one.gain_dB) else "any gain"
        say(
            f"  roll, pitch, yaw and thrust changing at once: disk {one.alpha:.2f}, so {gain} or {one.phase_deg:.0f} deg in each"
        )
    for name, room in flexible_margins(point).items():
        short = room < FLEXIBLE_DB
        said = "any gain" if room >= 99.0 else f"{room:.1f} dB"
        say(
            f"  {name} rate at the flexible mode: {said} (practice {FLEXIBLE_DB:.0f} dB, from memory)",
            "caution" if short else "",
        )
    for name in ("roll", "pitch", "heading"):
        seen = point.bandwidth[name]
        parts = (
            [f"follows to {seen.half_power_Hz:.2f} Hz (-3 dB)"] if math.isfinite(seen.half_power_Hz) else []
        )
        if math.isfinite(seen.bandwidth_Hz):
            parts.append(f"bandwidth {seen.bandwidth_Hz:.2f} Hz")
        if math.isfinite(seen.phase_delay_s):
            parts.append(f"phase delay {1e3 * seen.phase_delay_s:.1f} ms (in the sense of ADS-33E-PRF)")
        if parts:
            say(f"  {name} angle: {', '.join(parts)}")


def _table(margins: dict[str, Margins], where: dict[str, str]) -> str:
    columns = [
        Column("", words=True), Column("gain up", "dB"), Column("down", "dB"), Column("phase", "deg"), Column("delay", "ms"),
        Column("disk", "-"), Column("crossover", "Hz"), Column("peak", "-"),
    ]  # fmt: skip
    columns += [Column("where", words=True, style="soft")] if where else []
    rows = []
    for name, one in margins.items():
        cells: list[str | Cell] = [WORDS[name], *_cells(one)]
        rows.append([*cells, where[name]] if where else cells)
    return table(columns, rows)


def _cells(one: Margins) -> list[str | Cell]:
    """Numbers of one loop; what falls short of the practice stands out."""
    from quadsim.analysis.margin_survey import GAIN_DB, PHASE_DEG

    if not one.stable:
        return [
            Cell("unstable", "bad"),
            *["-"] * 4,
            f"{one.crossover_Hz:.1f}" if one.crossover_Hz else "-",
            "-",
        ]

    def gain(value: float) -> Cell:
        return Cell("any" if value >= 99.0 else f"{value:.1f}", "" if value >= GAIN_DB else "caution")

    phase = Cell(f"{one.phase_deg:.0f}", "" if one.phase_deg >= PHASE_DEG else "caution")
    delay = f"{one.delay_ms:.0f}" if math.isfinite(one.delay_ms) else "any"
    crossover = f"{one.crossover_Hz:.2f}" if one.crossover_Hz else "-"
    return [
        gain(one.gain_up_dB),
        gain(one.gain_down_dB),
        phase,
        delay,
        f"{one.disk:.2f}",
        crossover,
        f"{one.peak:.2f}",
    ]


def _mode_table(point: PointMargins) -> str:
    from quadsim.analysis.plant_modes import plant_modes

    rows: list[list[str | Cell]] = []
    for mode in plant_modes(point.loops.plant):
        grows = Cell("grows", "caution") if mode.grows else "dies out"
        turning = f"{mode.frequency_Hz:.2f}" if mode.frequency_Hz else "-"
        row: list[str | Cell] = [mode.moves, grows, f"{mode.time_s:.2g}", turning]
        if row not in rows:
            rows.append(row)
    columns = [
        Column("", words=True),
        Column("", words=True),
        Column("time", "s"),
        Column("oscillates", "Hz"),
    ]
    return table(columns, rows)


def print_flown(measured: Sequence[FlownBeside]) -> None:
    """How far each loop as flown is from the model."""
    if not measured:
        return
    say()
    say("  measured in the full simulation by a sweep, beside the model (agreement: within 1 dB and 5 deg)")
    rows: list[list[str | Cell]] = []
    for one in measured:
        word = Cell("agrees") if one.beside.agrees else Cell("differs", "caution")
        band = f"{one.flown.w[0] / (2.0 * math.pi):.2g} to {one.flown.w[-1] / (2.0 * math.pi):.2g}"
        rows.append(
            [WORDS[one.name], band, f"{one.beside.worst_dB:.2f}", f"{one.beside.worst_deg:.1f}", word]
        )
    columns = [
        Column("", words=True), Column("lines", "Hz"), Column("gain off", "dB"), Column("phase off", "deg"),
        Column("", words=True),
    ]  # fmt: skip
    say(table(columns, rows))
    for one in measured:
        for why in one.beside.why:
            say(f"  {WORDS[one.name]}: {why}", "caution" if not one.beside.agrees else "soft")


def flown_document(measured: Sequence[FlownBeside]) -> dict[str, Any]:
    """The same for `--json`."""
    return {
        one.name: {
            "agrees": one.beside.agrees, "worst_dB": one.beside.worst_dB, "worst_deg": one.beside.worst_deg,
            "why": one.beside.why, "frequency_Hz": one.flown.w / (2.0 * math.pi), "loop_real": one.flown.loop.real,
            "loop_imaginary": one.flown.loop.imag, "sure": one.flown.sure,
        }
        for one in measured
    }  # fmt: skip


def loop_document(one: Margins) -> dict[str, Any]:
    """A loop for `--json`; margins of 99 dB and a delay of null: there is no such limit."""
    return {
        "stable": one.stable,
        "gain_margin_dB": one.gain_up_dB,
        "gain_margin_down_dB": one.gain_down_dB,
        "phase_margin_deg": one.phase_deg,
        "delay_margin_ms": one.delay_ms if math.isfinite(one.delay_ms) else None,
        "disk_margin": one.disk,
        "crossover_Hz": one.crossover_Hz,
        "sensitivity_peak": one.peak,
        "sensitivity_peak_Hz": one.peak_Hz,
    }


def margins_document(
    bench: LoopBench, point: PointMargins, points: Sequence[PointMargins], changes: Sequence[str], stopped: bool
) -> dict[str, Any]:  # fmt: skip
    """What `--json` prints."""
    from quadsim.analysis.margin_survey import flexible_margins, worst_points
    from quadsim.analysis.plant_modes import plant_modes

    modes = plant_modes(point.loops.plant)
    return {
        "craft": bench.craft.name,
        "changes": list(changes),
        "condition": point.condition.words,
        "stable": point.modes.stable,
        "loops": {name: loop_document(one) for name, one in point.margins.items()},
        "worst": {
            name: {"condition": one.condition.words, **loop_document(one.margins[name])}
            for name, one in worst_points(points).items()
        },
        "together": {
            "disk_margin": point.together.alpha, "gain_dB": point.together.gain_dB, "phase_deg": point.together.phase_deg,
        },
        "flexible_margin_dB": flexible_margins(point),
        "bandwidth": {
            name: {
                "bandwidth_Hz": one.bandwidth_Hz, "phase_delay_ms": 1e3 * one.phase_delay_s, "half_power_Hz": one.half_power_Hz,
            }
            for name, one in point.bandwidth.items()
        },
        "conditions": len(points),
        "unstable_in": [one.condition.words for one in (point, *points) if not one.modes.stable],
        "stopped": stopped,
        "modes": [vars(mode) for mode in modes],
    }  # fmt: skip
