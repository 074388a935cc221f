"""The slow sensors' clock: one compare a tick for all of them, everything else only when one has something to do."""

from __future__ import annotations

import math

from quadsim.jit import inner, kernel
from quadsim.noise import gauss, sample_key
from quadsim.sensors.barometer import give_barometer, sample_barometer
from quadsim.sensors.magnetometer import give_magnetometer, sample_magnetometer
from quadsim.sensors.place_records import KINDS, NEVER, NO_DROP, SLOTS, Slow
from quadsim.sensors.rangefinder import give_rangefinder, sample_rangefinder
from quadsim.sensors.satellite import give_satellite, sample_satellite
from quadsim.sensors.telemetry import give_telemetry, sample_telemetry

DROP_CHANNEL = 160
"""First of the channels that decide whether a sample is lost, one per sensor."""


@kernel
def due_tick(count, every):
    """First tick at or after sample number `count` of a sensor with `every` ticks between samples."""
    return math.ceil(count * every - 1e-6)


@kernel
def serve_slow_sensors(tick, h, x, held, plant, sensors, carried, signals):
    """Sample and hand over what is due at `tick`; `carried.slow_due` becomes the next tick with something to do.

    Parameters
    ----------
    h : physics step [s]
    x : state; `held` after the derivative at this state, for thrusts and currents
    """
    due = NEVER
    for kind in range(KINDS):
        every = sensors.slow_every[kind]
        if every > 0.0:
            if tick >= carried.slow_next[kind]:
                carried.slow_next[kind] = serve_one(
                    kind, every, tick, h, x, held, plant, sensors, carried, signals
                )
            due = min(due, carried.slow_next[kind])
    carried.slow_due = due


@inner
def serve_one(kind, every, tick, h, x, held, plant, sensors, carried, signals):
    """Take the sample and hand over the older one of a single sensor where they are due; returns its next tick."""
    delay = int(sensors.slow_delay[kind])
    count = carried.slow_taken[kind]
    if tick >= due_tick(count, every):
        slot = count % SLOTS
        take(kind, count, slot, tick, h, x, held, plant, sensors, carried)
        carried.slow_valid[kind, slot] = 1.0
        bound = sensors.slow_drop[kind]
        if bound > NO_DROP and gauss(sample_key(carried.key, count), DROP_CHANNEL + kind) < bound:
            carried.slow_valid[kind, slot] = 0.0
        carried.slow_taken[kind] = count + 1
    oldest = carried.slow_given[kind]
    if oldest < carried.slow_taken[kind] and tick >= due_tick(oldest, every) + delay:
        slot = oldest % SLOTS
        if carried.slow_valid[kind, slot] > 0.0:
            give(kind, slot, carried, signals)
        carried.slow_given[kind] = oldest + 1
    return min(due_tick(carried.slow_taken[kind], every), due_tick(carried.slow_given[kind], every) + delay)


@inner
def take(kind, count, slot, tick, h, x, held, plant, sensors, carried):
    """Sample number `count` of a sensor, into its delay line."""
    if kind == Slow.TELEMETRY:
        sample_telemetry(slot, x, sensors, carried)
    elif kind == Slow.BAROMETER:
        sample_barometer(count, slot, tick * h, x, held, plant, sensors, carried)
    elif kind == Slow.SATELLITE:
        sample_satellite(count, slot, tick, x, sensors, carried)
    elif kind == Slow.MAGNETOMETER:
        sample_magnetometer(count, slot, x, held, plant, sensors, carried)
    else:
        sample_rangefinder(count, slot, x, sensors, carried)


@inner
def give(kind, slot, carried, signals):
    """Hand a sample of a sensor over to the controller."""
    if kind == Slow.TELEMETRY:
        give_telemetry(slot, carried, signals)
    elif kind == Slow.BAROMETER:
        give_barometer(slot, carried, signals)
    elif kind == Slow.SATELLITE:
        give_satellite(slot, carried, signals)
    elif kind == Slow.MAGNETOMETER:
        give_magnetometer(slot, carried, signals)
    else:
        give_rangefinder(slot, carried, signals)
