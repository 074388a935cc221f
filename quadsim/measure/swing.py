"""Inertia from the period of a craft that hangs on two or three lines and turns about the vertical.

I = m g R r T^2/(4 pi^2 h): n lines at R from the axis below and r above, h = sqrt(L^2 - (R - r)^2) high; for two lines b apart
R = b/2, so I = m g b^2 T^2/(16 pi^2 L). M. Jardin & E. Mueller, Optimized measurements of UAV mass moment of inertia with a
bifilar pendulum, AIAA 2007-6822; the form with two radii from memory. The swing has the law of a pendulum, so its period at an
amplitude a is 1 + a^2/16 longer (L. D. Landau & E. M. Lifshitz, Mechanics, sec. 11, problem 1).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from quadsim.analysis.bifilar import bifilar_inertia
from quadsim.config.mass_properties import mass_properties
from quadsim.config.quantity import Uncertain
from quadsim.constants import G0
from quadsim.errors import InputError, Problem
from quadsim.measure.columns import Bench, Column
from quadsim.measure.result import APART, BENCH_CAUTION, Notebook, Panel, Result, Setup
from quadsim.units import DEG, GRAM, MM

Array = NDArray[np.float64]

AXES = ("roll", "pitch", "yaw")
COLUMNS = (
    Column("axis", "-", 0.0, 0.0, "axis that is vertical: roll, pitch, yaw; cradle: what holds the craft, alone",
           required=True, words=(*AXES, "cradle")),
    Column("length_mm", "mm", 50.0, 20000.0, "length of the lines", required=True, also=(("length_m", 1e3), ("length_cm", 10.0))),
    Column("spacing_mm", "mm", 10.0, 5000.0, "two lines: between them, at the craft",
           also=(("spacing_m", 1e3), ("spacing_cm", 10.0))),
    Column("radius_mm", "mm", 5.0, 2500.0, "three lines: from the axis to each, at the craft"),
    Column("upper_spacing_mm", "mm", 10.0, 5000.0, "two lines: between them above; as below"),
    Column("upper_radius_mm", "mm", 5.0, 2500.0, "three lines: from the axis above; as below"),
    Column("mass_g", "g", 1.0, 100000.0, "all that swings; the craft's", also=(("mass_kg", 1e3),)),
    Column("periods", "-", 1.0, 1000.0, "whole swings, there and back", required=True),
    Column("time_s", "s", 0.2, 3600.0, "for these swings", required=True),
    Column("amplitude_deg", "deg", 0.0, 60.0, "greatest angle at the start; 10, assumed"),
)  # fmt: skip

SMALL_DEG, SMALL_SIGMA = 10.0, 0.002
"""Amplitude taken where none is stated [deg], and what that leaves unknown of the period [-]; assumed."""
SHORT = 3.0
"""Line length over spacing below which the formula's straight-line motion is no longer near. Our choice."""
FEW_SWINGS = 10.0
"""Swings of a timing below which the stopwatch counts much. Our choice."""
ROOM = 0.3
"""Uncertainties by which shared-out inertias stay inside the bound, so that rounding in the file cannot cross it. Our choice."""
FAR = 4.0
"""Distance from the median, in uncertainties of a timing, from which a row is left out. Our choice."""


@dataclass(frozen=True)
class Swing:
    """One axis: its rows, the period of each [s], and the inertia per squared period [kg m2/s2] with its relative sigma."""

    axis: str
    rows: NDArray[np.int64]
    periods: Array
    per_square: float
    relative: float
    off: Array
    """Periods of the rows left out [s]."""


def small_swing(period: Array, amplitude_rad: Array) -> Array:
    """Period of a small swing from that of a swing of an amplitude: T/(1 + a^2/16 + 11 a^4/3072)."""
    return np.asarray(period / (1.0 + amplitude_rad**2 / 16.0 + 11.0 * amplitude_rad**4 / 3072.0))


def inertia_per_square(mass: float, lower: float, upper: float, length: float, gravity: float = G0) -> float:
    """Inertia over the squared period [kg m2/s2] of lines of a length [m] at radii [m] below and above."""
    height = math.sqrt(length**2 - (lower - upper) ** 2)
    return bifilar_inertia(mass, 2.0 * math.sqrt(lower * upper), height, 1.0, gravity)


def measure_swing(bench: Bench, setup: Setup) -> Result:
    """Work out pendulum timings.

    Raises
    ------
    InputError
        when a row lacks its geometry or mass, or its lines cannot hang so.
    """
    note = Notebook("swing", bench)
    axes = np.array(bench.words["axis"])
    if not set(axes) & set(AXES):
        raise InputError(
            [Problem("", "has the cradle alone", "needs rows of roll, pitch or yaw")], bench.source
        )
    swings = {
        name: _swing(note, bench, setup, np.flatnonzero(axes == name))
        for name in (*AXES, "cradle")
        if name in axes
    }
    cradle = _inertia(swings["cradle"], setup, bench) if "cradle" in swings else (0.0, 0.0)
    measured: dict[str, tuple[float, float]] = {}
    for name in AXES:
        if name in swings:
            value, sigma = _inertia(swings[name], setup, bench)
            measured[name] = (value - cradle[0], math.hypot(sigma, cradle[1]))
    _note(note, bench, setup, _possible(note, measured), cradle)
    _draw(note, swings)
    return note.result(setup.craft, (BENCH_CAUTION,))


