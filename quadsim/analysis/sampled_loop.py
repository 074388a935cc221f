"""The whole loop, linear, as what it is: a sampled system that does the same again every few ticks. Its eigenvalues say whether
it is stable, exactly, where a frequency response has to assume it.

One period of all clocks is run tick by tick, in the flight loop's order, on the matrix of all states at once: each step is a
linear operation on rows. What comes out takes the states over a period (the monodromy matrix of Floquet's theory, e.g.
H. D'Angelo, Linear Time-Varying Systems, 1970; from memory).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import expm

from controllers.contract import SLOTS
from controllers.signals import Mode
from quadsim.analysis.craft_loops import CraftLoops
from quadsim.analysis.linear_plant import SIZE, L, Y
from quadsim.analysis.loop_hardware import MEASURED, VOLTAGE
from quadsim.sensors.place_records import Slow

Array = NDArray[np.float64]

LONGEST = 4000
"""Ticks of the longest period that is run; slow sensors whose clock would need more are rounded to it."""
NEUTRAL = 2e-3
"""Growth [1/s] up to which a mode counts as neither growing nor dying: place and heading that nothing holds drift, and central
differences are not exact."""


@dataclass(frozen=True)
class LoopModes:
    """Modes of the closed loop.

    growth : of each mode [1/s], negative when it dies out, greatest first
    stable : True when none grows
    """

    growth: Array
    stable: bool

    @property
    def doubling_s(self) -> float:
        """Time in which the fastest growing mode doubles [s]; infinite when stable."""
        return math.inf if self.stable else math.log(2.0) / float(self.growth[0])


def loop_modes(loops: CraftLoops) -> LoopModes:
    """Modes of the closed loop of a craft in a condition, all delays and rates as they are."""
    carrier = _Rows(loops)
    period = _period(loops)
    matrix = carrier.over(period)
    values = np.abs(np.linalg.eigvals(matrix))
    growth = np.log(np.maximum(values, 1e-300)) / (period * loops.bench.h)
    growth = np.sort(growth)[::-1]
    return LoopModes(growth, bool(growth[0] <= NEUTRAL))


def _period(loops: CraftLoops) -> int:
    """Ticks after which all clocks that matter stand as at the start."""
    every = [int(n) for n in loops.bench.rates.every]
    needed = [_imu_every(loops), *every, max(int(loops.bench.sensors.motor_every), 1)]
    period = math.lcm(*needed)
    for ticks in _slow_every(loops).values():
        if math.lcm(period, ticks) <= LONGEST:
            period = math.lcm(period, ticks)
    return period


def _imu_every(loops: CraftLoops) -> int:
    """Ticks between two inertial samples, to the nearest."""
    return max(round(loops.hardware.imu_period / loops.bench.h), 1)


def _slow_every(loops: CraftLoops) -> dict[Slow, int]:
    """Ticks between two samples of the slow sensors that the loop leans on, rounded to runs of the estimate."""
    used = [Slow.BAROMETER]
    if loops.condition.mode >= Mode.POSITION_HOLD:
        used += [Slow.SATELLITE]
    run, h = int(loops.bench.rates.every[0]), loops.bench.h
    periods = {kind: float(loops.hardware.slow_period[kind]) for kind in used}
    return {kind: max(round(p / h / run), 1) * run for kind, p in periods.items() if p > 0.0}


class _Rows:
    """All states of the loop as rows of a matrix that every tick works on."""

    def __init__(self, loops: CraftLoops) -> None:
        self.loops, hardware, h = loops, loops.hardware, loops.bench.h
        self.blocks = loops.chain.blocks
        self.delay = max(round(hardware.command_age / h), 1)
        self.imu_delay = max(round(hardware.imu_age / h), 0)
        self.size = 0
        self.plant = self._take(SIZE)
        self.line = [self._take(4) for _ in range(self.delay)]
        self.duty = self._take(4)
        self.smooth = self._take(6)
        self.mode, self.drive = self._take(6), self._take(3)
        self.inertial = [self._take(6) for _ in range(self.imu_delay + 1)]
        self.slow = self._take(len(MEASURED) - 6)
        self.baro, self.volts = self._take(1), self._take(1)
        self.kept = {slot: self._take(self.blocks[slot].a.shape[0]) for slot in SLOTS}
        self.where = {
            place: int(self.kept[slot][len(self.kept[slot]) - len(self.blocks[slot].outputs) + n])
            for slot in SLOTS
            for n, place in enumerate(self.blocks[slot].outputs)
        }
        self.turn = loops.plant.point.turn
        whole = expm(np.block([[loops.plant.a * h, loops.plant.b * h], [np.zeros((4, SIZE + 4))]]))
        self.ahead, self.driven = whole[:SIZE, :SIZE], whole[:SIZE, SIZE:]

    def _take(self, count: int) -> NDArray[np.intp]:
        self.size += count
        return np.arange(self.size - count, self.size)

    def over(self, ticks: int) -> Array:
        """The matrix that takes all states over so many ticks from one where all clocks stand at zero."""
        z = np.eye(self.size)
        for tick in range(ticks):
            self._tick(tick, z)
        return z

    def _tick(self, tick: int, z: Array) -> None:
        loops, hardware = self.loops, self.loops.hardware
        blend = hardware.motor_blend[:, None]
        z[self.duty] += blend * (z[self.line[0]] - z[self.duty])
        outputs = loops.plant.c @ z[self.plant] + loops.plant.d @ z[self.duty]
        self._sense(tick, outputs, z)
        if tick % int(loops.bench.rates.every[0]) == 0:
            z[self.volts] = hardware.voltage_scale * outputs[Y.VOLTAGE]
        for slot, every in zip(SLOTS, loops.bench.rates.every, strict=True):
            if tick % int(every) == 0:
                self._run(slot, z)
        for n in range(self.delay - 1):
            z[self.line[n]] = z[self.line[n + 1]]
        if tick % max(int(loops.bench.sensors.motor_every), 1) == 0 or self.delay == 1:
            z[self.line[-1]] = z[[self.where["motor", n] for n in range(4)]]
        z[self.plant] = self.ahead @ z[self.plant] + self.driven @ z[self.duty]

    def _sense(self, tick: int, outputs: Array, z: Array) -> None:
        """Inertial samples through filter and delay line; slow sensors held from sample to sample."""
        hardware = self.loops.hardware
        for n in range(self.imu_delay):
            z[self.inertial[n]] = z[self.inertial[n + 1]]
        if tick % _imu_every(self.loops) == 0:
            rate = hardware.gyro @ (outputs[Y.RATES : Y.RATES + 3] + self._flexible(z))
            push = hardware.accel @ outputs[Y.FORCE : Y.FORCE + 3]
            z[self.smooth[:3]] += hardware.gyro_blend * (rate - z[self.smooth[:3]])
            z[self.smooth[3:]] += hardware.accel_blend * (push - z[self.smooth[3:]])
        z[self.inertial[-1]] = z[self.smooth]
        for kind, every in _slow_every(self.loops).items():
            if tick % every == 0:
                self._sense_slowly(kind, outputs, z)

    def _flexible(self, z: Array) -> Array:
        """Rate of the flexible mode about each axis, advanced by one sample as in sensors/vibration.py."""
        share, s = self.loops.hardware.mode[2], self.loops.bench.sensors.mode_step
        if not np.any(share):
            return z[self.mode[3:]]
        plant, rates = self.loops.plant, slice(L.RATES, L.RATES + 3)
        now = -share[:, None] * (plant.a[rates] @ z[self.plant] + plant.b[rates] @ z[self.duty])
        angle, rate, before = z[self.mode[:3]], z[self.mode[3:]], z[self.drive]
        z[self.mode[:3]] = s[0] * angle + s[1] * rate + s[2] * before + s[3] * now
        z[self.mode[3:]] = s[4] * angle + s[5] * rate + s[6] * before + s[7] * now
        z[self.drive] = now
        return z[self.mode[3:]]

    def _sense_slowly(self, kind: Slow, outputs: Array, z: Array) -> None:
        if kind == Slow.BAROMETER:
            height = self.loops.hardware.height_read() @ outputs
            z[self.baro] += self.loops.hardware.baro_blend * (height - z[self.baro])
            z[self.slow[0]] = z[self.baro[0]]
        else:
            z[self.slow[1:7]] = self.loops.hardware.fix_read(self.turn) @ outputs

    def _run(self, slot: str, z: Array) -> None:
        model, kept = self.blocks[slot], self.kept[slot]
        if slot == "estimate":
            read = np.vstack([z[self.inertial[0]], z[self.slow]])
        else:
            where = {VOLTAGE: self.volts[0], **self.where}
            read = np.array([z[where[place]] for place in model.inputs])
            own = [n for n, place in enumerate(model.inputs) if place in model.outputs]
            read[own] = 0.0
        z[kept] = model.a @ z[kept] + model.b @ read
