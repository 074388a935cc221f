"""One sheet on a measurement: data, fit, residuals below them, rows left out crossed, the numbers beside."""

from __future__ import annotations

import math
import textwrap
from pathlib import Path

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from quadsim.measure.result import Found, Panel, Result
from quadsim.report import palette
from quadsim.report.numbers import figure as number
from quadsim.report.panel_head import head_panel
from quadsim.report.picture import save_picture

SIZE_IN = (11.0, 7.2)
RIGHT = 0.70
LETTERS = 52
MOST = 6
TITLE = 62
"""Letters that the title has room for."""
IN_TITLE = {
    "motor.kv_rpm_per_V": "motor",
    "battery.cell_resistance_mohm": "cell",
    "battery.capacity_mAh": "",
    "mass.roll_inertia_gm2": "roll",
    "mass.pitch_inertia_gm2": "pitch",
    "mass.yaw_inertia_gm2": "yaw",
    "mass.weighed_mass_g": "",
    "mass.centre_forward_mm": "centre forward",
    "mass.centre_right_mm": "right",
    "mass.centre_down_mm": "down",
    "flight_controller.gyro.noise_density_one_sided_deg_s_rtHz": "gyro",
    "flight_controller.accelerometer.noise_density_one_sided_mg_rtHz": "accel",
}
"""Keys whose numbers the title gives, with the word before each."""
FOOT = (
    "Blue: rows used. Ochre: fit. Red cross: left out. A measurement on the bench is not a clearance to fly."
)
NOTE, NOTE_LINE, NOTE_GAP = LETTERS + 8, 0.0155, 0.005
"""Letters of a line of notes at the side, its height and the gap below a note, shares of the sheet."""
COUNTED = 30.0
"""Up to so many, whole numbers below a panel are counts, and marked as such."""


def draw_measurement(result: Result, path: Path) -> Path:
    """Draw a measurement into a picture file.

    Raises
    ------
    InputError
        when the suffix names no kind of picture.
    FlightError
        when the file cannot be written.
    """
    return save_picture(lambda: measurement_figure(result), path)


