"""A motor's speed constant, resistance and no-load current from speeds, voltages and currents on a bench.

Equivalent circuit: u V = n/Kv + i R, torque Q = kt (i - i0), kt = 60/(2 pi Kv), i0 growing with speed. M. Drela, First-Order
DC Electric Motor Model (MIT, 2007) and Second-Order DC Electric Motor Model (MIT, 2006; from memory). At part throttle the
ESC is a converter: the motor's current is its input current over the throttle u, as everywhere in quadsim.
"""

from __future__ import annotations

import contextlib
import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from quadsim.config.quantity import Uncertain
from quadsim.config.resolve_drive import COPPER_PER_K, NOMINAL_CELL, no_load
from quadsim.measure.columns import Bench
from quadsim.measure.least_squares import Fit, UndeterminedError, linear
from quadsim.measure.motor_fit import at_least, power_balance, voltage_law
from quadsim.measure.result import Notebook, Panel, Setup
from quadsim.units import MILLI, RPM, torque_constant

Array = NDArray[np.float64]

FEWEST = 3
"""Rows from which the circuit is fitted: two unknowns and one to see whether they hold. Our choice."""
WIDEST = 0.5
"""Relative standard error from which a number counts as not told. Our choice."""
WINDING_SIGMA_K = 15.0
"""Standard uncertainty of the winding's temperature on a bench [K]; assumed."""
AMPERE_STEP = 0.02
"""Standard uncertainty of a small current from the meter's last digit and its zero [A]; assumed."""
READING = 0.003
"""Least relative scatter of a row about the voltage law: three rows that agree by chance prove nothing; assumed."""
SPREAD = 1.3
"""Greatest over least speed below which rows count as one load. Our choice."""
TORQUE_GAP = 0.05
"""Disagreement of the torque constant by torque with that by speed from which it is said. Our choice."""
OFFSET_SHARE = 0.02
"""Intercept of the voltage law over the mean voltage from which throttle is no share of the voltage. Our choice."""


@dataclass(frozen=True)
class Runs:
    """Rows with throttle (0..1), speed [rpm], motor current [A], voltage [V], torque [N m] or NaN; their place in the table, and
    which of them ran without a propeller."""

    index: NDArray[np.int64]
    throttle: Array
    rpm: Array
    current: Array
    voltage: Array
    torque: Array
    bare: NDArray[np.bool_]


def runs_of(bench: Bench, setup: Setup, bare: NDArray[np.bool_], usable: NDArray[np.bool_]) -> Runs:
    """The rows that the circuit can be fitted to."""
    throttle = bench.column("throttle_pct") / 100.0
    rpm, current, voltage = (bench.column(name) for name in ("rpm", "current_A", "voltage_V"))
    whole = usable & (throttle > 0.0) & (rpm > 0.0) & (current > 0.0) & (voltage > 0.0)
    k = np.flatnonzero(whole)
    motor = current[k] / throttle[k] if setup.current_at == "esc input" else current[k]
    return Runs(k, throttle[k], rpm[k], motor, voltage[k], bench.column("torque_Nm")[k], bare[k])


def note_motor(note: Notebook, bench: Bench, setup: Setup, runs: Runs) -> None:
    """Fit what the rows can tell of the motor and note it, or say why they cannot."""
    if runs.index.size == 0:
        if bench.has("torque_Nm") and bench.has("current_A") and bench.has("voltage_V") and bench.has("rpm"):
            _note_balance(note, bench, setup)
        return
    told = _note_circuit(note, setup, runs)
    if told is None:
        return
    per_kv, resistance, sigma = told
    kt = torque_constant(1.0 / per_kv)
    if runs.bare.any():
        _note_bare(note, setup, runs, resistance)
    elif np.isfinite(runs.torque).any():
        _note_torque(note, setup, runs, kt, resistance, sigma)
    else:
        note.warnings.append(
            "The no-load current stays open: run without a propeller, thrust_g empty, at two voltages; or measure torque"
        )


