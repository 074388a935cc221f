"""How fast motor and propeller follow steps of throttle: 63 % time and dead time of each, from speeds over time.

n(t) = a + (b - a)(1 - exp(-(t - d)/tau)) after the step, 0 < t; d, tau and b by nonlinear least squares.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from quadsim.errors import InputError, Problem
from quadsim.measure.columns import Bench, Column, groups
from quadsim.measure.least_squares import Fit, UndeterminedError, curve
from quadsim.measure.result import PROPELLER_CAUTION, Notebook, Panel, Result, Setup

Array = NDArray[np.float64]

COLUMNS = (
    Column("time_s", "s", -1e9, 1e9, "rising", required=True, also=(("time_ms", 1e-3), ("time_us", 1e-6))),
    Column("throttle_pct", "%", 0.0, 100.0, "command", required=True),
    Column("rpm", "rpm", 0.0, 200000.0, "speed of the one rotor", required=True),
)

STEP_PCT = 1.0
"""Change of command between two rows that counts as a step [%]."""
LARGE_PCT = 25.0
"""Step from which the 63 % time is no longer that of a small step. Our choice."""
FEWEST = 8
"""Rows after a step that are needed. Our choice."""
LONGEST_S = 2.0
ALONG = 3.0
"""Throttles whose middles lie within so many percent are one. Our choice."""


@dataclass(frozen=True)
class Step:
    """One step: throttle before and after [%], time constant with its standard error and dead time [s], and its rows."""

    low: float
    high: float
    up: bool
    tau: float
    tau_sigma: float
    dead: float
    rows: NDArray[np.int64]
    fitted: Array

    @property
    def middle(self) -> float:
        """Throttle around which it stepped [%]."""
        return 0.5 * (self.low + self.high)


def first_order(time: Array, speed: Array, before: float) -> Fit:
    """Fit a step answer that begins at time 0 at a speed `before`: values are the last speed, tau and dead time [s]."""
    last = float(np.mean(speed[-max(2, speed.size // 5) :]))
    share = (speed - before) / (last - before) if last != before else np.zeros(speed.size)
    passed = np.flatnonzero(share > 1.0 - math.exp(-1.0))
    every = float(np.median(np.diff(time)))
    tau = max(float(time[passed[0]]) if passed.size else float(time[-1]) / 3.0, 0.5 * every)

    def model(values: Array) -> Array:
        late = np.maximum(time - values[2], 0.0)
        return np.asarray(before + (values[0] - before) * (1.0 - np.exp(-late / values[1])))

    return curve(
        model, speed, (last, 0.9 * tau, 0.1 * tau), (abs(last - before), tau, tau),
        (-np.inf, 1e-4, 0.0), (np.inf, 10.0, float(time[-1])),
    )  # fmt: skip


def measure_spin(bench: Bench, setup: Setup) -> Result:
    """Work out steps of throttle.

    Raises
    ------
    InputError
        when there is no step with enough rows after it.
    """
    note = Notebook("spin", bench)
    time, throttle, rpm = (bench.column(name) for name in ("time_s", "throttle_pct", "rpm"))
    back = np.flatnonzero(np.diff(time) <= 0.0)
    if back.size:
        given = f"time_s does not rise at {bench.row(int(back[0]) + 1)}"
        raise InputError([Problem("", given, "must rise from row to row")], bench.source)
    steps = _steps(note, time, throttle, rpm)
    if not steps:
        allowed = f"needs a change of throttle_pct with {FEWEST} rows and a settled speed after it"
        raise InputError(
            [Problem("", "has no step that can be fitted", allowed, "Step by 5 to 20 % and wait a second")],
            bench.source,
        )
    every = float(np.median(np.diff(time)))
    quickest = min(one.tau for one in steps)
    if every > quickest / 3.0:
        note.warnings.append(
            f"Sampled every {1e3 * every:.1f} ms, the time constant is {1e3 * quickest:.0f} ms: log three times as fast and more"
        )
    if any(one.high - one.low > LARGE_PCT for one in steps):
        note.warnings.append(
            f"Steps of more than {LARGE_PCT:g} %: the craft file asks for the answer to small ones, 5 to 15 %"
        )
    _note(note, setup, steps, every)
    _draw(note, time, rpm, steps)
    return note.result(setup.craft, (PROPELLER_CAUTION,))


def _steps(note: Notebook, time: Array, throttle: Array, rpm: Array) -> list[Step]:
    at = [0, *(int(k) + 1 for k in np.flatnonzero(np.abs(np.diff(throttle)) > STEP_PCT)), time.size]
    found = []
    for begin, step, end in zip(at, at[1:], at[2:], strict=False):
        rows = np.arange(step, end)
        rows = rows[time[rows] - time[step] <= LONGEST_S]
        settled = np.arange(max(begin, step - max(3, (step - begin) // 4)), step)
        for k in (int(rows[0]),) if rows.size else ():
            if rows.size < FEWEST or settled.size < 2:
                note.leave_out(k, f"a step with {rows.size} rows after and {settled.size} before it")
                continue
            one = _fitted(time, throttle, rpm, rows, float(np.mean(rpm[settled])))
            if one is None:
                note.leave_out(k, "a step whose answer is no exponential rise or fall")
            else:
                found.append(one)
    return found


def _fitted(time: Array, throttle: Array, rpm: Array, rows: NDArray[np.int64], before: float) -> Step | None:
    """A step's fit; None when it settles no value within a third."""
    command = (float(throttle[rows[0] - 1]), float(throttle[rows[0]]))
    since = (
        time[rows] - time[rows[0]]
    )  # the command is taken to change when the row that has it first was logged
    try:
        fit = first_order(since, rpm[rows], before)
    except UndeterminedError:
        return None
    last, tau, dead = (float(v) for v in fit.values)
    up = command[1] > command[0]
    if (last > before) != up or not fit.sigmas[1] < tau / 3.0 or fit.sigma > 0.15 * abs(last - before):
        return None
    return Step(
        min(command), max(command), up, tau, float(fit.sigmas[1]), dead, rows,
        rpm[rows] - fit.residuals,
    )  # fmt: skip


