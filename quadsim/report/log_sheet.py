"""One sheet on a log beside the model: main channels over time, log over model with what is left below, and what the log says."""

from __future__ import annotations

import math
import textwrap
from dataclasses import dataclass
from pathlib import Path

import matplotlib.lines
import matplotlib.patches
import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from numpy.typing import NDArray

from quadsim.logs.along import discharge
from quadsim.logs.comparison import Comparison
from quadsim.logs.estimate import Estimate
from quadsim.logs.flight_log import SETTLE_S
from quadsim.logs.pack_fit import charge_guess
from quadsim.report import palette
from quadsim.report.numbers import with_sigma
from quadsim.report.panel_head import head_panel
from quadsim.report.picture import save_picture
from quadsim.units import DEG, RPM

Array = NDArray[np.float64]

SIZE_IN = (11.7, 8.3)
LEFT, RIGHT, TOP, BOTTOM = 0.045, 0.715, 0.885, 0.055
COLUMN_GAP, ROW_GAP = 0.045, 0.062
SIDE = 0.745
"""Left edge of the words beside the panels."""
STRIP = 0.28
"""Share of a panel's height for what is left, log less model."""
POINTS = 1500
"""Means that a line is drawn from."""
MARKS = {
    "agrees": palette.FLOWN,
    "corrects": palette.WANTED,
    "contradicts": palette.ALARM,
    "cannot tell": palette.INK_SOFT,
}
LINES = (("log", palette.FLOWN), ("model led along it", palette.WANTED), ("log less model", palette.INK))
NAMED = 2
"""Most things that the title names."""
CAUTION = "A model that agrees with a log is not a clearance to fly."


@dataclass(frozen=True)
class Curve:
    """One channel: log and model over time, in `unit`."""

    title: str
    unit: str
    t: Array
    log: Array
    model: Array


def draw_comparison(found: Comparison, name: str, path: Path) -> Path:
    """Draw the sheet into a picture file. name : of the log

    Raises
    ------
    InputError
        when the suffix names no kind of picture.
    FlightError
        when the file cannot be written.
    """
    return save_picture(lambda: comparison_figure(found, name), path)