def measurement_figure(result: Result) -> Figure:
    """The sheet as a figure."""
    figure = Figure(figsize=SIZE_IN)
    figure.text(
        0.05, 0.955, headline(result), fontsize=13, fontweight="bold", va="center", parse_math=False
    )  # fmt: skip
    shown = result.panels[:MOST]
    columns = 1 if len(shown) < 3 else 2
    lines = max(1, math.ceil(len(shown) / columns))
    width, height = (RIGHT - 0.07) / columns, 0.84 / lines
    for k, panel in enumerate(shown):
        left, top = 0.055 + width * (k % columns), 0.895 - height * (k // columns)
        _panel(figure, panel, left, top, width - 0.055, height - 0.075)
    _side(figure, result)
    figure.text(0.055, 0.02, FOOT, fontsize=6.8, va="center", color=palette.INK_SOFT)
    return figure


def headline(result: Result) -> str:
    """The kind with as many of its numbers as a line holds: the greatest thrust, then what goes into the craft file."""
    thrusts = [one for one in result.found if one.name.startswith("thrust at ")]
    said = [f"{_value(one)} {one.name.removeprefix('thrust ')}" for one in thrusts[-1:]]
    said += [f"{IN_TITLE[one.key]} {_value(one)}".strip() for one in result.found if one.key in IN_TITLE]
    if not said:
        said = [f"{one.name} {_value(one)}" for one in result.found if one.sigma > 0.0]
    title = result.kind
    for one in said:
        longer = f"{title}{': ' if title == result.kind else ', '}{one}"
        if len(longer) > TITLE:
            break
        title = longer
    return title


def _value(one: Found) -> str:
    return one.texts()[0] + ("" if one.unit == "-" else f" {one.unit}")


def _with_unit(one: Found) -> str:
    value, sigma = one.texts()
    return value + (f" ± {sigma}" if sigma else "") + ("" if one.unit == "-" else f" {one.unit}")


def _panel(figure: Figure, panel: Panel, left: float, top: float, width: float, height: float) -> None:
    """Data with the fit, and the residuals in a strip below."""
    strip = 0.0 if panel.residual is None else 0.28 * height
    ax = figure.add_axes((left, top - height + strip, width, height - strip - 0.012))
    head_panel(ax, panel.title, panel.y_label)
    small = 2.0 if panel.x.size > 200 else 4.0
    ax.plot(panel.line_x, panel.line_y, color=palette.WANTED, linewidth=1.2, zorder=2)
    ax.plot(
        panel.x[panel.used],
        panel.y[panel.used],
        "o",
        markersize=small,
        color=palette.FLOWN,
        zorder=3,
        markeredgewidth=0.0,
    )
    if panel.before_x is not None and panel.before_y is not None:
        ax.plot(
            panel.before_x, panel.before_y, color=palette.REAR, linewidth=1.0, dashes=(4.0, 2.0), zorder=1.5
        )
        ax.annotate(
            "grey, dashed: craft file", (1.0, 1.035), xycoords="axes fraction", fontsize=7.0, ha="right", va="bottom",
            color=palette.REAR,
        )  # fmt: skip
    left_out = ~panel.used
    if left_out.any():
        ax.plot(panel.x[left_out], panel.y[left_out], "x", markersize=6.0, color=palette.ALARM, zorder=4)
    if float(np.max(panel.x)) <= COUNTED and bool(np.all(panel.x == np.round(panel.x))):
        ax.set_xticks(panel.x)
    if panel.plan:
        ax.set_aspect("equal", adjustable="datalim")
    if panel.logarithmic:
        ax.set_xscale("log")
        ax.set_yscale("log")
    if panel.residual is None:
        ax.set_xlabel(panel.x_label, labelpad=2.0, loc="right")
        return
    ax.tick_params(labelbottom=False)
    below = figure.add_axes((left, top - height, width, 0.62 * strip))
    _residuals(below, panel, small)
    below.set_xticks(ax.get_xticks())
    below.set_xlim(ax.get_xlim())
    below.set_xlabel(panel.x_label, labelpad=2.0, loc="right")


def _residuals(ax: Axes, panel: Panel, small: float) -> None:
    assert panel.residual is not None
    head_panel(ax, "left over", panel.residual_label)
    ax.axhline(0.0, color=palette.WANTED, linewidth=0.8, zorder=2)
    used = panel.residual[panel.used & np.isfinite(panel.residual)]
    ax.plot(
        panel.x[panel.used],
        panel.residual[panel.used],
        "o",
        markersize=0.7 * small,
        color=palette.FLOWN,
        zorder=3,
        markeredgewidth=0.0,
    )
    most = 1.25 * float(np.max(np.abs(used))) if used.size else 1.0
    ax.set_ylim(-max(most, 1e-9), max(most, 1e-9))


def _side(figure: Figure, result: Result) -> None:
    """Numbers, what they rest on, warnings, cautions."""
    y = 0.90
    figure.text(
        RIGHT,
        0.955,
        f"{Path(result.source).name}, {result.used} of {result.rows} rows used",
        fontsize=8.5,
        va="center",
        color=palette.INK_SOFT,
        parse_math=False,
    )
    for one in result.found[:16]:
        figure.text(RIGHT, y, one.name, fontsize=6.8, va="center", color=palette.INK_SOFT, parse_math=False)
        y -= 0.017
        figure.text(RIGHT, y, _with_unit(one), fontsize=8.0, va="center", parse_math=False)
        if result.differs(one):
            had = result.before[one.key or one.name]
            assert had is not None
            figure.text(
                0.985, y, f"craft file {number(float(had), 4)}", fontsize=7.0, va="center", ha="right", color=palette.ALARM
            )  # fmt: skip
        y -= 0.021
    cautions = [textwrap.wrap(text, NOTE) for text in result.cautions]
    floor = 0.02 + sum(NOTE_LINE * len(lines) + NOTE_GAP for lines in cautions)
    notes = [(textwrap.wrap(w, NOTE), palette.ALARM) for w in result.warnings]
    notes += [(textwrap.wrap(r, NOTE), palette.INK_SOFT) for r in result.rests_on]
    y -= 0.008
    for k, (lines, colour) in enumerate(notes):
        after = NOTE_LINE * (len(lines) + (k + 1 < len(notes)))
        if y - after < floor:
            _note(figure, y, ["More in the terminal."], palette.INK_SOFT)
            break
        y = _note(figure, y, lines, colour)
    for lines in cautions:  # the room for them is kept, whatever else there is to say
        floor = _note(figure, floor, lines, palette.WANTED)


def _note(figure: Figure, y: float, lines: list[str], colour: str) -> float:
    for line in lines:
        figure.text(RIGHT, y, line, fontsize=6.2, va="center", color=colour, parse_math=False)
        y -= NOTE_LINE
    return y - NOTE_GAP
