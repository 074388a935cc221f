"""The control chain at rest about an operating point: what every block has in its signals and memory there."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from controllers.contract import MEMORY_SIZE, SLOTS, Block, chain
from controllers.signals import SIGNALS, Mode, rows
from controllers.thrust import thrust_at
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
NEWTON, STEP = 3, 1e-4
"""Steps to what the allocator is asked for, of which a thrust curve takes one or two; and the differences [rad/s2, N]."""
FLAT = 1e9
"""Condition of the allocator's slopes from which it counts as at a limit."""
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
    asked = _asked_for(s, craft, blocks[4], gains[4], intervals[4] * h, point)
    _keep_truth(s, point, asked)
    fresh = _settle_estimate(s, memory[0], blocks[0], gains[0], craft, sensors, int(intervals[0]), h, point)
    for _ in range(CYCLES):
        for k in range(1, 5):
            s.dt = intervals[k] * h
            call = blocks[k].compiled if blocks[k].compiled is not None else blocks[k].function
            call(s, craft, gains[k], memory[k])
            _keep_truth(s, point, asked)
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


def _asked_for(s: Any, craft: Any, block: Block, gains: Array, dt: float, point: OperatingPoint) -> Array:
    """What the allocator is asked for where it gives the point's motor commands: roll, pitch, yaw [rad/s2] and thrust [N], (4,).

    Found on the allocator itself, from what its builder's thrust curve says of those commands at the pack's voltage, or at the
    nominal one for an allocator that does not look at it; the first stays where the allocator is at a limit. (Asked for the true
    thrust it would be at its limits wherever the craft is stronger than the builder believes.)
    """
    call, copy = block.compiled if block.compiled is not None else block.function, rows(SIGNALS)

    def given(asked: Array) -> Array:
        copy[0] = s
        one = copy[0]
        one.dt = dt
        one.angular_acceleration_wanted[:], one.thrust_wanted = asked[:3], asked[3]
        call(one, craft, gains, np.zeros(MEMORY_SIZE))
        return np.array(one.motor)

    nominal = float(craft.nominal_voltage)
    ratio = float(s.battery_voltage) / nominal if nominal > 0.0 else 1.0
    starts = [_by_the_curve(ratio**2, craft, point), _by_the_curve(1.0, craft, point)]
    found = (_solved(given, start, point.duty) for start in starts)
    return next((asked for asked in found if asked is not None), starts[0])


def _solved(given: Callable[[Array], Array], asked: Array, wanted: Array) -> Array | None:
    """Where `given` is as wanted, by Newton's method; None where it does not move, or does not come there."""
    for _ in range(NEWTON):
        steps = STEP * np.eye(4)
        slopes = np.column_stack([given(asked + one) - given(asked - one) for one in steps]) / (2.0 * STEP)
        if not np.linalg.cond(slopes) < FLAT:
            return None
        asked = asked - np.linalg.solve(slopes, given(asked) - wanted)
    return asked if np.allclose(given(asked), wanted, rtol=0.0, atol=1e-6) else None


def _by_the_curve(share: float, craft: Any, point: OperatingPoint) -> Array:
    """What the builder's thrust curve says that the point's motor commands give, (4,), see `_asked_for`; `share` of the thrust at
    the nominal voltage."""
    thrusts = [
        float(craft.max_thrust) * share * thrust_at(float(duty), float(craft.thrust_curve))
        for duty in point.duty
    ]
    asked = np.asarray(craft.effectiveness) @ thrusts
    return np.array([*asked[:3], max(float(asked[3]), 1e-3)])


def _keep_truth(s: Any, point: OperatingPoint, asked: Array) -> None:
    """Hold what the blocks hand on at the point: the chain is open here, and one that is not steady would run away."""
    s.rates_wanted[:] = 0.0
    s.angular_acceleration_wanted[:] = asked[:3]
    s.thrust_wanted = asked[3]
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