def comparison_figure(found: Comparison, name: str) -> Figure:
    """The sheet as a figure."""
    figure = Figure(figsize=SIZE_IN)
    title = f"{found.craft.name} beside a log: {_answer(found)}"
    figure.text(LEFT, 0.962, title, fontsize=15, fontweight="bold", va="center", parse_math=False)
    _legend(figure)
    curves = curves_of(found)
    rows = math.ceil(len(curves) / 2)
    height = (TOP - BOTTOM - (rows - 1) * ROW_GAP) / rows
    width = (RIGHT - LEFT - COLUMN_GAP) / 2
    for k, curve in enumerate(curves):
        x, y = LEFT + (k % 2) * (width + COLUMN_GAP), TOP - height - (k // 2) * (height + ROW_GAP)
        _panel(figure, (x, y, width, height), curve, found)
    _sidebar(figure, found)
    air = float(found.flying.sum()) * found.log.interval_s
    words = f"{name}: {found.log.duration_s:.1f} s at {found.log.rate_Hz:.0f} rows a second, {air:.1f} s in the air. {CAUTION}"
    figure.text(LEFT, 0.016, words, fontsize=7.0, color=palette.INK_SOFT, parse_math=False)
    return figure


def _answer(found: Comparison) -> str:
    if not found.sound:
        return "the log looks wrong"
    if found.agrees:
        return "they agree"
    more = len(found.apart) - NAMED
    return f"they do not agree in {', '.join(found.apart[:NAMED])}" + (
        f" and {more} more" if more > 0 else ""
    )


def _legend(figure: Figure) -> None:
    """What the lines and the grey are, below the title."""
    x, y = LEFT, 0.93
    for words, colour in LINES:
        figure.add_artist(matplotlib.lines.Line2D((x, x + 0.018), (y, y), color=colour, linewidth=1.4))
        figure.text(x + 0.022, y, words, fontsize=7.2, va="center")
        x += 0.042 + 0.0048 * len(words)
    figure.add_artist(matplotlib.patches.Rectangle((x, y - 0.007), 0.018, 0.014, facecolor=palette.CARD))
    figure.text(x + 0.022, y, "kept back from the fit; time in seconds", fontsize=7.2, va="center")


def curves_of(found: Comparison) -> list[Curve]:
    """What is drawn, as far as the log has it."""
    log, said, t = found.log, found.said, found.log.t_s
    curves = []
    for k, axis in enumerate(("Roll", "Pitch", "Yaw")):
        turning = said.turning[:, k] if said.turning_known is None or k == 2 else said.turning_known[:, k]
        turned = np.concatenate([[0.0], np.cumsum(turning[1:] * np.diff(t))])
        window = max(1, round(0.02 / log.interval_s))
        pairs = [
            (values[window:] - values[:-window]) / (0.02 * DEG) for values in (log["gyro"][:, k], turned)
        ]
        curves.append(Curve(f"{axis} acceleration", "deg/s2, over 20 ms", t[window:], *pairs))
    if "accel" in log:
        names = ("Specific force ahead", "Specific force right", "Specific force down")
        for k in (2, 0):
            curves.append(
                Curve(names[k], "m/s2", t, log["accel"][:, k] - found.offsets[k], said.specific[:, k])
            )
    if "rotor_speed" in log:
        curves.append(
            Curve(
                "Rotor speed, mean",
                "rpm",
                t,
                log["rotor_speed"].mean(axis=1) / RPM,
                said.rotor_speed.mean(axis=1) / RPM,
            )
        )
    if "current" in log:
        curves.append(Curve("Pack current", "A", t, log["current"], said.current))
    if "current" in log and "voltage" in log:
        charge = charge_guess(found.model, t, log["current"], log["voltage"])
        volts = discharge(found.model, t, log["current"], found.model.plant, charge)
        volts = volts + float(
            np.mean((log["voltage"] - volts)[found.fitted])
        )  # how full it was is not the model's
        curves.append(Curve("Pack voltage", "V", t, log["voltage"], volts))
    return curves


def _panel(figure: Figure, place: tuple[float, float, float, float], curve: Curve, found: Comparison) -> None:
    x, y, width, height = place
    ax = figure.add_axes((x, y + STRIP * height, width, (1.0 - STRIP) * height))
    below = figure.add_axes((x, y, width, (STRIP - 0.04) * height))
    head_panel(ax, curve.title, curve.unit)
    settled = curve.t >= curve.t[0] + SETTLE_S
    t, log, model = (_means(values[settled]) for values in (curve.t, curve.log, curve.model))
    ax.plot(t, log, color=palette.FLOWN, linewidth=1.1, zorder=3)
    ax.plot(t, model, color=palette.WANTED, linewidth=0.8, zorder=4)
    below.plot(t, log - model, color=palette.INK, linewidth=0.7, zorder=3)
    below.axhline(0.0, color=palette.RULE, linewidth=0.7)
    for side in ("top", "right", "left"):
        below.spines[side].set_visible(False)
    ax.set_xticklabels([])
    for one in (ax, below):
        one.set_xlim(float(t[0]), float(t[-1]))
        _grey(one, found)
    below.locator_params(axis="y", nbins=3)


def _grey(ax: Axes, found: Comparison) -> None:
    """The stretches kept back from the fit."""
    edges = np.flatnonzero(np.diff(np.concatenate([[0], found.kept.astype(int), [0]])))
    for begin, end in zip(edges[::2], edges[1::2], strict=True):
        t = found.log.t_s
        ax.axvspan(float(t[begin]), float(t[end - 1]), color=palette.CARD, zorder=0)


def _means(values: Array) -> Array:
    every = max(1, len(values) // POINTS)
    n = len(values) // every * every
    return np.asarray(values[:n].reshape(-1, every).mean(axis=1))


def _sidebar(figure: Figure, found: Comparison) -> None:
    """What looks wrong, what the log says, as figures, and what it cannot tell."""
    y = 0.93
    if found.suspicions:
        y = _heading(figure, y, "What looks wrong")
        for one in found.suspicions:
            y = _paragraph(figure, y, one.text, palette.ALARM)
        y -= 0.01
    y = _heading(figure, y, "What the log says of the craft")
    for told in found.estimates:
        figure.text(SIDE, y, told.words, fontsize=7.6, fontweight="bold", va="center", parse_math=False)
        figure.text(
            0.985, y, told.verdict, fontsize=7.4, color=MARKS[told.verdict], va="center", ha="right", fontweight="bold"
        )  # fmt: skip
        figure.text(
            SIDE, y - 0.018, _figures(told), fontsize=7.0, color=palette.INK_SOFT, va="center", parse_math=False
        )  # fmt: skip
        y -= 0.042
    if found.untold:
        y = _heading(figure, y - 0.01, "What it cannot tell")
    for untold in found.untold:
        y = _paragraph(
            figure, y, f"{untold.words}: {untold.why}. To know, {untold.flight}.", palette.INK_SOFT
        )


def _heading(figure: Figure, y: float, words: str) -> float:
    """Write a heading; returns where the next line goes."""
    figure.text(SIDE, y, words, fontsize=9.5, fontweight="bold", va="center")
    return y - 0.03


def _paragraph(figure: Figure, y: float, words: str, colour: str) -> float:
    """Write folded lines; returns where the next line goes."""
    for line in textwrap.wrap(words, 56, break_on_hyphens=False):
        if y < BOTTOM - 0.03:  # no room: the terminal has them all
            return y
        figure.text(SIDE, y, line, fontsize=6.8, color=colour, va="center", parse_math=False)
        y -= 0.0165
    return y - 0.010


def _figures(one: Estimate) -> str:
    scale, unit = (1e3, " ms") if one.unit == "s" else (1.0, f" {one.unit}" if one.unit else "")
    log, file = (
        f"{value} ± {sigma}"
        for value, sigma in (
            with_sigma(scale * one.value, scale * one.sigma),
            with_sigma(scale * one.expected, scale * one.expected_sigma),
        )
    )
    return f"log {log}{unit}; craft file {file}{unit}"