def _note_circuit(note: Notebook, setup: Setup, runs: Runs) -> tuple[float, float, float] | None:
    """1/Kv [V/rpm], resistance of the whole circuit [ohm] and relative standard uncertainty of Kv, noted; None if not told."""
    stated = _stated_resistance(setup)
    applied = runs.throttle * runs.voltage
    loaded = np.count_nonzero(~runs.bare)
    fit: Fit | None = None
    if loaded:
        with contextlib.suppress(UndeterminedError):
            fit = at_least(voltage_law(runs.throttle, runs.voltage, runs.rpm, runs.current), READING)
        if fit is None or fit.freedom < 1 or fit.sigmas[1] > WIDEST * abs(fit.values[1]):
            _say_not_told(note, runs, fit)
            if not runs.bare.any():
                return None
            fit = None
    if fit is not None and fit.values[1] <= 0.0:
        note.warnings.append(
            f"The rows give a resistance of {1e3 * fit.values[1]:.0f} mohm, which cannot be: "
            "throttle_pct is no share of the voltage here, or the current was measured elsewhere (--current-at)"
        )
        return None
    if fit is not None:
        return _written_circuit(note, setup, runs, fit)
    resistance = stated or 0.0
    sound = runs.bare
    emf = applied[sound] - resistance * runs.current[sound]
    one = linear(runs.rpm[sound][:, None], emf, 1.0 / emf)
    per_kv = float(one.values[0])
    relative = (
        math.hypot(one.sigmas[0] / per_kv if one.freedom else 0.0, setup.meter_pct / 100.0) if per_kv else 0.0
    )
    note.add("speed constant", 1.0 / per_kv, relative / per_kv, "rpm/V", "motor.kv_rpm_per_V")
    note.rests.append(
        f"Speed constant from {np.count_nonzero(sound)} rows without a propeller"
        + (
            ", the craft file's resistance"
            if stated is not None
            else "; the drop in the winding was left out"
        )
    )
    _draw_circuit(note, runs, per_kv, resistance, np.ones(runs.index.size, dtype=bool))
    return per_kv, resistance, relative


def _say_not_told(note: Notebook, runs: Runs, fit: Fit | None) -> None:
    """Why speed constant and resistance are not told: too little spread, or rows that do not follow the law."""
    count = f"{runs.index.size} row{'s' if runs.index.size > 1 else ''}"
    if fit is None or fit.freedom < 1 or float(np.max(runs.rpm)) < SPREAD * float(np.min(runs.rpm)):
        note.warnings.append(
            f"Speed constant and resistance cannot be told apart by {count} at about one load: "
            "run three throttles and more, far apart, or a row without a propeller (thrust_g empty)"
        )
        return
    note.warnings.append(
        f"The resistance is not told: {count} lie {100.0 * fit.sigma:.1f} % off the motor's voltage law"
    )
    _judge_throttle(note, runs, fit)


def _written_circuit(note: Notebook, setup: Setup, runs: Runs, fit: Fit) -> tuple[float, float, float]:
    """The fitted circuit, noted."""
    per_kv, resistance = (float(v) for v in fit.values)
    meter = setup.meter_pct / 100.0
    relative = math.hypot(fit.sigmas[0] / per_kv, meter)
    note.add("speed constant", 1.0 / per_kv, relative / per_kv, "rpm/V", "motor.kv_rpm_per_V")
    sigma = math.hypot(float(fit.sigmas[1]), math.sqrt(2.0) * meter * resistance)
    note.add("resistance of motor and ESC, as warm as it was", 1e3 * resistance, 1e3 * sigma, "mohm")
    note.rests.append(
        f"u V = n/Kv + i R over {np.count_nonzero(fit.kept)} rows, {100.0 * fit.sigma:.1f} % left over; "
        f"meters {setup.meter_pct:g} % (--meter-pct), currents at the {setup.current_at}"
    )
    for k in np.flatnonzero(~fit.kept):
        note.leave_out(
            int(runs.index[k]),
            f"off the motor's voltage law by {100.0 * fit.residuals[k] / (runs.throttle[k] * runs.voltage[k]):+.1f} %",
        )
    if setup.craft is not None:
        warm = 1.0 + COPPER_PER_K * (setup.winding_C - 20.0)
        esc = setup.craft.esc.resistance_mohm
        cold = (1e3 * resistance - esc) / warm
        spread = math.hypot(
            1e3 * sigma / warm, esc.sigma / warm, cold * COPPER_PER_K * WINDING_SIGMA_K / warm
        )
        note.add(
            "resistance of the winding at 20 deg C", cold, spread, "mohm", "motor.resistance_mohm", cold > 0.0
        )
        note.rests.append(
            f"ESC {float(esc):g} mohm from the craft file, winding at {setup.winding_C:g} deg C (--winding-C)"
        )
        if cold <= 0.0:
            note.warnings.append("The ESC of the craft file alone has more resistance than the whole circuit")
    else:
        note.rests.append("The winding's share of the resistance needs the ESC's: name the craft (--craft)")
    _judge_throttle(note, runs, fit)
    _draw_circuit(note, runs, per_kv, resistance, fit.kept)
    return per_kv, resistance, relative


