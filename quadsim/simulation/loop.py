"""The flight loop: one tick after another, resumable at any tick, the same bits whatever the chunks.

Order within a tick: what is in force (motor commands, wind), the derivative, what is sensed from it, the control
chain, the log, the step. A command computed in a tick is in force one tick later at the earliest.
"""

from __future__ import annotations

import math

import numpy as np

from controllers.contract import Chain
from controllers.signals import BUILDER, SIGNALS
from quadsim.dynamics.derivative import derivative, refresh_held
from quadsim.dynamics.drive import hold_circuit
from quadsim.dynamics.motor_heat import warm_drive
from quadsim.dynamics.records import GUSTS, HELD, PLANT, WIND
from quadsim.dynamics.rigid_body import stop_blocked
from quadsim.dynamics.state import SIZE, X
from quadsim.environment.wind import wind_at
from quadsim.integrators.fixed_step import make_rk4, make_semi_implicit
from quadsim.jit import BOOLEAN, INTEGER, JIT, MATRIX, as_block, inner, kernel, record_type, rows_type
from quadsim.kinematics.quaternion import renormalise
from quadsim.sensors.inertial import read_inertial, sense_inertial
from quadsim.sensors.records import RING, SENSORS
from quadsim.sensors.slow import serve_slow_sensors
from quadsim.sensors.telemetry import read_power
from quadsim.simulation.carried import CARRIED, CLOCK, MOTION, Status
from quadsim.simulation.columns import TRUTH
from quadsim.simulation.command_path import command_motors, read_commands
from quadsim.simulation.log_row import write_row
from quadsim.simulation.watch import watch
from quadsim.simulation.watch_safety import watch_safety

HOLD_LOOKS = 2
"""Looks (one per millisecond) between two refreshes of what is held of rotors and battery. It is taken for the middle of that
time: against DOP853 that costs 7e-6 m in 0.6 s of a gust, where holding the present for one look cost 4e-5 m."""
TUMBLING = 25.0
"""Square of the angular rate beyond which it is renewed at every tick [rad2/s2]: the advance ratios then move too fast for a
straight line."""

_places = np.zeros(SIZE, np.bool_)
_places[X.POSITION : X.POSITION + 3] = True
_places[X.QUATERNION : X.QUATERNION + 4] = True
_places[X.LOAD_POSITION : X.LOAD_POSITION + 3] = True
rk4_step = make_rk4(derivative)
semi_implicit_step = make_semi_implicit(derivative, _places)


@inner
def renew(t, look, since, turning, x, winds, gusts, wind, carried, held, plant):
    """What is held over some ticks: the wind, warmth at looks (`look` >= 0, `since` the last one [s]), and every so often the
    rotors and the battery; `turning` is the square of the angular rate [rad2/s2]."""
    north, east, height = x[X.POSITION], x[X.POSITION + 1], -x[X.POSITION + 2]
    vn, ve, vd = x[X.VELOCITY], x[X.VELOCITY + 1], x[X.VELOCITY + 2]
    wind_at(t, look, north, east, height, vn, ve, vd, winds, gusts, wind, carried, held)
    if look >= 0:
        warm_drive(look, since, x, held, plant)
    stop_blocked(x, held, plant)
    if turning > TUMBLING:
        refresh_held(x, 0.0, held, plant)
    elif look % HOLD_LOOKS == 0 or held.cell[0] == 0.0:
        refresh_held(x, 0.5, held, plant)


@inner
def finite4(values):
    """True when all four numbers are finite."""
    return math.isfinite(values[0] + values[1] + values[2] + values[3])


@inner
def finite3(values):
    """True when all three numbers are finite."""
    return math.isfinite(values[0] + values[1] + values[2])


FLY = None
if JIT:
    _records = [
        record_type(d) for d in (MOTION, HELD, PLANT, SENSORS, CARRIED, CLOCK, SIGNALS, BUILDER, WIND)
    ]
    _logs = [rows_type(d) for d in (GUSTS, TRUTH, SIGNALS)]
    FLY = INTEGER(*_records, MATRIX, MATRIX, Chain, MATRIX, MATRIX, *_logs, INTEGER, BOOLEAN)


