"""Gains found, in the terminal, as JSON and as TOML."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from quadsim.cli.margins_text import loop_document
from quadsim.cli.out import say, say_prose
from quadsim.cli.table import Cell, Column, table

if TYPE_CHECKING:
    from quadsim.tuning.result import TunedSet, Tuning

CAUTION = (
    "A simulated pass is not a clearance to fly. Begin with half of these gains, propellers off for signs and directions,",
    "then a short hover far from people; stop at the first buzz, feel the motors, and go up in small steps.",
)
SHOWN_FAILURES = 8
ROUNDING_DB, ROUNDING_DEG = 0.1, 0.5
"""Of what is printed."""


def print_tuning(tuning: Tuning) -> None:
    """Print what was found, where it stands, and what the flights said."""
    say()
    say(f"Gains for {tuning.craft}", "title")
    if not tuning.sets:
        say()
        say(
            "  No gains keep to the limits at every corner, not even for the empty and the loaded craft apart:",
            "bad",
        )
        say(
            "  allow a smaller margin, more noise or more overshoot, or look at the corners with quadsim margins."
        )
        say(f"  corners: {'; '.join(tuning.corners)}", "soft")
        return
    if len(tuning.sets) > 1 or (tuning.sets[0].set.name in ("empty", "loaded") and tuning.payload > 0.0):
        say(
            "  One set cannot cover the empty and the loaded craft within the limits: one for each.",
            "caution",
        )
    for one in tuning.sets:
        _print_set(tuning, one)
    if tuning.hardware is not None:
        say()
        say(f"  {tuning.hardware.words}.")
    say()
    say_prose(CAUTION, "soft")


def _print_set(tuning: Tuning, one: TunedSet) -> None:
    say()
    load = f" ({1000.0 * tuning.payload:.0f} g)" if "loaded" in one.set.name else ""
    say(f"  {one.set.name}{load}, {len(tuning.corners) - len(one.set.left_out)} corners")
    rows: list[list[str | Cell]] = []
    for name, value in one.set.changed.items():
        gain, before, unit = _before(one, name)
        rows.append([gain, f"{value:g}", f"{before:g}", unit])
    say(
        table(
            [Column("", words=True), Column("found"), Column("before"), Column("", words=True, style="soft")],
            rows,
        )
    )
    say()
    columns = [
        Column("", words=True), Column("gain up", "dB"), Column("down", "dB"), Column("phase", "deg"), Column("crossover", "Hz"),
        Column("slowest", "Hz"), Column("noise", "%"), Column("stands at", words=True),
        Column("worst at", words=True, style="soft"),
    ]  # fmt: skip
    figures: list[list[str | Cell]] = []
    for axis, found in one.set.axes.items():
        loop, verdict = one.hover.margins[axis], found.verdict
        figures.append(
            [
                axis, _gain(loop.gain_up_dB), _gain(loop.gain_down_dB), f"{loop.phase_deg:.0f}", f"{loop.crossover_Hz:.1f}",
                f"{float(verdict.crossover_Hz[0]):.1f}", f"{float(verdict.noise_pct[0]):.2f}", one.binding[axis],
                one.set.worst[axis],
            ]
        )  # fmt: skip
    say(table(columns, figures))
    height = one.hover.margins["height"]
    if one.set.height is None:
        say(
            "  height: nothing in reach keeps to the limits everywhere; the craft's own gains stand",
            "caution",
        )
    else:
        say(
            f"  height: {height.gain_up_dB:.0f} dB up, {height.phase_deg:.0f} deg, crossover {height.crossover_Hz:.1f} Hz"
        )
    if one.set.left_out:
        say(
            f"  left out, whatever the gains too little is left there: {'; '.join(one.set.left_out)}",
            "caution",
        )
    _print_flights(tuning, one)


def _before(one: TunedSet, name: str) -> tuple[str, float, str]:
    """Words, value before and unit of a gain."""
    from quadsim.analysis.gain_changes import find_gain

    bench = one.hover.loops.bench
    row, gain = find_gain(name, bench.blocks)
    return name.replace("_", " ").replace(".", ": ", 1), float(one.before[row, gain]), gain.unit


def _gain(value: float) -> str:
    return "any" if value >= 99.0 else f"{value:.1f}"


def _print_flights(tuning: Tuning, one: TunedSet) -> None:
    step, flown = one.step.figures, one.confirmed
    say(
        f"  a roll step of {one.step.size:g} deg, flown, as the craft sees it: rise {1e3 * step.rise_s:.0f} ms, "
        f"overshoot {step.overshoot_pct:.0f} %, "
        + (
            f"within 5 % after {1e3 * step.settle_5_s:.0f} ms"
            if math.isfinite(step.settle_5_s)
            else "not within 5 % in a second"
        )
    )
    pushed = ", ".join(f"{name} {new.peak:.2g} ({old.peak:.2g})" for name, (new, old) in one.pushed.items())
    say(f"  a lasting torque turns it, at most, by {pushed} deg, flown; before in brackets")
    if one.yaw_not_idling_Hz is not None:
        reached = float(one.set.axes["yaw"].verdict.crossover_Hz[0])
        say(
            "  yaw is held back where there is next to no thrust and the rotors' own inertia turns the craft: without"
        )
        say(
            f"  {one.set.worst['yaw']} its slowest crossover would be {one.yaw_not_idling_Hz:.1f} Hz, not {reached:.1f} "
            "(--least-throttle-pct)"
        )
    _print_worst(tuning, one)
    if not flown.flown:
        say("  no flights were flown to confirm them", "caution")
        return
    if not flown.failures:
        say(
            f"  {flown.flown} flights with gusts, steps, torques and other crafts: none failed. Zero of {flown.flown} means:"
        )
        say(f"  with 95 % confidence fewer than {flown.below_pct:.1f} % of such flights fail (3/n)")
        return
    say(
        f"  {len(flown.failures)} of {flown.flown} flights failed: with 95 % confidence fewer than {flown.below_pct:.1f} % do",
        "bad",
    )
    for failure in flown.failures[:SHOWN_FAILURES]:
        say(f"    flight {failure.number}: {failure.cause}; {failure.case}", "soft")
    if len(flown.failures) > SHOWN_FAILURES:
        say(f"    and {len(flown.failures) - SHOWN_FAILURES} more: --json lists all", "soft")


def _print_worst(tuning: Tuning, one: TunedSet) -> None:
    """What the whole model says at the corners."""
    phase, where = one.worst_phase
    say(f"  least phase margin over the corners {phase:.0f} deg, {where}: all loops closed, axes coupled")
    limits = tuning.limits
    for name, worst in one.worst.items():
        if not worst.meets(limits.gain_dB - ROUNDING_DB, limits.phase_deg - ROUNDING_DEG):
            say(
                f"  {name} falls short there: {_gain(worst.gain_up_dB)} dB up ({worst.gain_up_at}), "
                f"{_gain(worst.gain_down_dB)} dB down ({worst.gain_down_at}), {worst.phase_deg:.0f} deg ({worst.phase_at})",
                "caution",
            )


def tuning_document(tuning: Tuning) -> dict[str, Any]:
    """What `--json` prints: the first set at the top, all sets below."""
    base: dict[str, Any] = {
        "craft": tuning.craft, "payload_g": 1000.0 * tuning.payload, "corners": tuning.corners, "stopped": tuning.stopped,
        "limits": vars(tuning.limits), "gains": {}, "filters": {}, "loops": {}, "step": {}, "robust": {},
        "hardware": tuning.hardware.words if tuning.hardware else "",
    }  # fmt: skip
    sets = [_set_document(one) for one in tuning.sets]
    return base | (sets[0] if sets else {}) | {"sets": sets}


def _set_document(one: TunedSet) -> dict[str, Any]:
    figures, flown = one.step.figures, one.confirmed
    return {
        "set": one.set.name,
        "gains": {k: v for k, v in one.set.changed.items() if not k.endswith("cutoff")},
        "filters": one.set.filters,
        "loops": {name: loop_document(margin) for name, margin in one.hover.margins.items()},
        "step": {
            "rise_s": figures.rise_s, "overshoot_pct": figures.overshoot_pct, "settle_s": figures.settle_5_s,
            "true_drift_deg": one.drift_deg,
        },
        "robust": {
            "runs": flown.flown, "failures": len(flown.failures), "worst_phase_margin_deg": one.worst_phase[0],
            "worst_phase_at": one.worst_phase[1], "fewer_fail_than_pct": flown.below_pct,
            "failed": [{"number": f.number, "case": f.case, "cause": f.cause} for f in flown.failures],
        },
        "axes": {
            axis: {
                "crossover_Hz": float(found.verdict.crossover_Hz[0]), "disk_margin": float(found.verdict.disk[0]),
                "noise_pct": float(found.verdict.noise_pct[0]), "bandwidth_Hz": float(found.verdict.bandwidth_Hz[0]),
                "worst_at": one.set.worst[axis], "stands_at": one.binding[axis],
            }
            for axis, found in one.set.axes.items()
        },
        "rejection": {
            name: {"torque_Nm": new.size, "peak_deg": new.peak, "integral_deg_s": new.integral, "peak_before_deg": old.peak}
            for name, (new, old) in one.pushed.items()
        },
        "yaw_crossover_not_idling_Hz": one.yaw_not_idling_Hz,
        "worst_margins": {name: vars(worst) for name, worst in one.worst.items()},
        "left_out": one.set.left_out,
    }  # fmt: skip


def as_toml(tuning: Tuning, one: TunedSet) -> str:
    """The gains as sections of a craft file."""
    lines = [
        f"# Gains for {tuning.craft}, {one.set.name}, found by search and flown in simulation only.",
        f"# {one.confirmed.flown} flights, {len(one.confirmed.failures)} failed. A simulated pass is not a clearance to fly.",
    ]
    slots = dict.fromkeys(name.split(".")[0] for name in one.set.changed)
    for slot in slots:
        lines += ["", f"[gains.{slot}]"]
        for name, value in one.set.changed.items():
            if name.startswith(f"{slot}."):
                lines.append(f"{name.split('.', 1)[1]} = {value:g}")
    return "\n".join(lines) + "\n"