def _swing(note: Notebook, bench: Bench, setup: Setup, rows: NDArray[np.int64]) -> Swing:
    """One axis, with miscounted rows left out."""
    axis = bench.words["axis"][int(rows[0])]
    geometry = [_geometry(bench, setup, int(k)) for k in rows]
    count, time = bench.column("periods")[rows], bench.column("time_s")[rows]
    amplitude = bench.column("amplitude_deg")[rows]
    amplitude = np.where(np.isfinite(amplitude), amplitude, SMALL_DEG / math.sqrt(2.0))
    period = small_swing(time / count, amplitude * DEG)
    factors = np.array([one[0] for one in geometry])
    root = period * np.sqrt(factors / factors[0])  # rows on other lines as if on the first row's
    middle, allowed = float(np.median(root)), FAR * setup.timing_s / count
    kept = np.abs(root - middle) <= allowed if rows.size > 2 else np.ones(rows.size, dtype=bool)
    for j in np.flatnonzero(~kept):
        usual = middle * math.sqrt(factors[0] / factors[j]) * time[j] / count[j] / period[j]
        near = round(float(time[j]) / usual)
        why = f"{time[j] / count[j]:.3f} s a swing, the others {usual:.3f} s"
        if near != count[j] and abs(time[j] - near * usual) < FAR * setup.timing_s:
            why += f": perhaps {near} swings were counted as {count[j]:.0f}"
        note.leave_out(int(rows[j]), why)
    if np.count_nonzero(kept) < 2 and rows.size > 2:
        given = f"{axis}: no two timings agree within {FAR * setup.timing_s:g} s"
        raise InputError(
            [Problem("", given, "must repeat", "Swing again, or state --timing-s")], bench.source
        )
    if rows.size < 3:
        note.warnings.append(
            f"{axis}: {rows.size} timing{'s' if rows.size > 1 else ''}; three and more show a miscount"
        )
    if float(np.min(count)) < FEW_SWINGS:
        note.warnings.append(
            f"{axis}: {np.min(count):.0f} swings at a time; twenty and more make the stopwatch count less"
        )
    known = np.isfinite(bench.column("amplitude_deg")[rows]).all()
    relative = math.hypot(geometry[0][1], 0.0 if known else 2.0 * SMALL_SIGMA)
    return Swing(axis, rows[kept], root[kept], float(factors[0]), relative, root[~kept])


def _geometry(bench: Bench, setup: Setup, k: int) -> tuple[float, float]:
    """Inertia per squared period of a row [kg m2/s2], and its relative standard uncertainty without the timing."""
    spacing, radius, length = (float(bench.column(n)[k]) for n in ("spacing_mm", "radius_mm", "length_mm"))
    upper, upper_radius = (float(bench.column(n)[k]) for n in ("upper_spacing_mm", "upper_radius_mm"))
    where = bench.row(k)
    if math.isfinite(spacing) == math.isfinite(radius):
        given = (
            "has both spacing_mm and radius_mm"
            if math.isfinite(spacing)
            else "has neither spacing_mm nor radius_mm"
        )
        raise InputError([Problem(where, given, "two lines: spacing_mm; three: radius_mm")], bench.source)
    lower = 0.5 * spacing if math.isfinite(spacing) else radius
    above = 0.5 * upper if math.isfinite(upper) else upper_radius if math.isfinite(upper_radius) else lower
    if abs(lower - above) >= 0.5 * length:
        given = f"lines of {length:g} mm reach from {above:g} to {lower:g} mm off the axis"
        raise InputError(
            [Problem(where, given, "must hang nearly upright", "Check the lengths")], bench.source
        )
    mass = float(bench.column("mass_g")[k])
    mass_sigma = setup.scale_g
    if not math.isfinite(mass):
        if setup.craft is None or bench.words["axis"][k] == "cradle":
            raise InputError([Problem(where, "mass_g is missing", "all that swings, in g", "Or name the craft (--craft)")],
                             bench.source)  # fmt: skip
        own = mass_properties(setup.craft)
        cradle = bench.column("mass_g")[np.array(bench.words["axis"]) == "cradle"]
        mass = own.mass_kg / GRAM + (float(np.nanmean(cradle)) if cradle.size else 0.0)
        mass_sigma = max(own.mass_sigma_kg / GRAM, setup.scale_g)
    one_radius = setup.length_mm * (0.5 if math.isfinite(spacing) else 1.0)  # half of that of a spacing
    measured_apart = math.isfinite(upper) or math.isfinite(upper_radius)
    of_lines = (
        math.hypot(one_radius / lower, one_radius / above) if measured_apart else 2.0 * one_radius / lower
    )
    relative = math.sqrt((mass_sigma / mass) ** 2 + of_lines**2 + (setup.length_mm / length) ** 2)
    factor = inertia_per_square(mass * GRAM, lower * MM, above * MM, length * MM, setup.site.gravity)
    return factor, relative