def _judge_throttle(note: Notebook, runs: Runs, fit: Fit) -> None:
    """Say so when a constant in the voltage law explains much: then throttle is no share of the supply's voltage."""
    kept = fit.kept
    if np.count_nonzero(kept) < 5:
        return
    applied = runs.throttle[kept] * runs.voltage[kept]
    design = np.column_stack([runs.rpm[kept], runs.current[kept], np.ones(applied.size)])
    try:
        offset = linear(design, applied, 1.0 / applied)
    except UndeterminedError:
        return
    value, sigma = float(offset.values[2]), float(offset.sigmas[2])
    if abs(value) > 3.0 * sigma and abs(value) > OFFSET_SHARE * float(np.mean(applied)):
        note.warnings.append(
            f"A constant {value:+.2f} V would fit the rows better: this ESC's throttle is not quite the share of the voltage. "
            "Take full throttle and several supply voltages, or trust the speed constant less"
        )


def _draw_circuit(
    note: Notebook, runs: Runs, per_kv: float, resistance: float, kept: NDArray[np.bool_]
) -> None:
    emf = runs.throttle * runs.voltage - resistance * runs.current
    line = np.array([0.0, float(np.max(runs.rpm))])
    note.panels.append(
        Panel(
            "Voltage behind the resistance", "speed, rpm", "V", runs.rpm, emf, kept, line, per_kv * line,
            emf - per_kv * runs.rpm, "V",
        )
    )  # fmt: skip


def _stated_resistance(setup: Setup) -> float | None:
    """Resistance of motor and ESC in the craft file, warm as on the bench [ohm]."""
    if setup.craft is None:
        return None
    warm = 1.0 + COPPER_PER_K * (setup.winding_C - 20.0)
    return float(setup.craft.motor.resistance_mohm * warm + setup.craft.esc.resistance_mohm) * MILLI


def _note_bare(note: Notebook, setup: Setup, runs: Runs, resistance: float) -> None:
    """No-load current from rows without a propeller; how much of it grows with speed from two speeds and more."""
    k = np.flatnonzero(runs.bare)
    current, applied = runs.current[k], runs.throttle[k] * runs.voltage[k]
    emf = applied - resistance * current
    expected = np.hypot(setup.meter_pct / 100.0 * current, AMPERE_STEP)
    top = int(np.argmax(emf))
    spread = float(np.max(emf) / np.min(emf)) if np.min(emf) > 0.0 else 1.0
    volts = float(applied[top])
    if k.size < 2 or spread < 1.3:
        mean, sigma = float(np.mean(current)), float(np.mean(expected)) / math.sqrt(k.size)
        _write_no_load(note, setup, mean, sigma, float(np.mean(applied)))
        note.rests.append(
            f"No-load current from {k.size} row{'s' if k.size > 1 else ''} at about one speed; "
            "a second voltage would tell how it grows with speed"
        )
        return
    design = np.column_stack([np.ones(k.size), emf / emf[top]])
    fit = linear(design, current, 1.0 / expected)
    inverse = np.linalg.inv((design / expected[:, None]).T @ (design / expected[:, None]))
    grown = max(fit.sigma, 1.0) if fit.freedom else 1.0
    covariance = inverse * grown**2
    still, growth = float(fit.values[0]), float(fit.values[1])
    total = still + growth
    sigma = math.sqrt(float(covariance.sum()))
    _write_no_load(note, setup, total, sigma, volts)
    share = growth / total
    slope = np.array([-growth, still]) / total**2
    share_sigma = math.sqrt(float(slope @ covariance @ slope))
    inside = -0.02 <= share <= 1.02
    note.add(
        "part of it that grows with speed", 100.0 * min(max(share, 0.0), 1.0), 100.0 * share_sigma, "%",
        "motor.no_load_iron_pct", inside,
    )  # fmt: skip
    if not inside:
        note.warnings.append("The no-load current does not grow with speed as friction and iron loss do")
    note.rests.append(f"No-load current from {k.size} rows without a propeller, speeds 1 to {spread:.1f}")


def _write_no_load(note: Notebook, setup: Setup, current: float, sigma: float, volts: float) -> None:
    """The no-load current at a voltage, beside what the craft file's motor has at the same voltage."""
    if setup.craft is not None:
        motor, cells = setup.craft.motor, setup.craft.battery.cells
        still, growth = no_load(motor, NOMINAL_CELL * cells)
        speed = (volts - current * motor.resistance_mohm * MILLI) / torque_constant(motor.kv_rpm_per_V)
        had = still + growth * speed
        share = motor.no_load_current_A.sigma / max(float(motor.no_load_current_A), 1e-9)
        note.before["motor.no_load_current_A"] = Uncertain(had, share * had)
        note.before["motor.no_load_V"] = None
    note.add("no-load current", current, sigma, "A", "motor.no_load_current_A")
    note.entries["motor.no_load_measured_at"] = "motor"
    note.add("voltage across the motor in that test", volts, 0.0, "V", "motor.no_load_V")


