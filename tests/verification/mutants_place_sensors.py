"""Copies of the source of the sensors of place, each with one thing wrong; as mutants.py."""

from __future__ import annotations

from collections.abc import Callable

import checks_place_sensors as c
from mutants import plain_modules


def plain_serve(module: str = "", old: str = "", new: str = "") -> Callable:
    """`serve_slow_sensors` of a plain copy of the sensors in which `old` in `module` reads `new`."""
    copy = plain_modules(f"quadsim.sensors.{module}" if module else "", old, new)
    return copy("quadsim.sensors.slow").serve_slow_sensors  # type: ignore[no-any-return]


MUTANTS = {
    "port reads high": ("barometer", "- sensors.baro_port", "+ sensors.baro_port", c.port_reads_low_in_fast_air),
    "port feels ground speed": ("barometer", "x[X.VELOCITY] - held.wind[0]", "x[X.VELOCITY]", c.port_reads_low_in_fast_air),
    "port does not feel a climb": ("barometer", " + d * d)", ")", c.port_reads_low_in_fast_air),
    "wash never fades": ("barometer", "math.exp(-max(hubs, 0.0) / plant.rotor_radius)", "1.0", c.wash_fades_with_height),
    "wash lifts the reading": ("barometer", "height -= wash", "height += wash", c.wash_fades_with_height),
    "wash of one rotor": ("barometer", "held.thrust[0] + held.thrust[1] + held.thrust[2] + held.thrust[3]", "held.thrust[0]", c.wash_fades_with_height),
    "wash from the centre of mass": ("barometer", " - plant.rotor_position[0, 2]", "", c.wash_fades_with_height),
    "warm from the start": ("barometer", "(1.0 - math.exp(-t", "(1.0 + math.exp(-t", c.barometer_warms_up),
    "height not converted": ("barometer", "height * sensors.baro_scale", "height", c.barometer_warms_up),
    "antenna at the centre of mass": ("satellite", "x[X.POSITION + axis] + arm", "x[X.POSITION + axis]", c.fix_is_that_of_the_antenna),
    "antenna swings the wrong way": ("satellite", "q * c - r * b, r * a - p * c, p * b - q * a", "r * b - q * c, p * c - r * a, q * a - p * b", c.fix_is_that_of_the_antenna),
    "antenna's arm not turned": ("satellite", "r00 * a + r01 * b + r02 * c", "a", c.fix_is_that_of_the_antenna),
    "take-off point known exactly": ("satellite", " - carried.gnss_home[axis]", "", c.fix_wanders_from_the_first),
    "slow error grows": ("satellite", "math.sqrt(1.0 - keep * keep)", "1.0", c.fix_wanders_from_the_first),
    "slow error white": ("satellite", "keep * carried.gnss_error[k] + ", "", c.fix_wanders_from_the_first),
    "field not turned back": ("magnetometer", "r00 * north + r10 * east + r20 * down", "r00 * north + r01 * east + r02 * down", c.field_in_body_axes),
    "current without a field": ("magnetometer", "sensors.mag_current[k] * held.battery_current + ", "", c.field_in_body_axes),
    "height for distance": ("rangefinder", "- below) / upright", "- below)", c.ray_meets_the_ground),
    "rangefinder at the centre of mass": ("rangefinder", "(-x[X.POSITION + 2] - below)", "(-x[X.POSITION + 2])", c.ray_meets_the_ground),
    "sees the ground at any tilt": ("rangefinder", "upright > sensors.range_upright", "upright > 0.0", c.ray_meets_the_ground),
    "telemetry tells the sense": ("telemetry", "abs(x[X.ROTORS + i])", "x[X.ROTORS + i]", c.speeds_of_the_channels),
    "telemetry ignores the wiring": ("telemetry", "carried.wiring[i]", "i", c.speeds_of_the_channels),
    "samples arrive at once": ("slow", "tick >= due_tick(oldest, every) + delay", "tick >= due_tick(oldest, every)", c.samples_come_late),
    "sampled on arrival": ("slow", "if tick >= due_tick(count, every):", "if tick >= due_tick(count, every) + delay:", c.samples_come_late),
    "rates rounded to whole ticks": ("slow", "math.ceil(count * every - 1e-6)", "count * math.ceil(every - 1e-6)", c.samples_come_late),
}  # fmt: skip
"""What is wrong: module, text, what it reads there, and the check that must notice."""