@kernel(signature=FLY, nogil=True)
def fly_ticks(
    motion, held, plant, sensors, carried, clock, signals, builder, wind, gains, memory, chain, commands, winds, gusts, truth,
    heard, ticks, stepping,
):  # fmt: skip
    """Fly up to `ticks` ticks, fewer when the flight ends or the log is full; returns how many were flown.

    With `stepping` False everything of a tick is done but the step itself: the caller advances the state (adaptive
    solvers do).
    """
    estimate, guide, attitude = as_block(chain[0]), as_block(chain[1]), as_block(chain[2])
    rate, allocate = as_block(chain[3]), as_block(chain[4])
    g0, g1, g2, g3, g4 = gains[0], gains[1], gains[2], gains[3], gains[4]
    m0, m1, m2, m3, m4 = memory[0], memory[1], memory[2], memory[3], memory[4]
    e0, e1, e2, e3, e4 = clock.every[0], clock.every[1], clock.every[2], clock.every[3], clock.every[4]
    refresh_every = clock.refresh_every
    h, x, k1, k, y, total = clock.h, motion.x, motion.k1, motion.k, motion.y, motion.total
    flown = 0
    while flown < ticks and carried.rows < truth.shape[0]:
        tick = carried.tick
        t = tick * h
        looking = tick % refresh_every == 0
        command_motors(tick, looking, sensors, carried, held)
        turning = x[X.RATES] ** 2 + x[X.RATES + 1] ** 2 + x[X.RATES + 2] ** 2
        if looking or turning > TUMBLING or held.cell[0] == 0.0:
            look = tick // refresh_every if looking else -1
            renew(t, look, h * refresh_every, turning, x, winds, gusts, wind, carried, held, plant)
        hold_circuit(held, plant)
        derivative(t, x, held, plant, k1)
        if looking:
            watch(x, held, plant, carried)
            watch_safety(signals, carried)
        while tick >= carried.imu_due:
            sense_inertial(x, k1, held, plant, sensors, carried)
        if tick >= carried.slow_due:
            serve_slow_sensors(tick, h, x, held, plant, sensors, carried, signals)
        signals.t = t
        if tick % e0 == 0:
            read_inertial(tick, sensors, carried, signals)
            signals.dt = h * e0
            read_power(signals.dt, held, sensors, signals)
            estimate(signals, builder, g0, m0)
            if not (finite4(signals.attitude) and finite3(signals.rates) and math.isfinite(signals.height)):
                carried.status, carried.failed_block = Status.BLOCK_NOT_FINITE, 0
        if tick % e1 == 0:
            read_commands(tick, commands, clock, signals)
            signals.dt = h * e1
            guide(signals, builder, g1, m1)
            if not (finite4(signals.attitude_wanted) and math.isfinite(signals.thrust_wanted)):
                carried.status, carried.failed_block = Status.BLOCK_NOT_FINITE, 1
        if tick % e2 == 0:
            signals.dt = h * e2
            attitude(signals, builder, g2, m2)
            if not finite3(signals.rates_wanted):
                carried.status, carried.failed_block = Status.BLOCK_NOT_FINITE, 2
        if tick % e3 == 0:
            signals.dt = h * e3
            rate(signals, builder, g3, m3)
            if not finite3(signals.angular_acceleration_wanted):
                carried.status, carried.failed_block = Status.BLOCK_NOT_FINITE, 3
        if tick % e4 == 0:
            signals.dt = h * e4
            allocate(signals, builder, g4, m4)
            if not finite4(signals.motor):
                carried.status, carried.failed_block = Status.BLOCK_NOT_FINITE, 4
        if tick % clock.log_every == 0 or carried.status != Status.FLYING:
            write_row(t, x, held, plant, carried, truth[carried.rows])
            heard[carried.rows] = signals
            carried.rows += 1
        if carried.status != Status.FLYING:
            break
        slot = (tick + 1) % RING
        for i in range(4):
            carried.motor_line[slot, i] = min(max(signals.motor[i], 0.0), 1.0)
        if stepping:
            if clock.semi_implicit == 1:
                semi_implicit_step(t, x, held, plant, h, k1, k, y, total)
            else:
                rk4_step(t, x, held, plant, h, k1, k, y, total)
            renormalise(x, X.QUATERNION)
        carried.tick += 1
        flown += 1
    return flown
