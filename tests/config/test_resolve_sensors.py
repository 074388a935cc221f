"""From craft to sensors: noise, delays, mounting, bias draws."""

import math

import numpy as np
import pytest

from quadsim.config import choose_rates, resolve_plant, resolve_sensors
from quadsim.config.resolve_sensors import blend, mounting_matrix, white_noise
from quadsim.environment.atmosphere import Site
from quadsim.errors import InputError
from quadsim.sensors.clock import Clock

DEG = math.pi / 180.0
GYRO = "[flight_controller.gyro]\nnoise_density_one_sided_deg_s_rtHz = 0.01\nbias_walk_deg_s_rts = 0.02\nbandwidth_Hz = 200\n"
ERRORS = """
[flight_controller.gyro]
bias_instability_deg_h = 10
scale_error_pct = 1
misalignment_deg = 0.5
g_sensitivity_deg_s_g = 0.2
[flight_controller.accelerometer]
bias_instability_ug = 60
scale_error_pct = 2
misalignment_deg = 0.3
vibration_rectification_mg_g2 = 0.3
"""


def sensors_of(craft, seed=1):
    """Resolved sensors of a craft on its own clock."""
    return resolve_sensors(craft, resolve_plant(craft, Site()), choose_rates(craft).physics_Hz, seed)


def test_white_noise_has_the_density_it_was_made_from():
    # spectrum of a long record: its one-sided density must be flat at n (H. Nyquist; one-sided = twice two-sided)
    rate, density = 2000.0, 0.01
    noise = np.random.default_rng(3).normal(0.0, white_noise(density, rate), 200_000)
    spectra = np.abs(np.fft.rfft(noise.reshape(200, 1000), axis=1)) ** 2 * 2.0 / (rate * 1000)
    assert math.sqrt(spectra[:, 1:-1].mean()) == pytest.approx(density, rel=0.01)


def test_gyro_values_by_hand(make_craft):
    sensors = sensors_of(make_craft(more=GYRO))
    assert sensors.gyro_noise == pytest.approx(0.01 * DEG * math.sqrt(1000.0))  # one-sided, fs 2000 Hz
    assert sensors.gyro_range == pytest.approx(2000.0 * DEG)
    # a step every 64 samples of 2000 Hz: after one second 31.25 steps must have spread by K
    assert sensors.gyro_walk * math.sqrt(31.25) == pytest.approx(0.02 * DEG)
    assert sensors.gyro_blend == pytest.approx(1.0 - math.exp(-2.0 * math.pi * 200.0 / 2000.0))


def test_accelerometer_values_by_hand(make_craft):
    sensors = sensors_of(make_craft())
    assert sensors.accel_noise == pytest.approx(0.1e-3 * 9.80665 * math.sqrt(1000.0))
    assert sensors.accel_range == pytest.approx(16.0 * 9.80665)


def test_blend_is_the_step_response_of_a_first_order_lag():
    # after one time constant 1/(2 pi f) the step has reached 1 - 1/e, whatever the rate
    corner = 10.0
    for rate in (200.0 * math.pi, 2000.0 * math.pi):
        value = 0.0
        for _ in range(round(rate / (2.0 * math.pi * corner))):
            value += blend(corner, rate) * (1.0 - value)
        assert value == pytest.approx(1.0 - math.exp(-1.0), rel=1e-9)


def test_ticks(make_craft):
    craft = make_craft(
        ("pack_current_A = 0.5", "pack_current_A = 0.5\nimu_delay_ms = 1.0"),
        ("resistance_mohm = 5\n", "resistance_mohm = 5\ndelay_ms = 2.0\nlag_ms = 1.0\nlevels = 1000\n"),
    )
    sensors = sensors_of(craft)
    assert (sensors.imu_clock[Clock.WHOLE], sensors.imu_clock[Clock.PART]) == (2, 0)
    assert (sensors.imu_delay, sensors.slow_every[0]) == (pytest.approx(4.0), 80)
    # 2 ms are 8 ticks of 4 kHz, one of which the loop itself takes
    assert sensors.motor_delay == 7
    assert np.array(sensors.motor_blend) == pytest.approx(1.0 - math.exp(-0.25))
    assert sensors.motor_levels == 1000