def _inertia(swing: Swing, setup: Setup, bench: Bench) -> tuple[float, float]:
    """Inertia [kg m2] and its standard uncertainty: timing (stated or scattered, the greater), geometry, mass."""
    count = bench.column("periods")[swing.rows]
    weights = count**2 / np.sum(count**2)
    period = float(weights @ swing.periods)
    stated = setup.timing_s / math.sqrt(float(np.sum(count**2)))
    n = swing.periods.size
    seen = float(np.std(swing.periods, ddof=1)) / math.sqrt(n) if n > 2 else 0.0
    value = swing.per_square * period**2
    return value, value * math.hypot(swing.relative, 2.0 * max(stated, seen) / period)


def _excess(measured: dict[str, tuple[float, float]]) -> tuple[float, str]:
    """By how much the greatest of three inertias exceeds the other two together [kg m2], and its axis; 0 without all three."""
    worst = max(measured, key=lambda name: measured[name][0])
    lacking = len(measured) < len(AXES)
    return (
        0.0 if lacking else 2.0 * measured[worst][0] - sum(value for value, _ in measured.values())
    ), worst


def _possible(note: Notebook, measured: dict[str, tuple[float, float]]) -> dict[str, tuple[float, float]]:
    """Inertias [kg m2] that a body can have: of a flat craft yaw is nearly roll and pitch together, so chance alone may put it
    above. An excess within its uncertainty is shared out by variance, which is least squares under that constraint."""
    excess, worst = _excess(measured)
    whole = sum(sigma**2 for _, sigma in measured.values())
    if not 0.0 < excess <= APART * math.sqrt(whole):
        return measured
    note.rests.append(
        f"{worst} came out {excess / GRAM:.2g} g m2 above the other two together, within the uncertainty; "
        "shared out among the three"
    )
    share = (excess + ROOM * math.sqrt(whole)) / whole
    return {
        name: (value - share * sigma**2 * (1.0 if name == worst else -1.0), sigma)
        for name, (value, sigma) in measured.items()
    }


def _note(
    note: Notebook,
    bench: Bench,
    setup: Setup,
    measured: dict[str, tuple[float, float]],
    cradle: tuple[float, float],
) -> None:
    had = None if setup.craft is None else np.diag(mass_properties(setup.craft).inertia_kg_m2)
    for k, name in enumerate(AXES):
        if name not in measured:
            continue
        value, sigma = (v / GRAM for v in measured[name])
        if value <= 2.0 * sigma:
            given = f"{name}: {value:.3g} +- {sigma:.2g} g m2 are left"
            raise InputError(
                [Problem("", given, "must be above 0", "A lighter cradle, more swings")], bench.source
            )
        key = f"mass.{name}_inertia_gm2"
        if had is not None:
            note.before[key] = Uncertain(float(had[k]) / GRAM, 0.05 * float(had[k]) / GRAM)
        note.add(f"inertia about {name}", value, sigma, "g m2", key)
    if cradle[0]:
        note.add("inertia of the cradle, taken off", cradle[0] / GRAM, cradle[1] / GRAM, "g m2")
    if _excess(measured)[0] > 0.0:
        note.warnings.append(
            f"{_excess(measured)[1]} exceeds the other two together, which no body can: swing again"
        )
        note.entries.clear()
    lengths, spacings = bench.column("length_mm"), bench.column("spacing_mm")
    with np.errstate(invalid="ignore"):
        if np.any(lengths < SHORT * spacings):
            note.warnings.append(
                "Lines shorter than three times their spacing: longer ones swing nearer to the formula"
            )
    note.rests.append(
        "I = m g R r T^2/(4 pi^2 h), parallel lines, the centre of mass on the axis half-way between them "
        f"(AIAA 2007-6822); timing +- {setup.timing_s:g} s (--timing-s), lengths +- {setup.length_mm:g} mm (--length-mm), "
        f"mass +- {setup.scale_g:g} g (--scale-g)"
    )
    if had is not None:
        note.rests.append("The craft file's inertias follow from its parts: 5 % uncertain, assumed")


def _draw(note: Notebook, swings: dict[str, Swing]) -> None:
    for one in swings.values():
        every = np.concatenate([one.periods, one.off])
        number = np.arange(1.0, every.size + 1.0)
        middle = float(np.mean(one.periods))
        axis = "timing, left out last" if one.off.size else "timing"
        note.panels.append(
            Panel(
                f"Period, {one.axis}", axis, "s", number, every, number <= one.periods.size,
                np.array([0.5, number.size + 0.5]), np.full(2, middle), 1e3 * (every - middle), "ms",
            )
        )  # fmt: skip
