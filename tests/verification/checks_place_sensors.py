"""Checks of the sensors of place against closed forms; each takes `serve_slow_sensors`, shipped or a wrong copy of its source."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
from checks import near
from place_bench import DEG, FIELD, Bench
from scipy.spatial.transform import Rotation

from quadsim.sensors.place_records import Slow

POSE = Rotation.from_euler("ZYX", (70.0, -25.0, 15.0), degrees=True)
"""Body to world: yaw, pitch, roll (scipy, independent of the plant's quaternions)."""
PLACE, RATES = np.array([0.1, -0.2, 0.3]), np.array([3.0, 0.5, -1.0])


def posed(bench: Bench) -> Bench:
    """Put the bench into the pose, moving and turning."""
    x = bench.x
    x[0:3], x[3:6], x[10:13] = (5.0, -6.0, -7.0), (1.0, 2.0, -3.0), RATES
    x[6:10] = np.roll(POSE.as_quat(), 1)
    return bench


def port_reads_low_in_fast_air(f: Callable) -> None:
    """Bernoulli: Cp rho V^2/2 over rho g; Cp = 0.2 at 30 m/s through the air: 9.177 m."""
    bench = Bench(Slow.BAROMETER, f, baro_port=0.2 / (2.0 * 9.80665))
    bench.x[3:6], bench.held.wind[:] = (10.0, 20.0, 0.0), (-10.0, 0.0, -10.0)
    near(bench.run().baro_height, 1000.0 - 0.2 * (20.0**2 + 20.0**2 + 10.0**2) / (2.0 * 9.80665), 1e-9)


def wash_fades_with_height(f: Callable) -> None:
    """The stated form: k T exp(-z/R), z the height of the hubs; nothing is left at ten radii (0.01 %)."""
    bench = Bench(Slow.BAROMETER, f, baro_wash=0.05)
    bench.held.thrust[:] = 1.0, 2.0, 3.0, 4.0
    hubs = -float(bench.plant.rotor_position[0, 2])
    for above in (0.0, 0.05, 0.1, 1.0):
        height = above - hubs
        bench.x[2] = -height
        near(bench.run(10).baro_height, height - 0.5 * math.exp(-above / 0.1), 1e-9)


def barometer_warms_up(f: Callable) -> None:
    """First-order rise: 63.2 % after one time constant of 0.2 s, to 2 m; converted height grows by the scale."""
    bench = Bench(Slow.BAROMETER, f, baro_warm_up=(2.0, 5.0), baro_scale=1.1)
    near(bench.run(1).baro_height, 1100.0, 1e-9)
    near(bench.run(200).baro_height, 1100.0 + 2.0 * (1.0 - math.exp(-1.0)), 1e-9)


def fix_is_that_of_the_antenna(f: Callable) -> None:
    """x + R r and v + R (w x r), by scipy's rotation."""
    signals = posed(Bench(Slow.SATELLITE, f, gnss_place=PLACE)).run()
    near(np.array(signals.gnss_position), np.array([5.0, -6.0, -7.0]) + POSE.apply(PLACE), 1e-12)
    near(
        np.array(signals.gnss_velocity),
        np.array([1.0, 2.0, -3.0]) + POSE.apply(np.cross(RATES, PLACE)),
        1e-12,
    )


def fix_wanders_from_the_first(f: Callable) -> None:
    """Gauss-Markov process of unit variance: 0 at the first fix, variance 2 (1 - k^n) after n more, over 300 flights."""
    errors = []
    for key in range(300):
        bench = Bench(Slow.SATELLITE, f, gnss_wander=(1.0, 1.0), gnss_keep=0.9)
        bench.carried.key = key
        errors.append(bench.seen("gnss_position", 31) - [0.0, 0.0, -1000.0])
    near(np.array(errors)[:, 0], np.zeros((300, 3)), 1e-12)
    for n in (3, 30):
        variance = 2.0 * (1.0 - 0.9**n)
        near(np.array(errors)[:, n].var(), variance, 4.0 * variance * math.sqrt(2.0 / 900.0))


def field_in_body_axes(f: Callable) -> None:
    """R^T B by scipy's rotation, and 10 A times the field of the wires per ampere."""
    bench = posed(Bench(Slow.MAGNETOMETER, f, mag_current=(1e-7, 2e-7, -3e-7), mag_bias=(1e-6, 0.0, 0.0)))
    bench.held.battery_current = 10.0
    wanted = POSE.inv().apply(FIELD) + np.array([2e-6, 2e-6, -3e-6])
    near(1e6 * np.array(bench.run().magnetic_field), 1e6 * wanted, 1e-9)


def ray_meets_the_ground(f: Callable) -> None:
    """From the sensor along body z to the plane down = 0."""
    start, along = np.array([5.0, -6.0, -7.0]) + POSE.apply(PLACE), POSE.apply([0.0, 0.0, 1.0])
    near(
        posed(Bench(Slow.RANGEFINDER, f, range_place=PLACE)).run().range_distance, -start[2] / along[2], 1e-9
    )
    bench = posed(Bench(Slow.RANGEFINDER, f, range_place=PLACE, range_upright=math.cos(28.0 * DEG)))
    near(bench.run().range_distance, 0.0, 1e-9)  # tilted by 28.9 deg


def speeds_of_the_channels(f: Callable) -> None:
    """Magnitudes, in steps; with two plugs swapped each channel reports the motor that it drives."""
    bench = Bench(Slow.TELEMETRY, f, telemetry_step=10.0)
    bench.carried.wiring[:] = [2, 1, 3, 0]
    bench.x[16:20] = 1004.0, -996.0, 0.0, 506.0
    near(np.array(bench.run().rotor_speed), [510.0, 1000.0, 1000.0, 0.0], 1e-9)


def samples_come_late(f: Callable) -> None:
    """One sample in 3.7 ticks, 9 ticks late: at any tick those are in whose time is 9 ticks ago, by counting."""
    bench = Bench(Slow.BAROMETER, f)
    bench.sensors.slow_every[Slow.BAROMETER], bench.sensors.slow_delay[Slow.BAROMETER] = 3.7, 9.0
    for tick in range(300):
        bench.x[2] = -float(tick)
        bench.run()
        taken = [math.ceil(3.7 * n - 1e-9) for n in range(100) if math.ceil(3.7 * n - 1e-9) + 9 <= tick]
        near(bench.signals.baro_count, len(taken), 0.0)
        near(bench.signals.baro_height, taken[-1] if taken else 0.0, 1e-12)


CHECKS = (
    port_reads_low_in_fast_air, wash_fades_with_height, barometer_warms_up, fix_is_that_of_the_antenna,
    fix_wanders_from_the_first, field_in_body_axes, ray_meets_the_ground, speeds_of_the_channels, samples_come_late,
)  # fmt: skip
