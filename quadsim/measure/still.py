"""Noise of the inertial sensor from a log at rest, and what the motors add.

White noise N and bias instability B are read off the Allan deviation as IEEE Std 952-1997, annex C has it
(`quadsim.analysis.allan`); the craft file states the one-sided density, sqrt(2) N.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from quadsim.analysis.allan import (
    FLOOR,
    bias_instability,
    cluster_sizes,
    overlapping_allan_deviation,
    sampling_error,
    white_noise_density,
)
from quadsim.constants import G0
from quadsim.errors import InputError, Problem
from quadsim.measure.columns import Bench, Column
from quadsim.measure.result import BENCH_CAUTION, PROPELLER_CAUTION, Notebook, Panel, Result, Setup
from quadsim.units import DEG, HOUR

Array = NDArray[np.float64]
AXES = ("x", "y", "z")


def _axis(name: str, unit: str, most: float, other: tuple[tuple[str, float], ...]) -> tuple[Column, ...]:
    """The three columns of a sensor."""
    return tuple(
        Column(
            f"{name}_{axis}_{unit}", unit, -most, most, f"{name}, {axis} axis",
            also=tuple((f"{name}_{axis}_{ending}", factor) for ending, factor in other),
        )
        for axis in AXES
    )  # fmt: skip


COLUMNS = (
    Column("time_s", "s", -1e9, 1e9, "rising", required=True, also=(("time_ms", 1e-3), ("time_us", 1e-6))),
    *_axis("gyro", "deg_s", 20000.0, (("rad_s", 1.0 / DEG), ("mdeg_s", 1e-3))),
    *_axis("accel", "g", 500.0, (("m_s2", 1.0 / G0), ("mg", 1e-3))),
    Column("motors", "-", 0.0, 1.0, "0 motors off, 1 motors on"),
)

SHORTEST_S = 20.0
WHITE = (-0.62, -0.38)
"""Slopes of the Allan deviation that count as white noise; -1/2 is. Our choice."""
FLAT = 0.2
"""Slope at the floor up to which it counts as one. Our choice."""
FLOOR_WINDOW, LEAST_FLOOR_S = 4.0, 2.0
"""Greatest over least cluster time of the range where the floor is read, and the least time [s]. Our choice."""
FLOOR_SIGMA = 0.1
"""Relative uncertainty of a floor's level for where it is read, beside its scatter; assumed."""
ABOVE_WHITE = 1.5
"""A floor lies that many times above the line of the white noise at least. Our choice."""
WINDOW = 6.0
"""Greatest over least cluster time of the range where white noise is read. Our choice."""
UNFILTERED = 4
"""Samples of the least cluster time read: the sensor's own filter rounds shorter ones. Our choice."""
MOVED = 12.0
"""Step of a second's mean over what white noise would make of it from which something moved. Our choice."""


@dataclass(frozen=True)
class Sensor:
    """One of the two: unit of the log, factor and unit of the craft file for density and instability, and their keys."""

    name: str
    unit: str
    density: tuple[str, float, str]
    instability: tuple[str, float, str]
    resolution: tuple[float, str]


SENSORS = (
    Sensor("gyro", "deg_s",
           ("flight_controller.gyro.noise_density_one_sided_deg_s_rtHz", 1.0, "(deg/s)/sqrt(Hz)"),
           ("flight_controller.gyro.bias_instability_deg_h", HOUR, "deg/h"),
           (1.0, "deg/s")),
    Sensor("accel", "g",
           ("flight_controller.accelerometer.noise_density_one_sided_mg_rtHz", 1e3, "mg/sqrt(Hz)"),
           ("flight_controller.accelerometer.bias_instability_ug", 1e6, "ug"),
           (1e3, "mg")),
)  # fmt: skip


