"""A dash on one sheet: share used of each limit over airspeed, the run over the straight, and what the interval comes from."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from quadsim.contest.dash import WORDS
from quadsim.contest.dash_curve import DashCurve, RunWay, share_used
from quadsim.contest.dash_flown import FlownDash
from quadsim.contest.dash_prediction import DashPrediction
from quadsim.report import palette
from quadsim.report.contest_sheet import (
    LEFT,
    TOP,
    contest_sheet,
    draw_contributions,
    flown_point,
    mark_answer,
    mark_words,
    panel_axes,
)
from quadsim.report.panel_head import head_panel
from quadsim.report.picture import save_picture

SIZE_IN = (8.3, 8.6)
SHORT = {
    "command": "throttle and its reserve", "guide_cap": "thrust asked for", "rotor_speed": "rotor speed",
    "motor_current": "motor current", "esc_current": "ESC current", "current_reserve": "current and its reserve",
    "pack_current": "battery current", "winding_temperature": "winding", "magnet_temperature": "magnets",
    "cell_voltage": "voltage of a cell", "tilt": "tilt", "pitch_authority": "slowest rotor",
}  # fmt: skip
"""Limits at the ends of their lines."""
SHOWN = 7
"""Lines that are drawn, the nearest to their limits."""
NAMES = 0.75
"""Right edge of the panel with names at its side, shares of the sheet."""
CEILING = 120.0
"""Where the share of a limit is cut off [%]."""
APART = 5.6
"""Least distance of two names [% of a limit]."""


def draw_dash(
    craft: str, found: DashPrediction, curve: DashCurve, flights: Sequence[FlownDash], path: Path
) -> Path:
    """Draw a dash prediction, and its flights if there are any, into a picture file; raises as `save_picture` does."""
    return save_picture(lambda: dash_figure(craft, found, curve, flights), path)


def dash_figure(
    craft: str, found: DashPrediction, curve: DashCurve, flights: Sequence[FlownDash] = ()
) -> Figure:
    """The sheet as a figure."""
    run, rule = found.course, found.rule
    low, high = found.spread.interval
    lines = [
        f"{found.speed:.1f} m/s level, limited by: {WORDS[found.limited_by]}; "
        f"band: {low:.1f} to {high:.1f} m/s, 80 % probability",
        f"Scored {run.scored_speed:.1f} m/s by the mean of {rule.mean_of}, {rule.start} start over {rule.course_m:g} m, "
        f"{rule.wind_m_s:g} m/s of wind; {run.runs_per_pack} runs from a full battery",
    ]
    figure = contest_sheet(SIZE_IN, f"{craft}: how fast it flies", lines)
    _limits(panel_axes(figure, TOP - 0.025, 0.31, LEFT, NAMES), found, curve, flights)
    _straight(panel_axes(figure, 0.445, 0.18), found, curve.runs, flights)
    draw_contributions(figure, found.spread, "m/s", 1.0, 0.18, 0.145)
    return figure


def _limits(ax: Axes, found: DashPrediction, curve: DashCurve, flights: Sequence[FlownDash]) -> None:
    head_panel(ax, "Limits over airspeed", "% of each that is used")
    mark_answer(ax, found.spread.interval, found.speed, f"{found.speed:.1f} m/s")
    ax.axhline(100.0, color=palette.ALARM, linewidth=0.9, dashes=(4.0, 2.0), zorder=2.5)
    ends: list[tuple[float, str, str]] = []
    for name in _shown(found, curve):
        first = name == found.limited_by
        colour, used = palette.FLOWN if first else palette.REAR, 100.0 * curve.used[name]
        ax.plot(curve.airspeed, used, color=colour, linewidth=1.8 if first else 0.9, zorder=4 if first else 3)
        at = float(np.interp(found.speed, curve.airspeed, used))
        ends.append((at, SHORT[name], colour))
    _name(ax, found.speed, float(curve.airspeed[-1]), ends)
    _flown_points(ax, found, flights)
    ax.set_xlim(0.0, float(curve.airspeed[-1]))
    ax.set_ylim(0.0, CEILING)
    ax.set_xlabel("airspeed, m/s", labelpad=2.0, loc="right")


def _shown(found: DashPrediction, curve: DashCurve) -> list[str]:
    """The limits nearest to being used up at the top speed."""
    at = {name: float(np.interp(found.speed, curve.airspeed, used)) for name, used in curve.used.items()}
    known = [name for name in at if np.isfinite(at[name]) and at[name] > 0.0]
    return sorted(known, key=lambda name: -at[name])[:SHOWN]


def _name(ax: Axes, speed: float, last: float, ends: Sequence[tuple[float, str, str]]) -> None:
    """A dot on each line at the top speed, led to a name at the right with what is used there, none over another."""
    place = CEILING
    for at, words, colour in sorted(ends, reverse=True):
        place = min(place - APART, at)
        ax.plot(
            [speed, last, 1.01 * last], [at, place, place], color=colour, linewidth=0.6, dashes=(1.0, 2.0), clip_on=False,
            zorder=2.6,
        )  # fmt: skip
        ax.plot(speed, at, marker="o", markersize=2.8, color=colour, zorder=4.5)
        ax.annotate(
            f"{at:3.0f} %  {words}", (1.015, place), xycoords=ax.get_yaxis_transform(), fontsize=7.0, va="center",
            color=colour, fontweight="bold" if colour == palette.FLOWN else "normal", annotation_clip=False,
        )  # fmt: skip
    ax.annotate(
        "at the top speed",
        (1.015, 1.035),
        xycoords="axes fraction",
        fontsize=7.0,
        va="bottom",
        color=palette.INK_SOFT,
    )


def _flown_points(ax: Axes, found: DashPrediction, flights: Sequence[FlownDash]) -> None:
    """The first limit as flown: a ring inside all limits, a cross beyond."""
    single = [
        one for one in flights if one.predicted_m_s is None
    ]  # both ways are flown at the limit itself, for the score
    for flight in single:
        for run in flight.runs:
            used = 100.0 * float(share_used(found.limited_by, np.array(run.margins[found.limited_by])))
            kept = run.margins[run.least] >= 0.0 and run.airspeed_m_s >= 0.97 * flight.asked_m_s
            flown_point(ax, run.airspeed_m_s, min(used, CEILING), kept)
    if single:
        ax.text(
            0.0, -0.09, "flown in still air: a ring within all limits, a cross beyond one", transform=ax.transAxes, fontsize=7.0,
            va="top", color=palette.WANTED,
        )  # fmt: skip


def _straight(ax: Axes, found: DashPrediction, runs: Sequence[RunWay], flights: Sequence[FlownDash]) -> None:
    """Speed over ground along the field: run-up, course between the gates, braking."""
    course = found.course
    words = f"m/s; run-up {course.run_up_m:.0f} m, braking {course.braking_m:.0f} m"
    words += "; ochre: as flown" if flights else ""
    head_panel(ax, "Speed over ground along the field", words)
    windy = found.rule.wind_m_s > 0.0
    for run in runs if windy else runs[:1]:
        with_wind = run.wind > 0.0 or not windy
        colour = palette.FLOWN if with_wind else palette.WIND
        ax.plot(run.along_m, run.ground_m_s, color=colour, linewidth=1.5, zorder=3)
        if windy:
            middle = 0.5 * (run.gates_m[0] + run.gates_m[1])
            speed = float(np.interp(middle, run.along_m, run.ground_m_s))
            ax.annotate(
                "with the wind" if with_wind else "against it", (middle, speed), xytext=(0, 3),
                textcoords="offset points", fontsize=7.0, ha="center", va="bottom", color=colour,
            )  # fmt: skip
    longest = max(runs, key=lambda one: one.stop_m)
    _gates(ax, longest)
    for flight in flights[:1]:
        for flown in flight.runs:
            if flown.way is not None:
                ax.plot(*flown.way, color=palette.WANTED, linewidth=0.9, zorder=2.8)
    mark_words(ax, course.field_m, f"field {course.field_m:.0f} m", palette.ALARM)
    ax.axvline(course.field_m, color=palette.ALARM, linewidth=0.9, dashes=(4.0, 2.0), zorder=2.5)
    ax.set_xlim(0.0, 1.04 * max(course.field_m, longest.stop_m))
    top = max(float(np.max(one.ground_m_s)) for one in runs)
    ax.set_ylim(0.0, 1.18 * top)
    ax.set_xlabel("distance from the start, m", labelpad=2.0, loc="right")


def _gates(ax: Axes, run: RunWay) -> None:
    """The course between its gates."""
    first, last = run.gates_m
    ax.axvspan(first, last, color=palette.CARD, linewidth=0, zorder=0.5)
    for at in (first, last):
        ax.axvline(at, color=palette.INK_SOFT, linewidth=0.8, zorder=2)
    ax.annotate(
        f"course {last - first:g} m", (0.5 * (first + last), 0.04), xycoords=ax.get_xaxis_transform(), fontsize=7.0,
        ha="center", va="bottom", color=palette.INK_SOFT,
    )  # fmt: skip
