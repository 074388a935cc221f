"""Beside a gain map: what the regions mean, the present gains, the way to each edge, the best point, the conditions."""

from __future__ import annotations

from matplotlib.axes import Axes
from matplotlib.patches import Rectangle

from quadsim.analysis.gain_edges import Best, Edge, nearest_edge
from quadsim.analysis.gain_map import GainMap
from quadsim.report import palette
from quadsim.report.numbers import figure as number

THIN = "#efe6cf"
"""Stable, but with less margin than the practice asks for."""
STEP, GAP = 0.034, 0.022
"""Height of a line, and before a heading, shares of the height."""


class _Writer:
    """Lines of text from the top down."""

    def __init__(self, ax: Axes) -> None:
        self.ax, self.y = ax, 1.0

    def heading(self, text: str) -> None:
        if self.y < 1.0:
            self.y -= GAP
        self.ax.text(0.0, self.y, text, fontsize=8.6, fontweight="bold", va="top", parse_math=False)
        self.y -= 1.15 * STEP

    def row(self, *cells: tuple[float, str, str], color: str = palette.INK) -> None:
        """Cells of (x, text, alignment)."""
        for x, text, align in cells:
            self.ax.text(x, self.y, text, fontsize=7.6, va="top", ha=align, color=color, parse_math=False)
        self.y -= STEP


def draw_sidebar(ax: Axes, found: GainMap, lines: list[Edge], best: Best | None) -> None:
    """All text beside the map."""
    ax.set_axis_off()
    ax.set_xlim(0.0, 1.0)
    ax.set_ylim(0.0, 1.0)
    write = _Writer(ax)
    _key(write, found)
    _now(write, found)
    _edges(write, found, lines)
    if best is not None:
        first, second = found.axes
        write.heading("Best rejection that is safe, on the grid")
        write.row(
            (0.0, f"{first.name} {number(best.values[0])}, {second.name} {number(best.values[1])}", "left")
        )
        write.row(
            (0.0, f"sway {number(best.sway_deg, 2)} deg, crossover {number(best.crossover_Hz, 2)} Hz", "left")
        )
        write.row((0.0, "Motor noise is not in it: more gain is more noise.", "left"), color=palette.INK_SOFT)
    write.heading("Conditions, the worst counts")
    for condition in found.conditions:
        write.row((0.0, condition.words, "left"))
    for condition, _ in found.left_out:
        write.row((0.0, f"not flyable, left out: {condition.words}", "left"), color=palette.INK_SOFT)


def _key(write: _Writer, found: GainMap) -> None:
    kinds = (
        (palette.PAPER, palette.INK, None, "safe: at least 6 dB up and down, 45 deg"),
        (THIN, palette.RULE, None, "stable, with less than that"),
        (palette.ALARM_PALE, palette.ALARM, "////", "unstable: it oscillates"),
    )
    write.heading("Regions")
    for face, edge, hatch, words in kinds:
        write.ax.add_patch(
            Rectangle(
                (0.002, write.y - 0.024),
                0.06,
                0.022,
                facecolor=face,
                edgecolor=edge,
                linewidth=0.9,
                hatch=hatch,
            )
        )
        write.row((0.085, words, "left"))
    write.ax.plot([0.002, 0.062], [write.y - 0.013] * 2, color=palette.FLOWN, linewidth=0.8)
    sway = bool((found.grid.sway_deg == found.grid.sway_deg).any())
    words = "greatest sway under 1 rad/s2 of disturbance" if sway else "crossover"
    write.row((0.085, words, "left"))


def _now(write: _Writer, found: GainMap) -> None:
    now, (first, second) = found.now, found.axes
    stable = bool(now.stable[0])
    state = "unstable" if not stable else "safe" if now.reserve[0] >= 1.0 else "stable, margins thin"
    write.heading(f"Now: {state}")
    write.row((0.0, f"{first.name} {number(first.present)}, {second.name} {number(second.present)}", "left"))
    if stable:
        up, down, phase = (float(one[0]) for one in (now.gain_up_dB, now.gain_down_dB, now.phase_deg))
        write.row((0.0, f"{up:.1f} dB up, {down:.1f} dB down, {phase:.0f} deg", "left"))
        sway = f"sway {number(float(now.sway_deg[0]), 2)} deg, " if now.sway_deg[0] == now.sway_deg[0] else ""
        write.row((0.0, f"{sway}crossover {number(float(now.crossover_Hz[0]), 2)} Hz", "left"))
    where = found.conditions[int(now.condition[0])].words
    loop = found.loops[int(now.loop[0])].replace("_", " ")
    write.row((0.0, f"least: {loop} loop, {where}", "left"), color=palette.INK_SOFT)


def _edges(write: _Writer, found: GainMap, lines: list[Edge]) -> None:
    """A row for each gain and way: the value at the edge of the safe region, and of the stable one."""
    write.heading("One gain alone may go to")
    write.row((0.66, "safe edge", "right"), (1.0, "unstable", "right"), color=palette.INK_SOFT)
    for axis in found.axes:
        for way in ("up", "down"):
            safe, stable = (
                next(one for one in lines if (one.gain, one.way, one.kind) == (axis.name, way, kind))
                for kind in ("safe", "stable")
            )
            write.row(
                (0.0, f"{axis.name} {way}", "left"),
                (0.66, _cell(safe), "right"),
                (1.0, _cell(stable), "right"),
            )
    near = nearest_edge(found)
    if near is not None:
        away = "to the edge" if near.leaving else "to the safe region"
        write.row((0.0, f"Both at once, nearest way {away}: {near.distance_dB:.1f} dB", "left"))
        write.row((0.0, f"at {number(near.values[0])} and {number(near.values[1])}", "left"))


def _cell(edge: Edge) -> str:
    if edge.value is None:
        return f"none to {number(edge.looked_to)}"
    if edge.ratio_dB is None:
        return number(edge.value)
    return f"{number(edge.value)} ({edge.ratio_dB:+.1f} dB)"