def measure_still(bench: Bench, setup: Setup) -> Result:
    """Work out a log at rest.

    Raises
    ------
    InputError
        when there is no sensor in it, its times do not rise, or it is too short.
    """
    note = Notebook("still", bench)
    sensors = [one for one in SENSORS if all(bench.has(f"{one.name}_{axis}_{one.unit}") for axis in AXES)]
    if not sensors:
        allowed = "needs gyro_x_deg_s, gyro_y_deg_s, gyro_z_deg_s or accel_x_g, accel_y_g, accel_z_g"
        raise InputError([Problem("", "has no sensor with three axes", allowed)], bench.source)
    rate = _rate(note, bench)
    on = bench.column("motors") > 0.5
    quiet = _longest(~on)
    seconds = (quiet.stop - quiet.start) / rate
    if seconds < SHORTEST_S:
        given = f"holds {seconds:.1f} s at rest in one piece"
        raise InputError(
            [Problem("", given, f"needs {SHORTEST_S:g} s, better an hour", "Log longer")], bench.source
        )
    for one in sensors:
        axes = [bench.column(f"{one.name}_{axis}_{one.unit}") for axis in AXES]
        if any(not np.isfinite(values).all() for values in axes):
            raise InputError(
                [Problem(f"columns {one.name}", "have empty cells", "a number in every row")], bench.source
            )
        _note_sensor(note, one, [values[quiet] for values in axes], rate)
        _note_motors(note, one, axes, on, quiet)
    note.rests.append(
        f"{seconds:.0f} s at rest at {rate:.5g} Hz; mean over three axes, their scatter in the uncertainty"
    )
    cautions = (BENCH_CAUTION, PROPELLER_CAUTION) if on.any() else (BENCH_CAUTION,)
    return note.result(setup.craft, cautions)


def _rate(note: Notebook, bench: Bench) -> float:
    """Samples per second; gaps are said."""
    time = bench.column("time_s")
    if time.size < 100:
        raise InputError([Problem("", f"has {time.size} rows", "needs 100 and more")], bench.source)
    step = np.diff(time)
    back = np.flatnonzero(step <= 0.0)
    if back.size:
        given = f"time_s does not rise at {bench.row(int(back[0]) + 1)} ({back.size} such rows)"
        raise InputError([Problem("", given, "must rise", "Log with more digits of time")], bench.source)
    usual = float(np.median(step))
    gaps = int(np.count_nonzero(step > 1.5 * usual))
    if gaps > 0.001 * time.size:
        note.warnings.append(
            f"{gaps} gaps in the times, the longest {1e3 * float(np.max(step)):.0f} ms: "
            "samples were dropped, the noise comes out wrong"
        )
    return float((time.size - 1) / (time[-1] - time[0])) if not gaps else 1.0 / usual


def _longest(wanted: NDArray[np.bool_]) -> slice:
    """The longest run of true."""
    edges = np.flatnonzero(np.diff(np.concatenate([[0], wanted.astype(int), [0]])))
    if edges.size == 0:
        return slice(0, 0)
    starts, ends = edges[::2], edges[1::2]
    k = int(np.argmax(ends - starts))
    return slice(int(starts[k]), int(ends[k]))


def _note_sensor(note: Notebook, one: Sensor, axes: list[Array], rate: float) -> None:
    """Noise of one sensor's three axes."""
    samples = axes[0].size
    clusters = cluster_sizes(samples)
    taus = clusters / rate
    deviations = [overlapping_allan_deviation(values, rate, clusters) for values in axes]
    _judge(note, one, axes, rate)
    found = [_white(taus, deviation, samples / rate, rate) for deviation in deviations]
    key, factor, unit = one.density
    known = [each for each in found if each is not None]
    if len(known) == 3:
        values = math.sqrt(2.0) * factor * np.array([value for value, _ in known])
        mean = math.sqrt(float(np.mean(values**2)))
        sigma = math.hypot(float(np.std(values, ddof=1)), mean * float(np.mean([e for _, e in known])))
        note.add(f"{one.name}: white noise, one-sided", mean, sigma, unit, key)
    else:
        note.warnings.append(
            f"{one.name}: no stretch of white noise in the Allan deviation: filtered in the log, or too coarse; "
            "log unfiltered samples"
        )
    level = float(np.mean([value for value, _ in known])) if known else 0.0
    _note_floor(note, one, taus, deviations, samples / rate, level)
    for axis, values in zip(AXES, axes, strict=True):
        note.add(
            f"{one.name} {axis}: mean at rest", float(np.mean(values)), 0.0, "deg/s" if one.name == "gyro" else "g0"
        )  # fmt: skip
    for axis, deviation, white in zip(AXES, deviations, found, strict=True):
        line = np.full(taus.size, math.nan) if white is None else white[0] / np.sqrt(taus)
        note.panels.append(
            Panel(
                f"Allan deviation, {one.name} {axis}", "cluster time, s", "deg/s" if one.name == "gyro" else "g0", taus,
                deviation, np.ones(taus.size, dtype=bool), taus, line, logarithmic=True,
            )
        )  # fmt: skip