def test_no_lag_follows_at_once(make_craft):
    assert np.all(sensors_of(make_craft()).motor_blend == 1.0)


@pytest.mark.parametrize(
    ("angles", "body", "sensor"),
    [
        ((0, 0, 90), (0, 1, 0), (1, 0, 0)),  # turned right: its x axis looks along the body's y axis
        ((0, 0, 90), (1, 0, 0), (0, -1, 0)),
        ((180, 0, 0), (0, 0, 1), (0, 0, -1)),  # upside down
        ((0, 90, 0), (0, 0, 1), (-1, 0, 0)),  # nose of the sensor up: its x axis looks along minus z
        ((90, 0, 0), (0, 0, 1), (0, 1, 0)),  # rolled right: its y axis looks down
    ],
)
def test_mounting_turns(angles, body, sensor):
    matrix = mounting_matrix(*(angle * DEG for angle in angles))
    np.testing.assert_allclose(matrix @ np.array(body, float), sensor, atol=1e-12)


def test_mounting_order_is_yaw_then_pitch_then_roll(make_craft):
    # product of the elementary turns of ISO 1151-1
    roll, pitch, yaw = 0.3, -0.5, 1.1
    about_x = np.array([[1, 0, 0], [0, math.cos(roll), math.sin(roll)], [0, -math.sin(roll), math.cos(roll)]])
    about_y = np.array(
        [[math.cos(pitch), 0, -math.sin(pitch)], [0, 1, 0], [math.sin(pitch), 0, math.cos(pitch)]]
    )
    about_z = np.array([[math.cos(yaw), math.sin(yaw), 0], [-math.sin(yaw), math.cos(yaw), 0], [0, 0, 1]])
    np.testing.assert_allclose(mounting_matrix(roll, pitch, yaw), about_x @ about_y @ about_z, atol=1e-15)
    craft = make_craft(
        ("imu = 2000", "imu = 2000"),
        ("pack_current_A", "mounted_roll_pitch_yaw_deg = [10, 20, 30]\npack_current_A"),
    )
    sensors = sensors_of(craft)
    turned = mounting_matrix(10 * DEG, 20 * DEG, 30 * DEG)
    np.testing.assert_allclose(sensors.mounting_believed @ turned, np.eye(3), atol=1e-15)
    np.testing.assert_allclose(
        sensors.gyro_matrix, turned, atol=0.05
    )  # 0.5 % and 0.2 deg of the specimen's own


def test_the_sensor_sits_where_the_board_is(make_craft):
    craft = make_craft()
    plant = resolve_plant(craft, Site())
    expected = np.array([0.012, 0.0, -0.010]) - plant.centre_of_mass
    np.testing.assert_allclose(sensors_of(craft).imu_position, expected, atol=1e-15)


def test_same_seed_same_biases_other_seed_others(make_craft):
    craft = make_craft()
    one, again, other = sensors_of(craft, 7), sensors_of(craft, 7), sensors_of(craft, 8)
    np.testing.assert_array_equal(one.gyro_bias, again.gyro_bias)
    assert np.all(one.gyro_bias != other.gyro_bias)
    assert np.all(one.accel_bias != other.accel_bias)
    biases = np.array([sensors_of(craft, seed).gyro_bias for seed in range(200)]) / DEG
    assert biases.std() == pytest.approx(0.3, rel=0.1)  # default 0.3 deg/s; 600 draws scatter by 3 %
    assert abs(biases.mean()) < 0.05


def test_a_delay_beyond_the_lines_is_refused(make_craft):
    fast = ("imu = 2000, estimate", "imu = 32000, estimate")
    craft = make_craft(fast, ("pack_current_A", "imu_delay_ms = 10\npack_current_A"))
    with pytest.raises(
        InputError, match=r"imu_delay_ms: needs 320 slots of delay line; there are 62\. Give less delay"
    ):
        sensors_of(craft)


