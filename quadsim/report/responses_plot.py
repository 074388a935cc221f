"""One sheet on how a craft answers: a column for each axis; rows for rate, attitude, torque, and for height and quickness."""

from __future__ import annotations

import math
from collections.abc import Sequence
from pathlib import Path

from matplotlib.axes import Axes
from matplotlib.figure import Figure

from quadsim.analysis.responses import Quickness, Rejection, Responses, Step
from quadsim.report import palette
from quadsim.report.numbers import figure as number
from quadsim.report.panel_head import head_panel
from quadsim.report.picture import save_picture

SIZE_IN = (11.7, 8.3)
LEFT, RIGHT, TOP, BOTTOM = 0.042, 0.985, 0.885, 0.055
COLUMN_GAP, ROW_GAP = 0.04, 0.075
FIGURES_ROOM = 0.34
"""Room above a curve for its figures, share of the curve's height."""


def draw_responses(seen: Responses, path: Path) -> Path:
    """Draw the sheet into a picture file.

    Raises
    ------
    InputError
        when the suffix names no kind of picture.
    FlightError
        when the file cannot be written.
    """
    return save_picture(lambda: responses_figure(seen), path)


def responses_figure(seen: Responses) -> Figure:
    """The sheet as a figure."""
    figure = Figure(figsize=SIZE_IN)
    _head(figure, seen)
    for column, axis in enumerate(("roll", "pitch", "yaw")):
        angles = [one for one in seen.steps if one.axis == axis and one.trace.unit == "deg"]
        _draw_steps(_panel(figure, 0, column), f"{axis.capitalize()} rate step", [seen.step(f"{axis} rate")])
        _draw_steps(_panel(figure, 1, column), f"{axis.capitalize()} steps", angles)
        _draw_rejection(_panel(figure, 2, column), seen.rejection(f"{axis} torque"))
    _draw_steps(_panel(figure, 3, 0), "Height step", [seen.step("height")])
    _draw_rejection(_panel(figure, 3, 1), seen.rejection("downdraught"))
    _draw_quickness(_panel(figure, 3, 2), seen.quickness)
    return figure


def _panel(figure: Figure, row: int, column: int) -> Axes:
    width = (RIGHT - LEFT - 2 * COLUMN_GAP) / 3
    height = (TOP - BOTTOM - 3 * ROW_GAP) / 4
    return figure.add_axes(
        (LEFT + column * (width + COLUMN_GAP), TOP - height - row * (height + ROW_GAP), width, height)
    )


def _head(figure: Figure, seen: Responses) -> None:
    changes = f" with {', '.join(seen.changes)}" if seen.changes else ""
    title = f"{seen.craft}{changes}: answers to steps and disturbances"
    figure.text(
        LEFT, 0.967, title, fontsize=15, fontweight="bold",
        va="center", parse_math=False,
    )  # fmt: skip
    noise = seen.noise
    words = (
        f"Flown from hover, in still air, without sensor noise; blue flown, ochre wanted, times in seconds. Sensor noise in "
        f"hover: motor commands {number(noise.command_pct, 2)} % rms, motor currents {number(noise.current_A, 2)} A rms, "
        f"{number(1e3 * noise.power_W, 2)} mW more."
    )
    trouble = seen.trouble or noise.trouble
    figure.text(
        LEFT, 0.938, trouble or words, fontsize=8.0, color=palette.ALARM if trouble else palette.INK_SOFT,
        va="center", parse_math=False,
    )  # fmt: skip


def _draw_steps(ax: Axes, title: str, steps: Sequence[Step]) -> None:
    head_panel(ax, title, steps[0].trace.unit)
    for step in steps:
        trace = step.trace
        ax.plot(trace.t_s, trace.wanted, color=palette.WANTED, linewidth=0.8, zorder=3)
        ax.plot(trace.t_s, trace.flown, color=palette.FLOWN, linewidth=1.4, zorder=4)
    notes = [step.trouble or _step_words(step, len(steps) > 1) for step in steps]
    _note(ax, notes, any(step.trouble for step in steps))


def _step_words(step: Step, named: bool) -> str:
    at = step.figures
    name = f"{step.size:g} {step.trace.unit}: " if named else ""
    over = "no overshoot" if at.overshoot_pct == 0.0 else f"overshoot {number(at.overshoot_pct, 2)} %"
    return f"{name}rise {_ms(at.rise_s)}, {over}, within 5 % after {_ms(at.settle_5_s)}" + _limited(
        step.limited_pct
    )


def _draw_rejection(ax: Axes, one: Rejection) -> None:
    head_panel(ax, f"{one.name.capitalize()} of {number(abs(one.size), 2)} {one.size_unit}", one.trace.unit)
    ax.plot(one.trace.t_s, one.trace.wanted, color=palette.WANTED, linewidth=0.8, zorder=3)
    ax.plot(one.trace.t_s, one.trace.flown, color=palette.FLOWN, linewidth=1.4, zorder=4)
    unit = one.trace.unit
    words = (
        f"peak {number(one.peak, 2)} {unit} and {number(one.peak_rate, 2)} {unit}/s; below a tenth after {_ms(one.back_s)}\n"
        f"integral {number(one.integral, 2)} {unit} s"
    )
    _note(ax, [one.trouble or words + _limited(one.limited_pct)], bool(one.trouble))


def _draw_quickness(ax: Axes, points: Sequence[Quickness]) -> None:
    """Quickness over the least change of attitude, roll as dots and pitch as rings."""
    head_panel(ax, "Attitude quickness", "1/s, over the least change held, deg")
    for axis, face in (("roll", palette.FLOWN), ("pitch", palette.PAPER)):
        own = [one for one in points if one.axis == axis and math.isfinite(one.per_s)]
        ax.plot(
            [one.least_change_deg for one in own], [one.per_s for one in own], "o", color=palette.FLOWN,
            markerfacecolor=face, markersize=4.5, zorder=4,
        )  # fmt: skip
    top = max((one.per_s for one in points if math.isfinite(one.per_s)), default=1.0)
    ax.set_xlim(left=0.0)
    ax.set_ylim(0.0, 1.35 * top)
    _note(ax, ["dots roll, rings pitch; helicopters' boundaries: not scaled to this size"], False)


def _note(ax: Axes, lines: Sequence[str], alarm: bool) -> None:
    """Figures in the room above the curves."""
    low, high = ax.get_ylim()
    ax.set_ylim(low, high + FIGURES_ROOM * (high - low))
    ax.margins(x=0.0)
    ax.text(
        0.008, 0.97, "\n".join(lines), transform=ax.transAxes, fontsize=6.6, va="top", linespacing=1.35,
        color=palette.ALARM if alarm else palette.INK, parse_math=False, zorder=6,
        bbox={"facecolor": palette.PAPER, "edgecolor": "none", "alpha": 0.8, "pad": 0.8},
    )  # fmt: skip


def _ms(time_s: float) -> str:
    return (
        "-"
        if not math.isfinite(time_s)
        else f"{1e3 * time_s:.0f} ms"
        if time_s < 0.9995
        else f"{time_s:.2f} s"
    )


def _limited(share_pct: float) -> str:
    return f"\na motor at its limit {number(share_pct, 2)} % of the time" if share_pct > 0.0 else ""
