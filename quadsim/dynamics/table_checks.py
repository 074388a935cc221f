"""Whether a measured table can be true: what does not fit is shown with the rows it stands in."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import NDArray

from quadsim.dynamics.blade_element import Array
from quadsim.dynamics.table_slips import Bench, unit_slip, zero_off
from quadsim.errors import Problem

FEWEST_BENCH, FEWEST_TUNNEL = 3, 4
"""Rows a table must have. Our choice."""
CT_RANGE = (0.02, 0.5)
"""Static CT of any propeller of 2 to 6 blades [-]; measured ones have 0.06 to 0.2 (AIAA 2011-1255, AIAA 2014-2151), so a
thrust in g taken for N, 102 times too large, falls outside."""
LEAST_MERIT = 0.1
"""Least figure of merit [-]; measured ones have 0.3 to 0.75. Our choice."""
WIDEST_STEP = 3.0
"""Greatest ratio of neighbouring speeds. Our choice."""
CT_DEPARTURE = 0.35
"""How far a row's CT may lie from the table's middle, relative: the Reynolds trend over a table is under 0.2
(AIAA 2014-2151). Our choice."""

SHOWN = ("rpm", "thrust_N", "thrust_g", "torque_Nm", "shaft_power_W", "J", "axial", "CT", "CP")
"""What is shown of a row, in this order."""

Rows = list[dict[str, Any]]


def ideal_power(axial: Array, ct: Array) -> Array:
    """CP of an ideal rotor, CT (J + w) with w (J + w) = 2 CT/pi [-]; momentum theory, Leishman (2006), ch. 2."""
    lift = np.maximum(ct, 0.0)
    return np.asarray(lift * (0.5 * axial + np.sqrt(0.25 * axial**2 + 2.0 * lift / math.pi)))


def bench_problems(bench: Bench, where: list[str]) -> list[Problem]:
    """Faults of a table at rest."""
    rows, rpm, ct = bench.rows, bench.rpm, bench.ct
    show = _shower(rows, where)
    if len(rows) == 2:
        remedy = "Measure more speeds, or give one of them as a point"
        return [
            Problem(
                "table", f"{len(rows)} rows: {show([0, 1])}", f"must have {FEWEST_BENCH} rows or more", remedy
            )
        ]
    thrust = ct * rpm**2
    low, high = CT_RANGE
    wrong = (ct < low) | (ct > high)
    unit = "Check the units (thrust_N or thrust_g, rpm) and the propeller's size"
    if np.any(wrong):
        unit = f"{unit}. {unit_slip(bench)}".rstrip(". ")
    problems = _listed("table", wrong, show, f"CT must be within {low:g} to {high:g}", unit)
    order = "Sort the rows by rpm; of rows at one speed give the mean"
    problems += _listed(
        "table", np.diff(rpm, prepend=0.0) <= 0.0, show, "rpm must rise from row to row", order, before=True
    )
    if problems:
        return problems
    problems += _listed(
        "table", np.diff(thrust, prepend=0.0) <= 0.0, show, "thrust must rise with rpm", before=True
    )
    far = np.abs(ct / np.median(ct) - 1.0) > CT_DEPARTURE
    problems += _listed(
        "table",
        far,
        show,
        "thrust must go about with the square of rpm",
        (zero_off(bench) if np.any(far) else "") or "Measure these again",
    )
    steps = rpm / np.concatenate([rpm[:1], rpm[:-1]])
    gap = f"neighbouring speeds must lie within a factor of {WIDEST_STEP:g}"
    problems += _listed("table", steps > WIDEST_STEP, show, gap, "Measure between them", before=True)
    return problems + _power_problems(show, np.zeros(rpm.size), ct, bench.cp, bench)


def tunnel_problems(rows: Rows, where: list[str], axial: Array, ct: Array, cp: Array) -> list[Problem]:
    """Faults of a table over the advance ratio."""
    show = _shower(rows, where)
    if len(rows) < FEWEST_TUNNEL:
        given = f"{len(rows)} rows: {show(list(range(len(rows))))}"
        return [Problem("table", given, f"must have {FEWEST_TUNNEL} rows or more")]
    slow, fast = int(np.argmin(axial)), int(np.argmax(axial))
    if ct[fast] >= ct[slow] or axial[fast] - axial[slow] < 0.1:
        return [Problem("table", show([slow, fast]), "CT must fall over a J that grows by 0.1 or more")]
    return _power_problems(show, axial, ct, cp)


def _power_problems(
    show: Callable[[list[int]], str], axial: Array, ct: Array, cp: Array, bench: Bench | None = None
) -> list[Problem]:
    ideal = ideal_power(axial, ct)
    merit = np.where(np.isfinite(cp) & (ct > 0.0), ideal / np.where(cp == 0.0, 1e-9, cp), np.nan)
    with np.errstate(invalid="ignore"):
        over, under = (merit >= 1.0) | (merit < 0.0), (merit < LEAST_MERIT) & (merit >= 0.0) & (axial < 0.05)
    unit = "Check the units (N or g, N m, rev/min)"
    if bench is not None and np.any(over | under):
        unit = f"{unit}. {unit_slip(bench) or zero_off(bench)}".rstrip(". ")
    least = (
        "the shaft power must exceed the ideal hover power of the thrust and climb (figure of merit under 1)"
    )
    problems = _listed("table", over, show, least, unit)
    most = f"the figure of merit must be {LEAST_MERIT:g} or more"
    return problems + _listed("table", under, show, most, unit)


def _listed(
    name: str,
    wrong: NDArray[np.bool_],
    show: Callable[[list[int]], str],
    allowed: str,
    remedy: str = "",
    before: bool = False,
) -> list[Problem]:
    """One problem that shows all the wrong rows, with the row before each if that is what they are compared to."""
    found = {int(k) for k in np.flatnonzero(wrong)}
    if not found:
        return []
    shown = sorted(found | {k - 1 for k in found if before and k})
    return [Problem(name, show(shown), allowed, remedy)]


def _shower(rows: Rows, where: list[str]) -> Callable[[list[int]], str]:
    """What writes rows out by number."""

    def show(numbers: list[int]) -> str:
        texts = []
        for k in numbers[:8]:
            values = ", ".join(f"{name} {rows[k][name]:g}" for name in SHOWN if name in rows[k])
            texts.append(f"{where[k].removeprefix('table ')} ({values})")
        return "; ".join(texts) + (f" and {len(numbers) - 8} more" if len(numbers) > 8 else "")

    return show
