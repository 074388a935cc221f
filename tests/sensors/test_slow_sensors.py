"""The sensors of place: their clock, then each error alone, against closed forms."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hand_made import state
from place_bench import FIELD, Bench

from quadsim.kinematics.quaternion import from_euler
from quadsim.sensors.place_records import SLOTS, Slow
from quadsim.sensors.slow import due_tick
from quadsim.sensors.telemetry import read_power

DEG = math.pi / 180.0


def close(seen: float, wanted: float, sigma: float) -> bool:
    """Within four standard errors: a fair sample misses once in 16 000."""
    return abs(seen - wanted) < 4.0 * sigma


def test_a_rate_need_not_divide_the_physics_rate() -> None:
    """One sample in every interval 1/f to within a tick, for ever: floor(T f) + 1 of them in a time T."""
    for every in (1.0, 3.7, 40.0 / 3.0, 123.456):
        bench = Bench(Slow.BAROMETER)
        bench.sensors.slow_every[Slow.BAROMETER] = every
        bench.run(5000)
        assert bench.signals.baro_count == math.floor(4999 / every) + 1
        due = np.array([due_tick(k, every) for k in range(40)])
        assert np.all((due - np.arange(40) * every >= -1e-5) & (due - np.arange(40) * every < 1.0))


@pytest.mark.parametrize("delay", [0, 3, 10, 25, 10 * (SLOTS - 2)])
def test_a_sample_arrives_late_by_its_delay(delay: int) -> None:
    """A height that grows by 1 m a tick reads that of `delay` ticks before each arrival."""
    bench = Bench(Slow.BAROMETER)
    bench.sensors.slow_delay[Slow.BAROMETER] = delay
    for tick in range(400):
        bench.x[2] = -float(tick)
        bench.run()
        taken = (tick - delay) // 10 * 10
        assert bench.signals.baro_height == (max(taken, 0) if tick >= delay else 0.0)
        assert bench.signals.baro_count == (taken // 10 + 1 if tick >= delay else 0)


def test_samples_are_lost_by_chance_and_leave_the_last_one_standing() -> None:
    bench = Bench(Slow.BAROMETER)
    bench.sensors.slow_drop[Slow.BAROMETER] = -1.2815515655446  # a tenth of a normal distribution (tables)
    bench.run(30000)
    assert close(float(bench.signals.baro_count) / 3000, 0.9, math.sqrt(0.09 / 3000))


def test_two_sensors_do_not_disturb_each_other() -> None:
    """A further sensor on the same clock changes not a bit of what the first one reads."""
    alone = Bench(Slow.BAROMETER, baro_noise=1.0)
    both = Bench(Slow.BAROMETER, baro_noise=1.0)
    both.sensors.slow_every[Slow.MAGNETOMETER], both.sensors.mag_noise = 3.3, 1e-6
    assert np.array_equal(alone.seen("baro_height", 100), both.seen("baro_height", 100))
    assert both.signals.mag_count > 300


def test_barometer_noise_smoothing_and_resolution() -> None:
    """Smoothing towards a step by its share per sample; white noise; steps of the resolution."""
    bench = Bench(Slow.BAROMETER, baro_blend=0.25)
    bench.x[2] = -10.0
    assert bench.seen("baro_height", 8) == pytest.approx(10.0 * (1.0 - 0.75 ** np.arange(1, 9)), abs=1e-12)
    bench = Bench(Slow.BAROMETER, baro_noise=0.3)
    seen = bench.seen("baro_height", 3000) - 1000.0
    assert close(seen.mean(), 0.0, 0.3 / math.sqrt(3000))
    assert close(seen.std(), 0.3, 0.3 / math.sqrt(6000))
    bench = Bench(Slow.BAROMETER, baro_step=0.25)
    bench.x[2] = -3.3
    assert bench.seen("baro_height", 1) == pytest.approx(3.25)


@pytest.mark.jit
def test_barometer_drifts_as_a_random_walk_and_warms_up() -> None:
    """Variance of a random walk: n s^2 after n steps, over 300 craft; a first-order rise has 63.2 % after its time constant."""
    ends = []
    for key in range(300):
        bench = Bench(Slow.BAROMETER, baro_walk=0.1)
        bench.carried.key = key
        ends.append(bench.seen("baro_height", 100)[-1] - 1000.0)
    assert close(float(np.std(ends)), 1.0, 1.0 / math.sqrt(600))
    bench = Bench(Slow.BAROMETER, baro_warm_up=(2.0, 1.0 / 5.0))
    assert bench.seen("baro_height", 501)[-1] - 1000.0 == pytest.approx(
        2.0 * (1.0 - math.exp(-1.0)), rel=1e-9
    )


def test_a_stuck_barometer_goes_on_counting() -> None:
    bench = Bench(Slow.BAROMETER)
    bench.run(10)
    bench.carried.baro_stuck, bench.x[2] = 1.0, -500.0
    assert (bench.run(10).baro_height, bench.signals.baro_count) == (1000.0, 2.0)
    bench.carried.baro_stuck = 0.0
    assert bench.run(10).baro_height == 500.0


def test_a_fix_is_that_of_the_antenna() -> None:
    """Rigid body: x + R r and v + R (w x r), nose east, so forward of the craft is east and right is south."""
    bench = Bench(Slow.SATELLITE, gnss_place=(0.1, 0.0, -0.2))
    bench.x[:] = state(
        (5.0, 6.0, -7.0), (1.0, 2.0, 3.0), from_euler(0.0, 0.0, 90.0 * DEG), rates=(0.0, 0.0, 2.0)
    )
    bench.run()
    assert np.array(bench.signals.gnss_position) == pytest.approx([5.0, 6.1, -7.2], abs=1e-12)
    assert np.array(bench.signals.gnss_velocity) == pytest.approx([1.0 - 0.2, 2.0, 3.0], abs=1e-12)
    assert (bench.signals.gnss_fix, bench.signals.gnss_count) == (1.0, 1.0)


@pytest.mark.jit
def test_satellite_errors() -> None:
    """White part, velocity; the slow part is a Gauss-Markov process: autocorrelation k^n of its stationary variance.

    The controller's take-off point is the first fix, so e(n) - e(0) is seen, whose variance is 2 s^2 (1 - k^n).
    """
    bench = Bench(Slow.SATELLITE, gnss_white=(2.0, 4.0), gnss_speed_noise=0.1)
    place = bench.seen("gnss_position", 2000) - [0.0, 0.0, -1000.0]
    for axis, sigma in enumerate((2.0, 2.0, 4.0)):
        assert close(place[:, axis].std(), sigma, sigma / math.sqrt(4000))
        assert close(place[:, axis].mean(), 0.0, sigma / math.sqrt(2000))
    bench = Bench(Slow.SATELLITE, gnss_speed_noise=0.1)
    speed = bench.seen("gnss_velocity", 2000)
    assert close(speed.std(), 0.1, 0.1 / math.sqrt(12000))
    assert np.max(np.abs(np.corrcoef(speed.T) - np.eye(3))) < 4.0 / math.sqrt(2000)
    flights = []
    for key in range(400):
        bench = Bench(Slow.SATELLITE, gnss_wander=(1.0, 3.0), gnss_keep=0.98)
        bench.carried.key = key
        flights.append(bench.seen("gnss_position", 120) - [0.0, 0.0, -1000.0])
    errors = np.array(flights)
    assert np.all(errors[:, 0] == 0.0)
    for n in (10, 50, 119):
        for axis, sigma in enumerate((1.0, 1.0, 3.0)):
            wanted = sigma * math.sqrt(2.0 * (1.0 - 0.98**n))
            assert close(errors[:, n, axis].std(), wanted, wanted / math.sqrt(800))


def test_no_fix_before_the_first_and_while_it_is_lost() -> None:
    bench = Bench(Slow.SATELLITE, gnss_first_fix=100.0)
    assert (bench.run(99).gnss_fix, bench.signals.gnss_count) == (0.0, 0.0)
    assert (bench.run(2).gnss_fix, bench.signals.gnss_count) == (1.0, 1.0)
    bench.carried.gnss_lost, bench.x[0] = 1.0, 50.0
    assert (bench.run(30).gnss_fix, bench.signals.gnss_count) == (0.0, 1.0)
    assert bench.signals.gnss_position[0] == 0.0  # the last fix stands
    bench.carried.gnss_lost = 0.0
    bench.run(10)
    assert (bench.signals.gnss_fix, bench.signals.gnss_count, bench.signals.gnss_position[0]) == (
        1.0,
        2.0,
        50.0,
    )


def test_magnetometer_turns_with_the_craft() -> None:
    """Nose east: forward shows east, right shows minus north. Inverted: down shows minus down."""
    bench = Bench(Slow.MAGNETOMETER)
    bench.x[6:10] = from_euler(0.0, 0.0, 90.0 * DEG)
    assert np.array(bench.run().magnetic_field) == pytest.approx([1e-6, -20e-6, 45e-6], abs=1e-18)
    bench = Bench(Slow.MAGNETOMETER)
    bench.x[6:10] = from_euler(180.0 * DEG, 0.0, 0.0)
    assert np.array(bench.run().magnetic_field) == pytest.approx([20e-6, -1e-6, -45e-6], abs=1e-18)
    assert bench.signals.mag_count == 1.0


def test_magnetometer_errors() -> None:
    """Iron, current, a disturbance, resolution; 0.1 uT/A and 30 A at 20 uT across: atan(3/20) = 8.53 deg of heading."""
    matrix = np.eye(3) + 0.01 * np.arange(9).reshape(3, 3)
    bench = Bench(Slow.MAGNETOMETER, mag_matrix=matrix, mag_bias=(1e-6, 2e-6, 3e-6))
    assert np.array(bench.run().magnetic_field) == pytest.approx(
        matrix @ FIELD + [1e-6, 2e-6, 3e-6], abs=1e-18
    )
    bench = Bench(Slow.MAGNETOMETER, mag_current=(0.0, 0.1e-6, 0.0))
    bench.plant.magnetic_field[1], bench.held.battery_current = 0.0, 30.0
    ahead, right, _ = bench.run().magnetic_field
    assert math.atan2(right, ahead) / DEG == pytest.approx(8.5308, abs=1e-4)
    bench.carried.mag_disturbance[:] = 1e-6, 0.0, 0.0
    assert bench.run(10).magnetic_field[0] == pytest.approx(21e-6)
    bench = Bench(Slow.MAGNETOMETER, mag_step=0.5e-6)
    assert np.array(bench.run().magnetic_field) == pytest.approx([20e-6, 1e-6, 45e-6], abs=1e-12)
    bench = Bench(Slow.MAGNETOMETER, mag_noise=1e-6)
    seen = bench.seen("magnetic_field", 2000) - FIELD
    assert close(seen.std(), 1e-6, 1e-6 / math.sqrt(12000))
    assert np.max(np.abs(np.corrcoef(seen.T) - np.eye(3))) < 4.0 / math.sqrt(2000)


@pytest.mark.parametrize(("roll", "pitch"), [(0.0, 0.0), (20.0, 0.0), (0.0, -35.0), (25.0, 30.0)])
def test_rangefinder_meets_flat_ground(roll: float, pitch: float) -> None:
    """The ray from the sensor along body z to the plane down = 0, by the rotation matrix of the elementary turns."""
    place = np.array([0.1, -0.05, 0.08])
    cr, sr, cp, sp = (f(a * DEG) for a in (roll, pitch) for f in (math.cos, math.sin))
    turn = np.array([[cp, 0, sp], [0, 1, 0], [-sp, 0, cp]]) @ np.array([[1, 0, 0], [0, cr, -sr], [0, sr, cr]])
    start, along = np.array([0.0, 0.0, -4.0]) + turn @ place, turn @ [0.0, 0.0, 1.0]
    bench = Bench(Slow.RANGEFINDER, range_place=place)
    bench.x[2], bench.x[6:10] = -4.0, from_euler(roll * DEG, pitch * DEG, 0.0)
    assert bench.run().range_distance == pytest.approx(-start[2] / along[2], rel=1e-12)
    assert bench.signals.range_count == 1.0


def test_rangefinder_sees_nothing_too_near_too_far_too_tilted_or_lost() -> None:
    bench = Bench(Slow.RANGEFINDER, range_limits=(0.2, 8.0), range_upright=math.cos(30.0 * DEG))
    cases = ((0.19, 0, 0.0), (0.21, 0, 0.21), (7.9, 0, 7.9), (8.1, 0, 0.0), (1.0, 31, 0.0))
    for height, roll, wanted in cases:
        bench.x[2], bench.x[6:10] = -height, from_euler(roll * DEG, 0.0, 0.0)
        assert bench.run(10).range_distance == pytest.approx(wanted)
    bench.x[6:10], bench.x[2] = from_euler(180.0 * DEG, 0.0, 0.0), -1.0  # it looks at the sky
    assert bench.run(10).range_distance == 0.0
    bench.x[6:10], bench.carried.range_lost = (1.0, 0.0, 0.0, 0.0), 1.0
    assert bench.run(10).range_distance == 0.0
    bench = Bench(Slow.RANGEFINDER, range_noise=(0.02, 0.01))
    bench.x[2] = -4.0
    seen = bench.seen("range_distance", 2000)
    assert close(seen.std(), 0.06, 0.06 / math.sqrt(4000))
    bench = Bench(Slow.RANGEFINDER, range_step=0.1)
    bench.x[2] = -4.04
    assert bench.run().range_distance == pytest.approx(4.0)


def test_rotor_speeds_come_from_the_escs_without_their_sense() -> None:
    bench = Bench(Slow.TELEMETRY, telemetry_step=10.0)
    bench.x[16:20] = 1004.0, -996.0, 0.0, 506.0
    assert np.array(bench.run().rotor_speed) == pytest.approx([1000.0, 1000.0, 0.0, 510.0])
    # two motor plugs swapped: each channel reports the motor it drives
    bench.carried.wiring[:] = [1, 0, 2, 3]
    bench.x[16:18] = 100.0, 200.0
    assert np.array(bench.run(10).rotor_speed) == pytest.approx([200.0, 100.0, 0.0, 510.0])


def test_power_sensor_reads_with_its_errors_and_counts_what_it_reads() -> None:
    """20 A for 90 s are 0.5 Ah; read 2 % high with 0.1 A of offset: 20.5 A."""
    bench = Bench(
        Slow.TELEMETRY, current_scale=1.02, current_offset=0.1, voltage_scale=0.99, voltage_step=0.1
    )
    bench.held.battery_current, bench.held.battery_voltage = 20.0, 16.0
    for _ in range(900):
        read_power(0.1, bench.held, bench.sensors, bench.signals)
    assert bench.signals.battery_current == pytest.approx(20.5)
    assert bench.signals.charge_used == pytest.approx(20.5 * 90.0)
    assert bench.signals.battery_voltage == pytest.approx(15.8)  # 15.84, to tenths