def _white(taus: Array, deviation: Array, seconds: float, rate: float) -> tuple[float, float] | None:
    """N [unit/sqrt(Hz)] and its relative sampling error from the first range with the slope of white noise; None without."""
    first = UNFILTERED / rate
    while WINDOW * first < seconds / 9.0:
        read = white_noise_density(taus, deviation, seconds, (first, WINDOW * first))
        if WHITE[0] <= read.slope <= WHITE[1]:
            return read.value, read.sampling_error
        first *= 1.5
    return None


def _note_floor(
    note: Notebook, one: Sensor, taus: Array, deviations: list[Array], seconds: float, white: float
) -> None:
    """Bias instability, where the three axes together have come down to a floor above the white noise within the record.

    white : mean N of the axes [unit/sqrt(Hz)], 0 if not told
    """
    key, factor, unit = one.instability
    together = np.sqrt(np.mean(np.square(deviations), axis=0))
    best: tuple[float, float] | None = None
    for first in taus[(taus >= LEAST_FLOOR_S) & (FLOOR_WINDOW * taus <= seconds / 12.0)]:
        read = bias_instability(taus, together, seconds, (first, FLOOR_WINDOW * first))
        above = read.value * FLOOR > ABOVE_WHITE * white / math.sqrt(first * math.sqrt(FLOOR_WINDOW))
        if abs(read.slope) < FLAT and above and (best is None or read.value < best[1]):
            best = (float(first), read.value)
    if best is None:
        note.rests.append(
            f"{one.name}: no floor of the Allan deviation within {seconds / 12.0:.0f} s; "
            "bias instability needs a longer log, an hour or more"
        )
        return
    window = (best[0], FLOOR_WINDOW * best[0])
    values = factor * np.array([bias_instability(taus, each, seconds, window).value for each in deviations])
    mean, error = (
        float(np.sqrt(np.mean(values**2))),
        sampling_error(seconds, window[0] * math.sqrt(FLOOR_WINDOW)),
    )
    sigma = math.hypot(float(np.std(values, ddof=1)), mean * error, FLOOR_SIGMA * mean)
    note.add(f"{one.name}: bias instability", mean, sigma, unit, key)


def _judge(note: Notebook, one: Sensor, axes: list[Array], rate: float) -> None:
    """Resolution, repeated samples, and a craft that was moved."""
    factor, unit = one.resolution
    levels = [np.unique(values) for values in axes]
    if all(1 < each.size < 0.2 * axes[0].size for each in levels):
        steps = [float(np.min(np.diff(each))) for each in levels]
        note.add(f"{one.name}: step of the log", factor * float(np.median(steps)), 0.0, unit)
        if min(each.size for each in levels) < 4:
            note.warnings.append(
                f"{one.name}: fewer than four levels; the step hides the noise, log more digits"
            )
    same = float(np.mean(np.all([np.diff(values) == 0.0 for values in axes], axis=0)))
    if same > 0.2:
        note.warnings.append(
            f"{one.name}: {100.0 * same:.0f} % of the samples repeat the one before: the log runs faster than the sensor"
        )
    per_second = max(int(rate), 1)
    whole = axes[0].size // per_second
    for axis, values in zip(AXES, axes, strict=True):
        means = values[: whole * per_second].reshape(whole, per_second).mean(axis=1)
        spread = 1.4826 * float(np.median(np.abs(np.diff(values)))) / math.sqrt(2.0)
        if np.any(np.abs(np.diff(means)) > MOVED * max(spread / math.sqrt(per_second), 1e-12) + spread):
            note.warnings.append(
                f"{one.name} {axis}: jumps from one second to the next: something touched the craft"
            )


def _note_motors(note: Notebook, one: Sensor, axes: list[Array], on: NDArray[np.bool_], quiet: slice) -> None:
    """What the motors add, rms about the mean."""
    if np.count_nonzero(on) < 50:
        return
    unit = "deg/s" if one.name == "gyro" else "g0"
    for axis, values in zip(AXES, axes, strict=True):
        running, still = float(np.std(values[on])), float(np.std(values[quiet]))
        note.add(f"{one.name} {axis}: rms with the motors on", running, 0.0, unit)
        note.add(f"{one.name} {axis}: rms at rest", still, 0.0, unit)
