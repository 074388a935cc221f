"""The control chain at rest about an operating point: what every block has in its signals and memory there."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from controllers.contract import MEMORY_SIZE, SLOTS, Block, chain
from controllers.signals import SIGNALS, Mode, rows
from quadsim.analysis.linear_block import Rest
from quadsim.analysis.operating_point import OperatingPoint
from quadsim.analysis.rest_run import rest_runs
from quadsim.dynamics.state import X
from quadsim.kinematics.quaternion import rotation_matrix
from quadsim.sensors.place_records import Slow

Array = NDArray[np.float64]

COUNTERS = {
    "baro_count": Slow.BAROMETER,
    "gnss_count": Slow.SATELLITE,
    "mag_count": Slow.MAGNETOMETER,
    "range_count": Slow.RANGEFINDER,
}
SETTLE_S = 20.0
"""Time the estimate runs before it counts as at rest [s]: a Kalman filter's gains have settled."""
CYCLES = 30
"""Runs of the others: their references stand where the craft is from the first."""


@dataclass(frozen=True)
class ChainRest:
    """rest : of each slot; fresh : of the estimate before a run with a new sample: counter -> (Rest, every how many runs)."""

    rest: dict[str, Rest]
    fresh: dict[str, tuple[Rest, int]]


def chain_at_rest(
    blocks: tuple[Block, ...], gains: Array, craft: Any, sensors: Any, intervals: NDArray[np.int64], h: float,
    point: OperatingPoint, mode: Mode,
) -> ChainRest:  # fmt: skip
    """The five blocks standing still at an operating point.

    Parameters
    ----------
    blocks, gains : five blocks; gains (5, GAINS_SIZE)
    craft, sensors : BUILDER and SENSORS records
    intervals : ticks between runs of each block, (5,); `h` length of a tick [s]
    mode : response type in force
    """
    s, memory = rows(SIGNALS)[0], np.zeros((5, MEMORY_SIZE))
    _show(s, craft, point, mode)
    fresh = _settle_estimate(s, memory[0], blocks[0], gains[0], craft, sensors, int(intervals[0]), h, point)
    for _ in range(CYCLES):
        for k in range(1, 5):
            s.dt = intervals[k] * h
            call = blocks[k].compiled if blocks[k].compiled is not None else blocks[k].function
            call(s, craft, gains[k], memory[k])
            _keep_truth(s, point)
    if not point.steady:
        s.accel[:] = np.asarray(point.held.force) / float(point.plant.mass)
    rest = {slot: Rest(_numbers(s), memory[k].copy()) for k, slot in enumerate(SLOTS)}
    return ChainRest(rest, fresh)


def _numbers(s: Any) -> Array:
    """A signals record as an array of its numbers."""
    return np.frombuffer(s.tobytes(), np.float64).copy()


def _show(s: Any, craft: Any, point: OperatingPoint, mode: Mode) -> None:
    """What sensors, sticks and the estimate say while the craft flies as at the point, over the take-off place."""
    x = point.x
    s.armed = s.airborne = s.link = s.attitude_weight = s.gnss_fix = 1.0
    s.position_known = s.heading_known = 1.0
    s.mode = s.mode_in_force = mode
    s.attitude[:] = s.attitude_wanted[:] = x[X.QUATERNION : X.QUATERNION + 4]
    turn = np.array(rotation_matrix(*x[X.QUATERNION : X.QUATERNION + 4])).reshape(3, 3)
    s.accel[:] = turn.T @ np.array([0.0, 0.0, -float(point.plant.gravity)])
    s.magnetic_field[:] = turn.T @ np.asarray(craft.local_field)
    s.baro_height = s.height = s.target_height = -x[X.POSITION + 2]
    s.gnss_position[2] = s.position[2] = x[X.POSITION + 2]
    s.target_roll, s.target_pitch = point.euler
    s.stick[3] = 0.5
    s.battery_voltage, s.battery_current = point.held.battery_voltage, point.held.battery_current
    s.rotor_speed[:], s.motor[:] = x[X.ROTORS : X.ROTORS + 4], point.duty
    s.thrust_wanted = max(point.thrust, 1e-3)


def _keep_truth(s: Any, point: OperatingPoint) -> None:
    """Hold what the blocks hand on at the point: the chain is open here, and one that is not steady would run away."""
    s.thrust_wanted = max(point.thrust, 1e-3)
    s.rates_wanted[:] = s.angular_acceleration_wanted[:] = 0.0
    s.motor[:] = point.duty
    s.unallocated[:] = 0.0


def _settle_estimate(
    s: Any, memory: Array, block: Block, gains: Array, craft: Any, sensors: Any, interval: int, h: float,
    point: OperatingPoint,
) -> dict[str, tuple[Rest, int]]:  # fmt: skip
    """Run the estimate until it rests; returns how it stands before a run with a new sample of each slow sensor."""
    s.dt = interval * h
    every = np.array([_runs_between(sensors, kind, interval) for kind in COUNTERS.values()], np.int64)
    place = [*point.x[X.QUATERNION : X.QUATERNION + 4], s.height, 0.0, 0.0, -s.height]
    kept, entry, done = np.array(place), chain((block,))[0], 0

    def run_to(last: int) -> None:
        nonlocal done
        rest_runs(entry, done, last - done, every, s, craft, gains, memory, kept)
        done = last

    run_to(round(SETTLE_S / s.dt))
    fresh = {}
    for counter, runs in zip(COUNTERS, every, strict=True):
        if runs > 0:
            run_to((done // runs + 1) * int(runs))
            fresh[counter] = (Rest(_numbers(s), memory.copy()), int(runs))
    run_to(next(n for n in range(done + 1, done + 1000) if all(n % int(runs) for runs in every if runs > 1)))
    return fresh


def _runs_between(sensors: Any, kind: int, every: int) -> int:
    """Runs of the estimate, each `every` ticks, from one sample of a slow sensor to the next; 0 where the craft has none."""
    ticks = float(sensors.slow_every[kind])
    return max(round(ticks / every), 1) if ticks else 0