def _note(note: Notebook, setup: Setup, steps: list[Step], every: float) -> None:
    middles = np.array([one.middle for one in steps])
    response, lonely = [], []
    for group in groups(middles, np.full(middles.size, ALONG)):
        at = float(np.mean(middles[group]))
        ways = {}
        for name, up in (("up", True), ("down", False)):
            ours = [steps[int(k)] for k in group if steps[int(k)].up == up]
            if not ours:
                lonely.append(f"{name} around {at:.0f} %")
                continue
            taus, errors = np.array([one.tau for one in ours]), np.array([one.tau_sigma for one in ours])
            scatter = float(np.std(taus, ddof=1)) / math.sqrt(taus.size) if taus.size > 1 else 0.0
            sigma = max(scatter, float(np.sqrt(np.sum(errors**2))) / taus.size, 0.1 * every)
            ways[name] = (1e3 * float(np.mean(taus)), 1e3 * sigma)
            note.add(f"63 % time {name} around {at:.0f} %", *ways[name], "ms")
        if len(ways) == 2:
            response.append(_row(at, ways))
    dead = np.array([one.dead for one in steps])
    sigma = math.hypot(
        float(np.std(dead, ddof=1)) / math.sqrt(dead.size) if dead.size > 1 else 0.0, 0.5 * every
    )
    note.add("dead time, with the delay of the speed's report", 1e3 * float(np.mean(dead)), 1e3 * sigma, "ms")
    note.rests.append(
        f"{len(steps)} steps, sampled every {1e3 * every:.2g} ms; the first row with the new throttle is the step"
    )
    if lonely:
        note.warnings.append(f"The craft file wants both ways at each throttle; lacking: {', '.join(lonely)}")
    if response:
        note.entries["esc.response"] = response[:12]
        if setup.craft is not None and float(setup.craft.esc.lag_ms) > 0.0:
            note.entries["esc.lag_ms"] = 0.0
            note.rests.append("esc.lag_ms becomes 0: the measured response holds it")


def _row(at: float, ways: dict[str, tuple[float, float]]) -> dict[str, object]:
    from quadsim.config.quantity import Uncertain

    return {
        "throttle_pct": round(at, 1),
        "tau_up_ms": Uncertain(*ways["up"]),
        "tau_down_ms": Uncertain(*ways["down"]),
    }


def _draw(note: Notebook, time: Array, rpm: Array, steps: list[Step]) -> None:
    for one in steps[:4]:
        since = 1e3 * (time[one.rows] - time[one.rows[0]])
        note.panels.append(
            Panel(
                f"{one.low:.0f} to {one.high:.0f} %" if one.up else f"{one.high:.0f} to {one.low:.0f} %", "after the step, ms",
                "rpm",
                since, rpm[one.rows], np.ones(since.size, dtype=bool), since, one.fitted, rpm[one.rows] - one.fitted, "rpm",
            )
        )  # fmt: skip
