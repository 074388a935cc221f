"""Vibration as the inertial sensor reads it: unbalanced rotors through its samples, and a flexible frame in flight."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hand_made import body, calm, state

from controllers.signals import SIGNALS, rows
from quadsim.config import load_craft, parse_craft
from quadsim.config.flight_loader import parse_flight
from quadsim.dynamics.state import SIZE
from quadsim.sensors.clock import sensor_clock
from quadsim.sensors.inertial import read_inertial, sample_inertial
from quadsim.sensors.records import SENSORS
from quadsim.sensors.vibration import update_vibration
from quadsim.simulation.carried import CARRIED
from quadsim.simulation.fly import fly, snapshot, start
from quadsim.simulation.run import Run
from quadsim.simulation.session import Session

HOVER = 'title = "hover"\ncraft = "siskin"\nduration_s = 2\nlog_rate_Hz = 2000\n[start]\nheight_m = 5\n'
FLEXIBLE = "[frame.flexible]\nfrequency_Hz = {}\ndamping_pct = 3\nshare = {}\n\n[[parts]]"


def fly_to_end(session: Session) -> Run:
    session.advance(session.total_ticks)
    return snapshot(session)


def read(rate_Hz: float, count: int, place: tuple, rotor_Hz: float) -> np.ndarray:
    """What a perfect sensor at `place` [m] reads of 3 g mm on the front right rotor of 1 kg: gyro and accel (n, 6)."""
    plant, held = body(), calm()
    sensors, carried, heard = rows(SENSORS)[0], rows(CARRIED)[0], rows(SIGNALS)[0]
    sensors.gyro_blend = sensors.accel_blend = 1.0
    sensors.imu_clock[:] = sensor_clock(rate_Hz, round(rate_Hz))
    sensors.gyro_range, sensors.accel_range, sensors.imu_period = 1e9, 1e9, 1.0 / rate_Hz
    sensors.gyro_matrix[:] = sensors.accel_matrix[:] = sensors.mounting_believed[:] = np.eye(3)
    sensors.imu_position[:], sensors.imbalance[0] = place, 3e-6
    x, dx, seen = state(rotors=2.0 * math.pi * rotor_Hz), np.zeros(SIZE), []
    for k in range(count):
        update_vibration(0.0, x, dx, held, plant, sensors, carried)
        sample_inertial(k, 0.0, x, dx, held.force, plant.mass, sensors, carried)
        read_inertial(k, sensors, carried, heard)
        seen.append(np.concatenate([heard.gyro, heard.accel]))
    return np.array(seen)


def test_force_over_mass_and_the_lever_arm() -> None:
    """m e W^2/M at the centre of mass; elsewhere the angular acceleration times the lever comes on top (kinematics).

    The centripetal part, w x (w x r), is below 1e-5 m/s2 here.
    """
    omega = 2.0 * math.pi * 160.0
    at_centre, off = read(8000.0, 400, (0.0, 0.0, 0.0), 160.0), read(8000.0, 400, (0.0, 0.0, 0.05), 160.0)
    assert np.linalg.norm(at_centre[:, 3:5], axis=1) == pytest.approx(np.full(400, 3e-6 * omega**2), rel=1e-9)
    assert at_centre[:, 5] == pytest.approx(np.zeros(400), abs=1e-12)
    # hub 0.02 m above the centre, Ixx 0.01: forward force 1 turns q by -0.02/0.015, rightward force p by +0.02/0.01
    gain = 1.0 + np.array([0.05 * -0.02 / 0.015, 0.05 * -0.02 / 0.01])
    assert off[:, 3:5] == pytest.approx(at_centre[:, 3:5] * gain, abs=1e-5)


@pytest.mark.parametrize(
    ("rate_Hz", "seen_Hz"), [(2000.0, 160.0), (250.0, 90.0), (200.0, 40.0), (150.0, 10.0)]
)
def test_a_slow_sensor_sees_an_alias(rate_Hz: float, seen_Hz: float) -> None:
    """Sampling theorem: 160 Hz sampled at fs appears at |160 - k fs| below fs/2, on gyroscope and accelerometer."""
    count = round(rate_Hz)  # one second: bins of 1 Hz
    felt = read(rate_Hz, count, (0.01, 0.0, 0.02), 160.0)
    for column in (0, 1, 2, 3, 4):
        spectrum = np.abs(np.fft.rfft(felt[:, column]))
        assert np.argmax(spectrum) == round(seen_Hz)
        assert spectrum[round(seen_Hz)] > 0.99 * np.linalg.norm(spectrum)


@pytest.mark.jit
def test_an_unbalanced_rotor_in_flight() -> None:
    """Accelerometer in a hover: m e W^2/M through its own first-order limit, 1/sqrt(1 + (W T)^2) of 200 Hz, plus noise."""
    text = (
        HOVER
        + '[[at]]\nt_s = 0\nfault = { kind = "propeller_imbalance", rotor = "rear_left", imbalance_gmm = 2 }\n'
    )
    session = start(parse_flight(text))
    session.sensors.imu_position[:] = 0.0
    run = fly_to_end(session)
    settled = run.t_s > 0.5
    omega = float(np.mean(run["rotor_speed_rad_s"][settled, 2]))
    gain = 1.0 / math.hypot(1.0, omega / (2.0 * math.pi * 200.0))
    felt = run["signals/accel_m_s2"][settled, :2]
    rms = float(np.sqrt(np.mean(np.sum((felt - felt.mean(axis=0)) ** 2, axis=1))))
    assert rms == pytest.approx(2e-6 * omega**2 / float(session.plant.mass) * gain, rel=0.02)


def test_what_is_off_changes_no_bit() -> None:
    """A mode with share 0, a fault of 0 g mm, a rigid balanced craft: the same columns, bit for bit."""
    short = HOVER.replace("duration_s = 2", "duration_s = 0.05")
    text = load_craft("siskin").source_text
    still = parse_craft(text.replace("[[parts]]", FLEXIBLE.format(90, "[0, 0, 0]"), 1))
    fault = (
        '[[at]]\nt_s = 0\nfault = { kind = "propeller_imbalance", rotor = "rear_left", imbalance_gmm = 0 }\n'
    )
    plain = fly(parse_flight(short))
    for other in (fly(parse_flight(short), craft=still), fly(parse_flight(short + fault))):
        for name, values in plain.data.items():
            assert np.array_equal(values, other.data[name]), name


@pytest.mark.jit
@pytest.mark.parametrize("frequency", [90.0, 140.0, 170.0, 220.0])
def test_a_flexible_frame_under_an_unbalanced_rotor(frequency: float) -> None:
    """Yaw rate over the rigid frame's: |1 + s r^2/(1 - r^2 + 2 z i r)|, r = rotor speed over the mode's (closed form).

    Far below, below, above and far above a rotor of 154.6 Hz; s = 0.1, 3 %.
    """
    text = load_craft("siskin").source_text
    fault = (
        '[[at]]\nt_s = 0\nfault = { kind = "propeller_imbalance", rotor = "rear_left", imbalance_gmm = 1 }\n'
    )
    mode = FLEXIBLE.format(frequency, "[0, 0, 0.1]")
    shaken = []
    for craft in (text, text.replace("[[parts]]", mode, 1)):
        session = start(parse_flight(HOVER + fault), craft=parse_craft(craft))
        session.sensors.gyro_noise = 0.0
        run = fly_to_end(session)
        shaken.append(float(np.std(run["signals/gyro_rad_s"][run.t_s > 0.5, 2])))
    r = float(np.mean(run["rotor_speed_rad_s"][run.t_s > 0.5, 2])) / (2.0 * math.pi * frequency)
    expected = abs(1.0 + 0.1 * r * r / (1.0 - r * r + 0.06j * r))
    assert shaken[1] / shaken[0] == pytest.approx(expected, rel=0.05)


@pytest.mark.jit
@pytest.mark.parametrize(
    ("frequency", "share", "rings"), [(60, 1.0, True), (60, 0.3, False), (150, 1.0, False)]
)
def test_a_mount_that_is_too_soft_makes_the_rate_loop_ring(frequency: int, share: float, rings: bool) -> None:
    """A doublet with the shipped gains: the motors of Siskin hunt with a soft mount of 60 Hz (as the README of crafts says).

    At its own frequency the mount turns the phase by 90 deg with a gain of 1/(2 z) = 17 (closed form): a loop that still has
    gain there rings.
    """
    sticks = "[[at]]\nt_s = 0.5\nroll_deg = 25\n[[at]]\nt_s = 1.0\nroll_deg = -25\n"
    text = load_craft("siskin").source_text
    mode = FLEXIBLE.format(frequency, f"[{share}, {share}, {share}]")
    run = fly(parse_flight(HOVER + sticks), craft=parse_craft(text.replace("[[parts]]", mode, 1)))
    hunting = float(np.max(np.std(run["signals/motor"][run.t_s > 1.5], axis=0)))
    assert (hunting > 0.1) == rings
    assert rings or hunting < 0.01
