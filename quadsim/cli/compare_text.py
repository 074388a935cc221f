"""A comparison of log and model in the terminal and as JSON."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from quadsim.cli.out import counted, say
from quadsim.cli.table import Cell, Column, table
from quadsim.report.numbers import with_sigma

if TYPE_CHECKING:
    from quadsim.logs.agreement import Agreement
    from quadsim.logs.alignment import Alignment
    from quadsim.logs.comparison import Comparison
    from quadsim.logs.estimate import Estimate

LOOKS = {"agrees": "good", "corrects": "caution", "contradicts": "bad", "cannot tell": "soft"}
NOTHING = 1e-6
"""Numbers that are rounding and shown as 0, in any unit of the tables."""
CAUTION = "A model that agrees with a log is not a clearance to fly: it is as good as this log's flight, and no better beyond it."


def print_comparison(found: Comparison, alignment: Alignment | None, flown: Sequence[Agreement]) -> None:
    """Everything that was found, the verdict first."""
    from quadsim.logs.columns import hinted

    log = found.log
    say()
    say(f"{found.craft.name} and the log {log.path.name if log.path else ''}", "title")
    air = float(found.flying.sum()) * log.interval_s
    say(
        f"  {counted(len(log), 'row')}, {log.duration_s:.1f} s at {log.rate_Hz:.0f} rows a second, {air:.1f} s in the air",
        "soft",
    )
    for note in log.notes:
        say(f"  {note}", "soft")
    if log.unused:
        say(f"  not used: {', '.join(map(hinted, log.unused))}", "soft")
    say()
    _say_verdict(found)
    _say_channels("Model led along the log (log less model)", found.channels)
    _say_estimates(found)
    _say_untold(found)
    if alignment is not None:
        _say_flown(alignment, flown)


def _say_verdict(found: Comparison) -> None:
    for one in found.suspicions:
        say(f"  LOOKS WRONG  {one.text}", "bad" if one.grave else "caution")
    if not found.sound:
        say("  Mend that first: what follows is fitted to a log that looks wrong.", "caution")
    elif found.agrees:
        say("  Log and craft file agree within what the file leaves open.", "good")
    else:
        say(f"  Log and craft file do NOT agree: {', '.join(found.apart)}", "bad")


def _say_channels(title: str, listed: Sequence[Agreement]) -> None:
    if not listed:
        return
    say()
    say(f"  {title}")
    heads = (
        Column("", words=True), Column("unit", words=True, style="soft"), Column("bias"), Column("rms"), Column("allowed"),
        Column("corr."), Column("lag", "ms"), Column("", words=True),
    )  # fmt: skip
    rows: list[list[str | Cell]] = []
    for one in listed:
        lag = f"{1e3 * one.lag_s:.1f}" if math.isfinite(one.lag_s) else "-"
        verdict = Cell("agrees", "good") if one.agrees else Cell("off", "bad")
        rows.append([
            one.channel, one.unit, _number(one.bias), _number(one.rms), _number(one.allowed),
            f"{one.correlation:.3f}" if math.isfinite(one.correlation) else "-", lag, verdict,
        ])  # fmt: skip
    say(table(heads, rows))


def _say_estimates(found: Comparison) -> None:
    from quadsim.config.toml_edit import written
    from quadsim.logs.correct import entry, to_write

    if not found.estimates:
        return
    say()
    say("  What the log says of the craft (standard errors)")
    heads = (
        Column("", words=True), Column("log"), Column("+-"), Column("file"), Column("+-"),
        Column("unit", words=True, style="soft"), Column("", words=True),
    )  # fmt: skip
    rows: list[list[str | Cell]] = [
        [
            one.words, *with_sigma(one.value, one.sigma), *with_sigma(one.expected, one.expected_sigma), one.unit,
            Cell(one.verdict, LOOKS[one.verdict]),
        ]
        for one in map(_in_ms, found.estimates)
    ]  # fmt: skip
    say(table(heads, rows))
    if found.drag is not None:
        north, east = found.drag.wind[:2]
        sigma = float(max(found.drag.wind_sigma))
        from_deg = math.degrees(math.atan2(-east, -north)) % 360.0
        say(f"  wind {math.hypot(north, east):.1f} m/s from {from_deg:.0f} deg, +-{sigma:.1f} m/s", "soft")
    if found.sound and (keys := [one.key for one in to_write(found) if one.key is not None]):
        say("  What the log knows better than the craft file; --apply OUT.toml writes it:")
        for key in keys:
            say(f"      {key.name} = {written(entry(key))}")
    for caution, names in _grouped(found).items():
        say(f"  {', '.join(names)}: {caution}", "soft")


def _grouped(found: Comparison) -> dict[str, list[str]]:
    """What each estimate rests on -> the estimates of which that holds."""
    cautions: dict[str, list[str]] = {}
    for one in found.estimates:
        cautions.setdefault(one.caution, []).append(one.words)
    return cautions


def _in_ms(one: Estimate) -> Estimate:
    """A time in milliseconds, for people."""
    from dataclasses import replace

    if one.unit != "s":
        return one
    return replace(
        one, value=1e3 * one.value, sigma=1e3 * one.sigma, expected=1e3 * one.expected, unit="ms",
        expected_sigma=1e3 * one.expected_sigma,
    )  # fmt: skip


def _say_untold(found: Comparison) -> None:
    if not found.untold:
        return
    say()
    say("  What this log cannot tell")
    for one in found.untold:
        say(f"  {one.words}: {one.why}")
        say(f"      {one.flight}", "soft")


def _say_flown(alignment: Alignment, flown: Sequence[Agreement]) -> None:
    say()
    if not alignment.same:
        say(
            f"  The run flew other manoeuvres than the log (rates correlate with {alignment.related:.2f}): not compared.",
            "caution",
        )
        return
    drift = (
        f", drift {1e6 * alignment.drift:+.0f} +-{1e6 * alignment.drift_sigma:.0f} ppm"
        if math.isfinite(alignment.drift_sigma)
        else ""
    )
    offset = f"{alignment.offset_s:+.4f} +-{alignment.offset_sigma_s:.4f} s"
    words = f"  Clocks: the log from its first row is {offset} from the run{drift}; rates correlate with {alignment.related:.3f}"
    say(words, "soft")
    _say_channels("Run beside the log, clocks brought together (a flight in closed loop drifts apart)", flown)


def print_proof(proof: Any) -> None:
    """The rows kept back, before and after; and the flights."""
    judged = [(one.before, one.after) for one in proof.channels]
    heads = (
        Column("", words=True), Column("craft file"), Column("corrected"),
        Column("unit", words=True, style="soft"), Column("", words=True),
    )  # fmt: skip
    for title, pairs in (
        ("On the rows that no fit saw, log less model", judged),
        ("Flown again, on those rows", proof.flown),
    ):
        if pairs:
            rows: list[list[str | Cell]] = [
                [a.channel, _number(a.rms), _number(b.rms), a.unit, _better(a.rms, b.rms)] for a, b in pairs
            ]
            say()
            say(f"  {title}: rms")
            say(table(heads, rows))


def _better(before: float, after: float) -> Cell:
    if abs(after - before) <= 0.03 * before:
        return Cell("the same", "soft")
    return Cell("nearer", "good") if after < before else Cell("farther", "caution")


def _number(value: float) -> str:
    if not math.isfinite(value):
        return "-"
    return f"{value:.3g}" if abs(value) > NOTHING else "0"


def comparison_document(
    found: Comparison, alignment: Alignment | None, flown: Sequence[Agreement], proof: Any
) -> dict[str, Any]:  # fmt: skip
    """What `--json` prints."""
    document: dict[str, Any] = {
        "craft": found.craft.name,
        "log": found.log.path,
        "rows": len(found.log),
        "rate_Hz": found.log.rate_Hz,
        "duration_s": found.log.duration_s,
        "flying_s": float(found.flying.sum()) * found.log.interval_s,
        "agrees": found.agrees,
        "notes": found.log.notes,
        "unused": found.log.unused,
        "suspicions": [vars(one) for one in found.suspicions],
        "channels": [_channel(one) for one in found.channels],
        "estimates": [_estimate(one) for one in found.estimates],
        "untold": [vars(one) for one in found.untold],
    }
    if found.drag is not None:
        document["wind_north_east_m_s"], document["wind_sigma_m_s"] = found.wind[:2], found.drag.wind_sigma
    if alignment is not None:
        document["alignment"] = vars(alignment)
        document["run"] = [_channel(one) for one in flown]
    if proof is not None:
        pairs = [(one.before, one.after) for one in proof.channels]
        document["kept_back"] = [_before_after(*pair) for pair in pairs]
        document["flown_again"] = [_before_after(*pair) for pair in proof.flown]
    return document


def _channel(one: Agreement) -> dict[str, Any]:
    return {**vars(one), "agrees": one.agrees}


def _before_after(before: Agreement, after: Agreement) -> dict[str, Any]:
    return {"channel": before.channel, "unit": before.unit, "rms_before": before.rms, "rms_after": after.rms}


def _estimate(one: Estimate) -> dict[str, Any]:
    return {**vars(one), "key": vars(one.key) if one.key else None, "verdict": one.verdict}
