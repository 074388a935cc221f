"""One sheet on a craft's drive: thrust, currents, efficiency and cell voltage over throttle; beside it, how sure that is."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator

from quadsim.analysis.inspection import Inspection
from quadsim.analysis.throttle_curves import ThrottleCurves, throttle_curves
from quadsim.report import palette
from quadsim.report.drive_sidebar import draw_drive_sidebar
from quadsim.report.flight_sheet import SIZE_IN
from quadsim.report.numbers import figure as number
from quadsim.report.panel_head import head_panel
from quadsim.report.picture import save_picture

LEFT, RIGHT, BOTTOM, TOP = 0.045, 0.640, 0.062, 0.880
"""Edges of the panels, shares of the sheet; names of lines stand to the right of them."""
GAP = 0.048
BITES = 1.15
"""A limit is drawn when the curve comes within this factor of it. Our choice."""


@dataclass(frozen=True)
class Curve:
    """A line over throttle with its band, if it has one, and the name at its end."""

    values: np.ndarray
    label: str
    colour: str = palette.FLOWN
    width: float = 1.5
    band: tuple[np.ndarray, np.ndarray] | None = None


@dataclass(frozen=True)
class DrivePanel:
    """One panel; `limits`: value and words of each line across it; `height`: share of the sheet."""

    title: str
    unit: str
    curves: tuple[Curve, ...]
    height: float
    limits: tuple[tuple[float, str, str], ...] = field(default=())
    from_zero: bool = True


def draw_drive(seen: Inspection, path: Path) -> Path:
    """Draw the drive of an inspected craft into a picture file.

    Raises
    ------
    InputError
        when the suffix names no kind of picture.
    FlightError
        when the file cannot be written.
    """
    return save_picture(lambda: drive_figure(seen), path)


def drive_figure(seen: Inspection) -> Figure:
    """The sheet as a figure."""
    curves = throttle_curves(seen.craft, seen.site, seen.evidence)
    figure = Figure(figsize=SIZE_IN)
    figure.text(
        LEFT, 0.962, f"{seen.craft.name}: the drive over throttle", fontsize=15, fontweight="bold", va="center",
        parse_math=False,
    )  # fmt: skip
    air = f"All four rotors as mounted, full pack, still air of {seen.site.density:.3f} kg/m3. "
    air += "Pale bands hold the true curve with 80 % probability."
    figure.text(LEFT, 0.930, air, fontsize=8.0, color=palette.INK_SOFT, va="center")
    shown = panels(seen, curves)
    unit = (TOP - BOTTOM - GAP * (len(shown) - 1)) / sum(panel.height for panel in shown)
    top = TOP
    for k, panel in enumerate(shown):
        ax = figure.add_axes((LEFT, top - unit * panel.height, RIGHT - LEFT, unit * panel.height))
        top -= unit * panel.height + GAP
        _draw_panel(ax, panel, 100.0 * curves.throttle)
        _mark_hover(ax, seen, named=k == 0)
        ax.tick_params(labelbottom=k == len(shown) - 1)
        if curves.limited.any() and k < 2:
            _mark_limited(ax, curves, named=k == 1)
        if k == 0 and curves.bench_throttle.size:
            _draw_bench(ax, curves)
    ax.set_xlabel("throttle, %", labelpad=2.0, loc="right")
    draw_drive_sidebar(figure, seen)
    return figure


def panels(seen: Inspection, curves: ThrottleCurves) -> list[DrivePanel]:
    """What is drawn, from the top down."""
    craft = seen.craft

    def band(name: str) -> tuple[np.ndarray, np.ndarray]:
        return curves.low[name], curves.high[name]

    thrust = Curve(curves.thrust_g, "thrust", band=band("thrust_g"))
    pack = Curve(curves.pack_current_A, "pack", band=band("pack_current_A"))
    motor = Curve(curves.motor_current_A, "one motor", palette.REAR, 1.1)
    weight = (1e3 * seen.mass.mass_kg, f"weight {1e3 * seen.mass.mass_kg:.0f} g", palette.INK_SOFT)
    cutoff = float(craft.battery.cutoff_cell_V)
    cell = Curve(curves.cell_voltage_V, "cell")
    low = float(curves.cell_voltage_V[-1])
    cut = ((cutoff, f"cut-off {cutoff:g} V", palette.ALARM),) if low < cutoff * BITES else ()
    efficiency = Curve(curves.efficiency_g_W, "efficiency", band=band("efficiency_g_W"))
    return [
        DrivePanel("Thrust", "g", (thrust,), 2.3, (weight,)),
        DrivePanel("Current", "A", (pack, motor), 1.6, _current_limits(seen, curves)),
        DrivePanel("Thrust per power", "g/W", (efficiency,), 1.3),
        DrivePanel("Voltage of a cell, loaded", "V", (cell,), 0.8, cut, from_zero=False),
    ]


def _current_limits(seen: Inspection, curves: ThrottleCurves) -> tuple[tuple[float, str, str], ...]:
    """Limits of motor, ESC and pack that the curves come near."""
    craft = seen.craft
    claim = float(craft.battery.label_C_rating) * float(craft.battery.capacity_mAh) / 1e3
    motor, pack = float(curves.motor_current_A[-1]), float(curves.pack_current_A[-1])
    asked = (
        (float(craft.motor.current_limit_A), "a motor's limit", motor),
        (float(craft.esc.current_limit_A), "an ESC's limit", motor),
        (claim, "the pack's label", pack),
    )
    return tuple(
        (limit, f"{words} {limit:g} A", palette.ALARM) for limit, words, most in asked if most * BITES > limit
    )


def _draw_panel(ax: Axes, panel: DrivePanel, throttle: np.ndarray) -> None:
    head_panel(ax, panel.title, panel.unit)
    for curve in panel.curves:
        if curve.band is not None:
            ax.fill_between(throttle, *curve.band, color=curve.colour, alpha=0.16, linewidth=0, zorder=2)
        ax.plot(throttle, curve.values, color=curve.colour, linewidth=curve.width, zorder=3)
        ax.annotate(
            f"{curve.label} {number(float(curve.values[-1]))}", (1.008, float(curve.values[-1])),
            xycoords=ax.get_yaxis_transform(), fontsize=7.0, va="center", color=curve.colour,
        )  # fmt: skip
    for value, words, colour in panel.limits:
        ax.axhline(value, color=colour, linewidth=0.8, dashes=(4.0, 2.0), zorder=2.5)
        ax.annotate(
            words, (0.004, value), xycoords=ax.get_yaxis_transform(), xytext=(0, 2), textcoords="offset points",
            fontsize=7.0, va="bottom", color=colour,
        )  # fmt: skip
    ax.set_xlim(0.0, 100.0)
    ax.xaxis.set_major_locator(MaxNLocator(10))
    ax.yaxis.set_major_locator(MaxNLocator(5 if panel.height > 1.0 else 3, steps=[1, 2, 2.5, 5, 10]))
    if panel.from_zero:
        highest = max((value for value, _, _ in panel.limits), default=0.0)
        ax.set_ylim(0.0, max(ax.get_ylim()[1], 1.12 * highest))


def _mark_hover(ax: Axes, seen: Inspection, named: bool) -> None:
    """A line at hover through every panel; its name in the first."""
    if seen.hover is None:
        return
    at = 100.0 * seen.hover.throttle
    ax.axvline(at, color=palette.WANTED, linewidth=0.9, dashes=(1.5, 1.5), zorder=2.5)
    if named:
        ax.annotate(
            f"hover {at:.0f} %", (at, 1.0), xycoords=ax.get_xaxis_transform(), xytext=(0, 3), textcoords="offset points",
            fontsize=7.0, fontweight="bold", ha="center", va="bottom", color=palette.WANTED,
        )  # fmt: skip


def _mark_limited(ax: Axes, curves: ThrottleCurves, named: bool) -> None:
    """A pale band over the throttles at which the current limit holds the motors back."""
    ax.axvspan(
        100.0 * curves.throttle[curves.limited][0], 100.0, color=palette.ALARM_PALE, linewidth=0, zorder=1
    )
    if named:
        ax.text(
            1.0, 1.035, "shaded: the current limit holds the motors back", transform=ax.transAxes, fontsize=7.0,
            ha="right", va="bottom", color=palette.ALARM,
        )  # fmt: skip


def _draw_bench(ax: Axes, curves: ThrottleCurves) -> None:
    ax.plot(
        100.0 * curves.bench_throttle, curves.bench_thrust_g, "o", markersize=4.0, markerfacecolor=palette.PAPER,
        markeredgecolor=palette.INK, markeredgewidth=0.9, zorder=4,
    )  # fmt: skip
    named = max(curves.bench_throttle.size - 2, 0)
    ax.annotate(
        "rows of the bench, as mounted", (100.0 * curves.bench_throttle[named], curves.bench_thrust_g[named]),
        xytext=(-12, 10), textcoords="offset points", fontsize=7.0, ha="right", va="bottom", color=palette.INK,
        arrowprops={"arrowstyle": "-", "linewidth": 0.5, "color": palette.INK_SOFT, "shrinkB": 3.0},
    )  # fmt: skip