def test_vibration_is_off_unless_the_craft_says_so(make_craft):
    sensors = sensors_of(make_craft())
    assert (sensors.shaking, sensors.imu_period) == (0.0, 1.0 / 2000.0)
    assert not np.any(sensors.mode_step)
    assert not np.any(sensors.imbalance)


def test_imbalance_and_flexible_mode_by_hand(make_craft):
    sensors = sensors_of(make_craft(("gyration_pct = 50", "gyration_pct = 50\nimbalance_gmm = 0.3")))
    assert sensors.shaking == 1.0
    assert sensors.imbalance == pytest.approx([3e-7] * 4)
    sensors = sensors_of(make_craft(more="[frame.flexible]\nfrequency_Hz = 80\nshare = [1, 0.5, -0.2]\n"))
    assert sensors.shaking == 1.0
    assert sensors.mode_share == pytest.approx([1.0, 0.5, -0.2])
    # left alone for one sample of 0.5 ms: x = exp(-z w t) cos(wd t) + ... of a free oscillator at rest, displaced by 1
    w, z, t = 2.0 * math.pi * 80.0, 0.03, 5e-4
    damped = w * math.sqrt(1.0 - z * z)
    swing = math.exp(-z * w * t) * (math.cos(damped * t) + z * w / damped * math.sin(damped * t))
    assert sensors.mode_step[0] == pytest.approx(swing, rel=1e-12)


def test_a_flexible_mode_needs_its_frequency(make_craft):
    with pytest.raises(InputError, match=r"frame\.flexible\.frequency_Hz.*is missing"):
        make_craft(more="[frame.flexible]\ndamping_pct = 3\n")


def test_scale_misalignment_and_g_sensitivity_scatter_as_stated(make_craft):
    """Over 300 specimens: 1 %, 0.5 deg, 0.2 (deg/s)/g and, of the accelerometer, 2 %, 0.3 deg (900 to 2700 draws: 7 %)."""
    craft = make_craft(more=ERRORS)
    seen = [sensors_of(craft, seed) for seed in range(300)]
    for matrices, scale, tilt in (
        (np.array([s.gyro_matrix for s in seen]), 0.01, 0.5),
        (np.array([s.accel_matrix for s in seen]), 0.02, 0.3),
    ):
        own = matrices[:, range(3), range(3)] - 1.0
        assert own.std() == pytest.approx(scale, rel=0.08)
        off = matrices[:, ~np.eye(3, dtype=bool)]
        assert off.std() == pytest.approx(math.radians(tilt), rel=0.08)
        assert abs(np.corrcoef(off[:, 0], off[:, 2])[0, 1]) < 0.2
    push = np.array([s.gyro_g for s in seen])
    assert push.std() == pytest.approx(math.radians(0.2) / 9.80665, rel=0.08)
    assert np.array_equal(sensors_of(craft, 7).gyro_matrix, seen[7].gyro_matrix)


def test_flicker_and_rectification_by_hand(make_craft):
    sensors = sensors_of(make_craft(more=ERRORS))
    # variance kept: kick^2 = s^2 (1 - keep^2), keep = exp(-64/2000 s/T)
    for k, seconds in enumerate((1.0, 10.0, 100.0)):
        keep = math.exp(-0.032 / seconds)
        assert sensors.flicker_keep[k] == pytest.approx(keep)
        spread = sensors.gyro_kick[k] / math.sqrt(1.0 - keep**2)
        assert spread == pytest.approx(
            1.05 * math.radians(10.0) / 3600.0 * math.sqrt(math.log(10.0) / math.pi)
        )
    assert sensors.accel_kick[0] / sensors.gyro_kick[0] == pytest.approx(
        60e-6 * 9.80665 / (math.radians(10.0) / 3600.0)
    )
    assert sensors.accel_rectification == pytest.approx(0.3e-3 / 9.80665)
    assert (sensors.gyro_lag, sensors.accel_lag) == pytest.approx((1 / (1000 * math.pi), 1 / (400 * math.pi)))
