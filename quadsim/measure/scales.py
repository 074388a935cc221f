"""Mass and centre of mass from scales under the feet, level and tilted.

Moments: the line of gravity goes through the mean of the feet weighed by their readings, r_c = sum F r/sum F + lambda n, n up
in body axes. Level, that tells forward and right; a second weighing with some feet raised tilts n and tells the height too.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from quadsim.config.mass_properties import mass_properties
from quadsim.config.quantity import Uncertain
from quadsim.errors import InputError, Problem
from quadsim.measure.columns import Bench, Column
from quadsim.measure.result import BENCH_CAUTION, Notebook, Panel, Result, Setup
from quadsim.units import GRAM, MM

Array = NDArray[np.float64]

COLUMNS = (
    Column("set", "-", 0.0, 1000.0, "number of the weighing; 1 for all if absent"),
    Column("forward_mm", "mm", -2000.0, 2000.0, "foot on the scale, from the frame's origin", required=True),
    Column("right_mm", "mm", -2000.0, 2000.0, "the same", required=True),
    Column("down_mm", "mm", -2000.0, 2000.0, "the same; tells the height from the frame's origin"),
    Column("reading_g", "g", 0.0, 50000.0, "of the scale, empty scale taken off", required=True, also=(("reading_kg", 1e3),)),
    Column("raised_mm", "mm", 0.0, 1000.0, "block put under this foot's scale; 0"),
)  # fmt: skip

LEAST_TILT = 0.08
"""Tilt [rad] under which a raised weighing says nothing of the height. Our choice."""
OFF_CENTRE_MM = 3.0
"""Distance of the centre of mass from the middle of the rotors from which it is said. Our choice."""


@dataclass(frozen=True)
class Weighing:
    """One set: mass [kg], mean of the feet by their readings (2,) [m], up in body axes (3,): forward, right, up."""

    mass: float
    mean: Array
    up: Array


def up_of(places: Array, raised: Array) -> Array:
    """Up in body axes (3,), forward, right, up, of feet at places (n, 2) raised by (n,) [m]: n.r = raised + c, least squares."""
    design = np.column_stack([places, np.ones(len(raised))])
    values, *_ = np.linalg.lstsq(design, raised, rcond=None)
    a, b = float(values[0]), float(values[1])
    return np.array([a, b, math.sqrt(max(1.0 - a * a - b * b, 1e-9))])


def centre(weighings: list[Weighing]) -> Array:
    """Centre of mass (3,) [m]: forward, right, height over the feet; NaN for a height that no tilt tells."""
    level = min(weighings, key=lambda one: float(np.hypot(one.up[0], one.up[1])))
    tilted = [one for one in weighings if float(np.hypot(one.up[0], one.up[1])) > LEAST_TILT]
    if not tilted:
        return np.array([level.mean[0], level.mean[1], math.nan])
    # (r_c - mean) x n = 0, two equations a weighing: x - h n_x/n_z = mean_x, y - h n_y/n_z = mean_y
    design, right = [], []
    for one in weighings:
        for k in range(2):
            design.append([float(k == 0), float(k == 1), -float(one.up[k] / one.up[2])])
            right.append(float(one.mean[k]))
    found, *_ = np.linalg.lstsq(np.array(design), np.array(right), rcond=None)
    return np.asarray(found)


def measure_scales(bench: Bench, setup: Setup) -> Result:
    """Work out readings under the feet.

    Raises
    ------
    InputError
        when a weighing has too few feet or they stand in one line.
    """
    note = Notebook("scales", bench)
    sets = bench.column("set")
    sets = np.where(np.isfinite(sets), sets, 1.0)
    rows = [np.flatnonzero(sets == number) for number in np.unique(sets)]
    weighings = [_weighing(bench, k) for k in rows]
    found = centre(weighings)
    sigmas = _sigmas(bench, setup, rows, found)
    _note(note, bench, setup, rows, weighings, found, sigmas)
    _draw(note, bench, found)
    return note.result(setup.craft, (BENCH_CAUTION,))


def _places(bench: Bench, rows: NDArray[np.int64]) -> Array:
    return np.column_stack([bench.column("forward_mm")[rows], bench.column("right_mm")[rows]]) * MM


def _weighing(
    bench: Bench, rows: NDArray[np.int64], moved: Array | None = None, readings: Array | None = None
) -> Weighing:
    places = _places(bench, rows) if moved is None else moved
    load = bench.column("reading_g")[rows] if readings is None else readings
    if (
        rows.size < 3
        or np.linalg.matrix_rank(places - places.mean(axis=0), tol=1e-3) < 2
        or load.sum() <= 0.0
    ):
        given = f"a weighing of {rows.size} feet in one line or without load: {bench.row(int(rows[0]))}"
        raise InputError([Problem("", given, "needs three feet and more, not in one line")], bench.source)
    raised = np.nan_to_num(bench.column("raised_mm")[rows]) * MM
    return Weighing(float(load.sum()) * GRAM, load @ places / load.sum(), up_of(places, raised))


def _sigmas(bench: Bench, setup: Setup, rows: list[NDArray[np.int64]], found: Array) -> Array:
    """Standard uncertainties (3,) [m] from readings and places, each moved by one of its own (JCGM 100:2008, 5.1.3)."""
    total = np.zeros(3)
    for j, group in enumerate(rows):
        for k in range(group.size):
            for what in range(3):
                places, load = _places(bench, group), bench.column("reading_g")[group].copy()
                if what < 2:
                    places[k, what] += setup.length_mm * MM
                else:
                    load[k] += max(setup.scale_g, 1e-6)
                weighings = [
                    _weighing(bench, other, places, load) if i == j else _weighing(bench, other)
                    for i, other in enumerate(rows)
                ]
                total += np.nan_to_num(centre(weighings) - found) ** 2
    return np.sqrt(total)


def _note(
    note: Notebook,
    bench: Bench,
    setup: Setup,
    rows: list[NDArray[np.int64]],
    weighings: list[Weighing],
    found: Array,
    sigmas: Array,
) -> None:
    masses = np.array([one.mass for one in weighings]) / GRAM
    sigma = setup.scale_g * math.sqrt(float(np.mean([k.size for k in rows]))) / math.sqrt(masses.size)
    if masses.size > 1 and float(np.ptp(masses)) > 4.0 * sigma * math.sqrt(masses.size):
        note.warnings.append(
            f"The weighings sum to {masses.min():.0f} to {masses.max():.0f} g: the scales stand on a slope, or a foot hung free"
        )
    properties = None if setup.craft is None else mass_properties(setup.craft)
    if properties is not None:
        note.before["mass.weighed_mass_g"] = Uncertain(
            properties.mass_kg / GRAM, properties.mass_sigma_kg / GRAM
        )
    note.add("mass on the scales", float(np.mean(masses)), sigma, "g", "mass.weighed_mass_g")
    values = found / MM
    if math.isfinite(values[2]):
        down = bench.column("down_mm")
        if np.isfinite(down).all() and np.ptp(down) < 5.0:
            values = np.array([values[0], values[1], float(np.mean(down)) - values[2]])
        else:
            note.add(
                "height of the centre of mass over the feet", float(values[2]), 1e3 * float(sigmas[2]), "mm"
            )
            note.rests.append(
                "Where the feet stand below the frame's origin (down_mm) would tell the height there"
            )
            values = np.array([values[0], values[1], math.nan])
    else:
        note.rests.append(
            "Raise two feet by a fifth of their distance and weigh again (set 2) for the height"
        )
    for name, value, one, k in zip(("forward", "right", "down"), values, sigmas, range(3), strict=True):
        if math.isfinite(value):
            key = f"mass.centre_{name}_mm"
            if properties is not None:
                note.before[key] = Uncertain(float(properties.centre_of_mass_m[k]) / MM, 1.0)
            note.add(f"centre of mass, {name}", float(value), float(one) / MM, "mm", key)
    off = float(np.hypot(values[0], values[1]))
    if off > OFF_CENTRE_MM:
        note.warnings.append(
            f"The centre of mass lies {off:.0f} mm off the frame's origin: shift the pack, or some motors work more than others"
        )
    note.rests.append(
        f"Readings +- {setup.scale_g:g} g (--scale-g), places +- {setup.length_mm:g} mm (--length-mm), ready to fly with pack"
    )


def _draw(note: Notebook, bench: Bench, found: Array) -> None:
    """Seen from above: the feet, and a cross of lines through the centre of mass."""
    right, forward = bench.column("right_mm"), bench.column("forward_mm")
    x, y, arm = found[1] / MM, found[0] / MM, 0.06 * float(np.ptp(right))
    used = np.ones(len(bench), dtype=bool)
    lines = (np.array([x - arm, x + arm, math.nan, x, x]), np.array([y, y, math.nan, y - arm, y + arm]))
    note.panels.append(
        Panel(
            "Seen from above: feet, and the centre of mass (cross)", "right, mm", "forward, mm", right, forward, used, *lines,
            plan=True,
        )
    )  # fmt: skip
