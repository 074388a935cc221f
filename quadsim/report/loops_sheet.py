"""One sheet on the loops of a craft: gain and phase over frequency, phase against gain, or the polar plot.

What a sweep in the full simulation measured is drawn as rings on the linear model's lines.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path

import matplotlib
import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Circle, Polygon
from matplotlib.ticker import FuncFormatter
from numpy.typing import NDArray

from quadsim.analysis.loop_edges import too_high
from quadsim.analysis.margin_survey import GAIN_DB, PHASE_DEG
from quadsim.analysis.margins import Margins
from quadsim.errors import InputError
from quadsim.report import palette
from quadsim.report.panel_head import head_panel
from quadsim.report.picture import save_picture

SIZE_IN = (11.0, 7.2)
STYLES = ("bode", "nichols", "polar")
COLOURS = (palette.FLOWN, palette.WIND, palette.WANTED, "#8a4f8a", palette.REAR, palette.INK)
WEAKEST = -50.0
"""Least gain that is drawn [dB]."""
CAUTION = "Of the model of the craft file. Good margins are not a clearance to fly."


@dataclass(frozen=True)
class LoopCurve:
    """One loop to draw: angular frequencies [rad/s], L at them, its margins; and points that were flown, if any."""

    name: str
    w: NDArray[np.float64]
    loop: NDArray[np.complex128]
    margins: Margins
    flown_w: NDArray[np.float64] | None = None
    flown: NDArray[np.complex128] | None = None


def draw_loops(
    title: str, where: str, curves: Mapping[str, LoopCurve], path: Path, style: str = "bode"
) -> Path:
    """Draw loops into a picture file.

    Parameters
    ----------
    title, where : headline, and the condition in words
    curves : by name, at most six
    style : one of STYLES

    Raises
    ------
    InputError
        when the suffix names no kind of picture, or for another style.
    FlightError
        when the file cannot be written.
    """
    checked_style(style)
    return save_picture(lambda: loops_figure(title, where, curves, style), path)


def checked_style(style: str) -> str:
    """The style, if there is such a one.

    Raises
    ------
    InputError
        when there is not.
    """
    if style not in STYLES:
        raise InputError(f"--style is {style!r}; must be one of {', '.join(STYLES)}")
    return style


def loops_figure(title: str, where: str, curves: Mapping[str, LoopCurve], style: str) -> Figure:
    """The sheet as a figure."""
    figure = Figure(figsize=SIZE_IN)
    figure.text(0.05, 0.955, title, fontsize=15, fontweight="bold", va="center", parse_math=False)
    figure.text(0.05, 0.92, where, fontsize=8.5, color=palette.INK_SOFT, va="center", parse_math=False)
    figure.text(0.05, 0.022, CAUTION, fontsize=7.0, color=palette.INK_SOFT)
    drawn: dict[str, Callable[[Figure, list[tuple[LoopCurve, str]]], None]] = {
        "bode": _bode,
        "nichols": _nichols,
        "polar": _polar,
    }
    listed = [(one, COLOURS[k % len(COLOURS)]) for k, one in enumerate(curves.values())]
    drawn[style](figure, listed)
    _legend(figure, listed)
    return figure


def _legend(figure: Figure, listed: list[tuple[LoopCurve, str]]) -> None:
    """Name, margins and crossover of each loop, at the right."""
    y = 0.84
    for one, colour in listed:
        figure.add_artist(matplotlib.lines.Line2D((0.765, 0.79), (y, y), color=colour, linewidth=1.8))
        figure.text(0.797, y, one.name, fontsize=9, fontweight="bold", va="center")
        for n, line in enumerate(_figures(one)):
            figure.text(0.797, y - 0.026 - 0.022 * n, line, fontsize=7.4, color=palette.INK_SOFT, va="center")
        y -= 0.135
    if any(one.flown is not None for one, _ in listed):
        figure.add_artist(
            matplotlib.lines.Line2D(
                (0.777,), (y,), marker="o", markerfacecolor="none", color=palette.INK, linestyle=""
            )
        )
        figure.text(0.797, y, "flown: a sweep in the full simulation", fontsize=7.4, va="center")


def _figures(one: LoopCurve) -> tuple[str, str, str]:
    m = one.margins
    if not m.stable:
        return "unstable", "", ""
    up, down = (f"{v:.1f}" if v < 99.0 else "any" for v in (m.gain_up_dB, m.gain_down_dB))
    delay = f"{m.delay_ms:.0f} ms" if math.isfinite(m.delay_ms) else "any"
    crossover = f"{m.crossover_Hz:.2g} Hz" if m.crossover_Hz else "none"
    return (
        f"gain {up} dB up, {down} dB down",
        f"phase {m.phase_deg:.0f} deg, delay {delay}",
        f"crossover {crossover}, peak {m.peak:.2f}",
    )


def _hz(w: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.asarray(w) / (2.0 * math.pi)


def _decibels(loop: NDArray[np.complex128]) -> NDArray[np.float64]:
    return np.asarray(20.0 * np.log10(np.maximum(np.abs(loop), 1e-12)))


def _degrees(loop: NDArray[np.complex128]) -> NDArray[np.float64]:
    """Phase from -360 to 0 where the loop crosses over, running on from there."""
    phase = np.degrees(np.unwrap(np.angle(loop)))
    near = int(np.argmin(np.abs(np.log(np.maximum(np.abs(loop), 1e-12)))))
    return np.asarray(phase - 360.0 * np.ceil(phase[near] / 360.0))


def _beside(
    line: NDArray[np.float64], at: NDArray[np.float64], w: NDArray[np.float64], loop: NDArray[np.complex128]
) -> NDArray[np.float64]:
    """Phase of flown points [deg], by whole turns next to the line (`line` over `at`)."""
    raw = np.degrees(np.angle(loop))
    wanted = np.interp(np.log(w), np.log(at), line)
    return np.asarray(raw + 360.0 * np.round((wanted - raw) / 360.0))


def _bode(figure: Figure, listed: list[tuple[LoopCurve, str]]) -> None:
    gain = figure.add_axes((0.065, 0.52, 0.665, 0.33))
    phase = figure.add_axes((0.065, 0.10, 0.665, 0.33))
    head_panel(gain, "Gain of the loop", "dB")
    head_panel(phase, "Phase of the loop", "deg")
    for one, colour in listed:
        gain.semilogx(_hz(one.w), _decibels(one.loop), color=colour, linewidth=1.6)
        line = _degrees(one.loop)
        # far below, numbers of a matrix have no phase
        shown = np.where(_decibels(one.loop) > WEAKEST, line, np.nan)
        phase.semilogx(_hz(one.w), shown, color=colour, linewidth=1.6)
        if one.flown is not None and one.flown_w is not None:
            rings = {
                "marker": "o",
                "linestyle": "",
                "markerfacecolor": "none",
                "color": colour,
                "markersize": 4.5,
            }
            gain.semilogx(_hz(one.flown_w), _decibels(one.flown), **rings)
            phase.semilogx(_hz(one.flown_w), _beside(line, one.w, one.flown_w, one.flown), **rings)
        _mark(gain, phase, one, colour, line)
    gain.set_ylim(WEAKEST, 50.0)
    phase.set_ylim(-400.0, 0.0)
    phase.set_yticks(range(-360, 1, 60))
    for ax, level in ((gain, 0.0), (phase, -180.0)):
        ax.axhline(level, color=palette.INK, linewidth=0.8)
        ax.set_xlim(0.05, float(_hz(listed[0][0].w)[-1]))
        ax.xaxis.set_major_formatter(FuncFormatter(lambda value, _: f"{value:g}"))
    phase.set_xlabel("frequency, Hz", loc="right")


def _mark(gain: Axes, phase: Axes, one: LoopCurve, colour: str, line: NDArray[np.float64]) -> None:
    """The margins as stems: gain at the phase crossover, phase at the gain crossover."""
    m = one.margins
    if m.crossover_Hz:
        there = float(np.interp(math.log(m.crossover_Hz), np.log(_hz(one.w)), line))
        phase.plot((m.crossover_Hz,) * 2, (-180.0, there), color=colour, linewidth=3.2, alpha=0.35)
    turn = too_high(m)
    if turn:
        gain.plot((turn.frequency_Hz,) * 2, (0.0, -turn.gain_dB), color=colour, linewidth=3.2, alpha=0.35)


def _nichols(figure: Figure, listed: list[tuple[LoopCurve, str]]) -> None:
    ax = figure.add_axes((0.065, 0.10, 0.665, 0.75))
    head_panel(ax, "Gain over phase", "dB over deg")
    _practice(ax)
    for one, colour in listed:
        line = _degrees(one.loop)
        ax.plot(line, _decibels(one.loop), color=colour, linewidth=1.6)
        if one.flown is not None and one.flown_w is not None:
            ax.plot(
                _beside(line, one.w, one.flown_w, one.flown), _decibels(one.flown), marker="o", linestyle="",
                markerfacecolor="none", color=colour, markersize=4.5,
            )  # fmt: skip
    ax.set_xlim(-360.0, 0.0)
    ax.set_ylim(-40.0, 40.0)
    ax.set_xticks(range(-360, 1, 45))
    ax.set_xlabel("phase, deg", loc="right")


def _practice(ax: Axes) -> None:
    """The region about -1 to stay out of, gain and phase of the practice joined to a rhomb."""
    corners = [(-180.0 - PHASE_DEG, 0.0), (-180.0, GAIN_DB), (-180.0 + PHASE_DEG, 0.0), (-180.0, -GAIN_DB)]
    ax.add_patch(Polygon(corners, closed=True, facecolor=palette.ALARM_PALE, edgecolor="none"))
    ax.plot(-180.0, 0.0, marker="+", color=palette.ALARM, markersize=9, markeredgewidth=1.4)
    ax.annotate(
        f"{GAIN_DB:.0f} dB, {PHASE_DEG:.0f} deg", (-180.0, -GAIN_DB), xytext=(0, -9), textcoords="offset points",
        ha="center", fontsize=7.0, color=palette.ALARM,
    )  # fmt: skip


def _polar(figure: Figure, listed: list[tuple[LoopCurve, str]]) -> None:
    ax = figure.add_axes((0.065, 0.10, 0.665, 0.75))
    head_panel(ax, "The loop in the complex plane", "")
    turn = np.linspace(0.0, 2.0 * math.pi, 181)
    ax.plot(np.cos(turn), np.sin(turn), color=palette.RULE, linewidth=0.9)
    ax.add_patch(Circle((-1.0, 0.0), 0.5, facecolor=palette.ALARM_PALE, edgecolor="none"))
    ax.text(-1.0, -0.58, "peak above 2", fontsize=7.0, color=palette.ALARM, ha="center", va="top")
    ax.plot(-1.0, 0.0, marker="+", color=palette.ALARM, markersize=9, markeredgewidth=1.4)
    for one, colour in listed:
        ax.plot(one.loop.real, one.loop.imag, color=colour, linewidth=1.6)
        if one.flown is not None:
            ax.plot(
                one.flown.real,
                one.flown.imag,
                marker="o",
                linestyle="",
                markerfacecolor="none",
                color=colour,
                markersize=4.5,
            )
    ax.set_xlim(-3.4, 2.0)
    ax.set_ylim(-2.2, 1.8)
    ax.set_aspect("equal", adjustable="box")
