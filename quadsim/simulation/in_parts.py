"""The loop's kernels in parts, which several processes compile at the same time.

The calls are those of `fly_ticks`, with the same types. No part is ever run: what counts is that the compiler keeps every
kernel that they call, where it finds them when it compiles the loop itself. A call that is missing here costs time, no more.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any

from controllers.signals import SIGNALS
from quadsim.dynamics.derivative import derivative, refresh_held
from quadsim.dynamics.drive import hold_circuit
from quadsim.dynamics.motor_heat import warm_drive
from quadsim.dynamics.records import GUSTS, HELD, PLANT, WIND
from quadsim.environment.wind import wind_at
from quadsim.jit import INTEGER, MATRIX, kernel, record_type, rows_type
from quadsim.sensors.inertial import read_inertial, sense_inertial
from quadsim.sensors.records import SENSORS
from quadsim.sensors.slow import serve_slow_sensors
from quadsim.sensors.telemetry import read_power
from quadsim.simulation.carried import CARRIED, CLOCK, MOTION
from quadsim.simulation.columns import TRUTH
from quadsim.simulation.command_path import command_motors
from quadsim.simulation.log_row import write_row
from quadsim.simulation.watch import watch
from quadsim.simulation.watch_safety import watch_safety


def derivative_part(motion, held, plant, sensors, carried, clock, signals, wind, winds, gusts, truth):
    """What moves the craft."""
    tick = carried.tick
    derivative(tick * clock.h, motion.x, held, plant, motion.k1)
    return tick


def renewal_part(motion, held, plant, sensors, carried, clock, signals, wind, winds, gusts, truth):
    """Commands, what is held of rotors and drive."""
    tick = carried.tick
    looking = tick % clock.refresh_every == 0
    command_motors(tick, looking, sensors, carried, held)
    refresh_held(motion.x, 0.5, held, plant)
    hold_circuit(held, plant)
    return tick


def weather_part(motion, held, plant, sensors, carried, clock, signals, wind, winds, gusts, truth):
    """Wind and warmth."""
    tick, x, h = carried.tick, motion.x, clock.h
    look = tick // clock.refresh_every
    wind_at(tick * h, look, x[0], x[1], -x[2], x[3], x[4], x[5], winds, gusts, wind, carried, held)
    warm_drive(look, h * clock.refresh_every, x, held, plant)
    return tick


def sensing_part(motion, held, plant, sensors, carried, clock, signals, wind, winds, gusts, truth):
    """The inertial sensor, watching and the log."""
    tick, x = carried.tick, motion.x
    sense_inertial(x, motion.k1, held, plant, sensors, carried)
    read_inertial(tick, sensors, carried, signals)
    watch(x, held, plant, carried)
    watch_safety(signals, carried)
    write_row(tick * clock.h, x, held, plant, carried, truth[carried.rows])
    return tick


def slow_part(motion, held, plant, sensors, carried, clock, signals, wind, winds, gusts, truth):
    """Sensors of place and the pack's."""
    tick = carried.tick
    serve_slow_sensors(tick, clock.h, motion.x, held, plant, sensors, carried, signals)
    read_power(signals.dt, held, sensors, signals)
    return tick


PARTS: dict[str, Callable] = {
    "derivative": derivative_part,
    "renewal": renewal_part,
    "weather": weather_part,
    "sensing": sensing_part,
    "slow": slow_part,
}


def compile_parts(names: Iterable[str]) -> None:
    """Compile some of the parts."""
    records: list[Any] = [
        record_type(d) for d in (MOTION, HELD, PLANT, SENSORS, CARRIED, CLOCK, SIGNALS, WIND)
    ]
    for name in names:
        kernel(PARTS[name], signature=INTEGER(*records, MATRIX, rows_type(GUSTS), rows_type(TRUTH)))
