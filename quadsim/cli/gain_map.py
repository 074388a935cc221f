"""`quadsim margins --map`: two gains varied; the map as numbers, text and picture."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from quadsim.cli.out import print_json, say

if TYPE_CHECKING:
    from quadsim.analysis.craft_loops import Condition, LoopBench
    from quadsim.analysis.gain_edges import Edge
    from quadsim.analysis.gain_map import GainMap

Map = Annotated[
    str | None,
    typer.Option(
        "--map",
        help="Vary two gains and show where it is safe, thin or unstable; ranges may be given: rate.roll_p=5:60,rate.roll_d.",
        metavar="SLOT.GAIN,SLOT.GAIN",
        show_default=False,
    ),
]


def show_map(
    bench: LoopBench, text: str, only: Condition | None, payload: float, picture: Path | None, json_: bool
) -> int:  # fmt: skip
    """Find the map, draw it into `picture`, print it; the exit status: 1 where the present gains are unstable.

    Raises
    ------
    InputError
        for gains or ranges that cannot be.
    """
    found = find_map(bench, text, only, payload)
    if picture:
        from quadsim.report.gain_map_plot import draw_gain_map

        draw_gain_map(found, picture)
    if json_:
        print_json(map_document(found) | ({"figure": picture} if picture else {}))
    else:
        print_map(found)
        if picture:
            say(f"drawn in {picture}")
    return 0 if found.now.stable[0] else 1


def find_map(bench: LoopBench, text: str, only: Condition | None = None, payload: float = 0.0) -> GainMap:
    """The map that a text asks for, in one condition only or in the usual ones with a payload [kg]; shows its progress.

    Raises
    ------
    InputError
        for gains or ranges that cannot be.
    """
    from quadsim.analysis.gain_axes import gain_axes
    from quadsim.analysis.gain_map import gain_map, map_conditions
    from quadsim.cli.progress import CountProgress

    axes, conditions = gain_axes(text, bench), [only] if only else map_conditions(bench, payload)
    with CountProgress(len(conditions), "conditions") as progress:
        return gain_map(bench, axes, conditions, lambda done, condition: progress(done, condition.words))


def map_document(found: GainMap) -> dict[str, Any]:
    """The map for --json: present gains, edges, nearest edge, best point, and the grid itself."""
    from quadsim.analysis.gain_edges import best_point, edges, nearest_edge

    near, best, now = nearest_edge(found), best_point(found), found.now
    return {
        "craft": found.craft,
        "gains": [
            {"name": axis.name, "unit": axis.unit, "present": axis.present, "values": axis.values.tolist()}
            for axis in found.axes
        ],
        "loops": list(found.loops),
        "conditions": [condition.words for condition in found.conditions],
        "left_out": [{"condition": condition.words, "why": why} for condition, why in found.left_out],
        "now": {
            "stable": bool(now.stable[0]),
            "safe": bool(now.reserve[0] >= 1.0),
            **{name: _number(getattr(now, name)[0]) for name in FIGURES},
            "condition": found.conditions[int(now.condition[0])].words,
            "loop": found.loops[int(now.loop[0])],
        },
        "edges": [asdict(edge) for edge in edges(found)],
        "nearest_edge": asdict(near) if near else None,
        "best": asdict(best) if best else None,
        "grid": {
            "stable": found.grid.stable.tolist(),
            **{
                name: [[_number(one) for one in row] for row in getattr(found.grid, name)] for name in FIGURES
            },
        },
    }


FIGURES = ("reserve", "gain_up_dB", "gain_down_dB", "phase_deg", "crossover_Hz", "sway_deg")
"""What is said of each point, see `quadsim.analysis.gain_map.Field`; margins say nothing where it is unstable."""


def _number(value: Any) -> float | None:
    """For JSON, which has no NaN."""
    return float(value) if value == value else None


def print_map(found: GainMap) -> None:
    """The map's figures as text."""
    from quadsim.analysis.gain_edges import best_point, edges, nearest_edge
    from quadsim.report.numbers import figure

    now, (first, second) = found.now, found.axes
    stable, safe = bool(now.stable[0]), bool(now.reserve[0] >= 1.0)
    state = "unstable" if not stable else "safe" if safe else "stable, margins thin"
    say(f"{found.craft}, {first.name} {first.present:g} and {second.name} {second.present:g}: {state}")
    where = f"{found.loops[int(now.loop[0])].replace('_', ' ')} loop, {found.conditions[int(now.condition[0])].words}"
    if stable:
        figures = (
            f"{now.gain_up_dB[0]:.1f} dB up, {now.gain_down_dB[0]:.1f} dB down, {now.phase_deg[0]:.0f} deg"
        )
        say(f"  least margins {figures}; nearest to its limit: {where}")
    else:
        say(f"  unstable at {where}")
    say("One gain alone, the other as it is (safe: 6 dB up and down, 45 deg, in all conditions):")
    for edge in edges(found):
        say(f"  {_edge_words(edge)}")
    near, best = nearest_edge(found), best_point(found)
    if near is not None:
        to = "edge of the safe region" if near.leaving else "safe region"
        one, two = (figure(value) for value in near.values)
        say(f"Nearest {to}, both gains: {near.distance_dB:.1f} dB away, at {one} and {two}")
    if best is not None:
        one, two = (figure(value) for value in best.values)
        say(
            f"Best rejection that is safe, on the grid: {one} and {two}, sway {figure(best.sway_deg, 2)} deg per rad/s2"
        )
        say("  motor noise and saturation are not in it")
    say("Conditions: " + "; ".join(condition.words for condition in found.conditions))
    for condition, why in found.left_out:
        say(f"left out: {condition.words}: {why}")


def _edge_words(edge: Edge) -> str:
    from quadsim.report.numbers import figure

    what = (
        ("safe" if edge.leaving else "not safe")
        if edge.kind == "safe"
        else ("stable" if edge.leaving else "unstable")
    )
    unit = "" if edge.unit == "-" else f" {edge.unit}"
    start = f"{edge.gain} {edge.way:4}  {what:8}"
    if edge.value is None:
        return f"{start} as far as looked, {figure(edge.looked_to)}{unit}"
    ratio = f" ({edge.ratio_dB:+.1f} dB)" if edge.ratio_dB is not None else ""
    return f"{start} to {figure(edge.value)}{unit}{ratio}: {(edge.loop or '').replace('_', ' ')} loop, {edge.condition}"