def _note_torque(
    note: Notebook, setup: Setup, runs: Runs, kt: float, resistance: float, relative: float
) -> None:
    """No-load current as what the torque leaves of the current, and whether torque and speed tell one torque constant."""
    k = np.flatnonzero(np.isfinite(runs.torque) & (runs.torque > 0.0))
    if k.size < FEWEST:
        return
    lost = runs.current[k] - runs.torque[k] / kt
    meter = setup.meter_pct / 100.0
    current = float(np.mean(lost))
    scatter = float(np.std(lost, ddof=1)) / math.sqrt(k.size)
    sigma = math.hypot(
        scatter, relative * float(np.mean(runs.torque[k] / kt)), meter * float(np.mean(runs.current[k]))
    )
    speed = float(np.mean(runs.rpm[k])) * RPM
    if current > 0.0 and sigma < WIDEST * current:
        _write_no_load(note, setup, current, sigma, kt * speed + resistance * current)
        note.rests.append(f"No-load current as what torque leaves of the current, mean of {k.size} rows")
    else:
        note.add("no-load current", current, sigma, "A", "motor.no_load_current_A", write=False)
        note.warnings.append(
            f"The no-load current, {current:.2f} +- {sigma:.2f} A as what torque leaves of the current, is not told: "
            "run the motor without a propeller (thrust_g empty)"
        )
    slope = linear(np.column_stack([runs.torque[k], np.ones(k.size)]), runs.current[k], 1.0 / runs.current[k])
    ratio = float(1.0 / slope.values[0]) / kt
    note.add("torque per ampere over that of the speed constant", ratio, ratio * math.hypot(
        float(slope.sigmas[0] / slope.values[0]) if slope.freedom else 0.0, relative, math.sqrt(2.0) * meter), "-")  # fmt: skip
    if abs(ratio - 1.0) > TORQUE_GAP:
        note.warnings.append(
            f"Torque per ampere is {100.0 * (ratio - 1.0):+.0f} % off what the speed constant says: "
            "check the torque arm, where the current was measured, and whether throttle is the share of the voltage"
        )


def _note_balance(note: Notebook, bench: Bench, setup: Setup) -> None:
    """Without throttle: losses from input power, torque and speed."""
    rpm, torque = bench.column("rpm"), bench.column("torque_Nm")
    power = bench.column("current_A") * bench.column("voltage_V")
    k = np.flatnonzero((rpm > 0.0) & (torque > 0.0) & (power > 0.0))
    if k.size < FEWEST or setup.current_at != "esc input":
        return
    try:
        fit = power_balance(rpm[k], torque[k], power[k])
    except UndeterminedError:
        note.warnings.append("Losses cannot be told from rows at one speed: run three speeds and more")
        return
    lost, copper = (float(v) for v in fit.values)
    if lost <= 0.0 or copper <= 0.0 or fit.sigmas[1] > WIDEST * copper:
        note.warnings.append("Input power, torque and speed do not tell the losses of motor and ESC apart")
        return
    note.add("torque lost at the mean speed", 1e3 * lost, 1e3 * float(fit.sigmas[0]), "mN m")
    note.add(
        "motor constant of motor and ESC, kt/sqrt(R)", copper**-0.5, 0.5 * copper**-1.5 * float(fit.sigmas[1]), "N m/sqrt(W)"
    )  # fmt: skip
    note.rests.append(
        f"Power balance over {k.size} rows without throttle; half of the lost torque grows with speed, assumed"
    )
    if setup.craft is None:
        note.rests.append("Resistance and no-load current need the speed constant: name the craft (--craft)")
        return
    kt = torque_constant(setup.craft.motor.kv_rpm_per_V)
    relative = setup.craft.motor.kv_rpm_per_V.sigma / setup.craft.motor.kv_rpm_per_V
    current, total = lost / kt, copper * kt**2
    _write_no_load(
        note, setup, current, current * math.hypot(float(fit.sigmas[0]) / lost, relative), kt * float(np.mean(rpm[k])) * RPM
    )  # fmt: skip
    sigma = total * math.hypot(float(fit.sigmas[1]) / copper, 2.0 * relative)
    warm = 1.0 + COPPER_PER_K * (setup.winding_C - 20.0)
    cold = (1e3 * total - setup.craft.esc.resistance_mohm) / warm
    note.add(
        "resistance of the winding at 20 deg C", cold, 1e3 * sigma / warm, "mohm", "motor.resistance_mohm", cold > 0.0
    )  # fmt: skip
