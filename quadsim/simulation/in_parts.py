"""The loop's kernels in two parts, which two processes compile at the same time.

The calls are those of `fly_ticks`, with the same types. Neither part is ever run: what counts is that the compiler keeps every
kernel that they call, where it finds them when it compiles the loop itself. A call that is missing here costs time, no more.
"""

from __future__ import annotations

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


def motion_part(motion, held, plant, sensors, carried, clock):
    """Commands, what is held of rotors and drive, the derivative."""
    tick, x, k1 = carried.tick, motion.x, motion.k1
    looking = tick % clock.refresh_every == 0
    command_motors(tick, looking, sensors, carried, held)
    refresh_held(x, 0.5, held, plant)
    hold_circuit(held, plant)
    derivative(tick * clock.h, x, held, plant, k1)
    return tick


def surroundings_part(motion, held, plant, sensors, carried, clock, signals, wind, winds, gusts, truth):
    """Wind, warmth, watching, sensing and the log."""
    tick, x, k1, h = carried.tick, motion.x, motion.k1, clock.h
    t = tick * h
    look = tick // clock.refresh_every
    wind_at(t, look, x[0], x[1], -x[2], x[3], x[4], x[5], winds, gusts, wind, carried, held)
    watch(x, held, plant, carried)
    warm_drive(look, h * clock.refresh_every, x, held, plant)
    sense_inertial(x, k1, held, plant, sensors, carried)
    serve_slow_sensors(tick, h, x, held, plant, sensors, carried, signals)
    read_power(signals.dt, held, sensors, signals)
    read_inertial(tick, sensors, carried, signals)
    write_row(t, x, held, plant, carried, truth[carried.rows])
    return tick


def compile_motion() -> Any:
    """Compile the first part."""
    records = [record_type(d) for d in (MOTION, HELD, PLANT, SENSORS, CARRIED, CLOCK)]
    return kernel(motion_part, signature=INTEGER(*records))


def compile_surroundings() -> Any:
    """Compile the second part."""
    records = [record_type(d) for d in (MOTION, HELD, PLANT, SENSORS, CARRIED, CLOCK, SIGNALS, WIND)]
    return kernel(surroundings_part, signature=INTEGER(*records, MATRIX, rows_type(GUSTS), rows_type(TRUTH)))
