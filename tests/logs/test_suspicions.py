"""Logs that lie: units, signs, rotors in another order, another craft. Each must be noticed and said, and nothing written."""

import numpy as np
import pytest

from quadsim.config import load_craft
from quadsim.environment.atmosphere import Site
from quadsim.errors import InputError
from quadsim.logs.comparison import compare
from quadsim.logs.correct import corrected_text

pytestmark = pytest.mark.jit


@pytest.fixture
def log(logged):
    return logged()


def said(log, craft="siskin"):
    found = compare(load_craft(craft), log, Site())
    if not found.sound:
        with pytest.raises(InputError, match="nothing is written into a craft file"):
            corrected_text(found, "x.csv")
    return " / ".join(one.text for one in found.suspicions)


def test_an_honest_log_raises_none(log):
    assert said(log) == ""


def test_radians_for_degrees(log):
    log["gyro"][:] *= np.pi / 180.0
    text = said(log)
    assert "gyro_roll is 57" in text
    assert "times smaller than the attitude's slope: radians for degrees, in the one or the other?" in text


def test_a_gyro_the_other_way_round(log):
    log["gyro"][:, 1] *= -1.0
    assert said(log) == "gyro_pitch turns the other way than the attitude: give it scale = -1 in --columns"


def test_gyro_axes_swapped(log):
    log["gyro"][:] = log["gyro"][:, [1, 0, 2]]
    assert "gyro_roll follows the attitude's pitch: are its axes swapped?" in said(log)


def test_an_accelerometer_with_z_up_or_in_g(log, logged):
    log["accel"][:] *= -1.0
    assert "accel_z is +9.8" in said(log)
    other = logged()
    other["accel"][:] /= 9.80665
    assert "is its unit m/s2 (accel_z_m_s2) or g (accel_z_g)?" in said(other)


@pytest.mark.parametrize("order", [(1, 0, 2, 3), (3, 0, 1, 2), (2, 3, 0, 1)])
def test_rotors_in_another_order(log, order):
    places = ("front_right", "rear_right", "rear_left", "front_left")
    for channel in ("motor", "rotor_speed"):
        log.channels[channel] = log[channel][:, order]
    text = said(log)
    assert "the rotors seem to be in another order" in text
    assert f"rotors = [{', '.join(places[k] for k in order)}]" in text


def test_the_log_of_another_craft(log):
    text = said(log, "bonxie")
    assert "another craft" in text or "another pack" in text


def test_motors_in_per_cent(log):
    log["motor"][:] *= 100.0
    assert "where 1 is full: motor_1_pct and motor_1_us are understood" in said(log)


@pytest.mark.parametrize(
    ("channel", "factor", "words"),
    [
        ("rotor_speed", 30.0 / np.pi, "where this craft's hover takes"),
        ("rotor_speed", 7.0, "or electrical rpm over pole pairs)?"),
        ("rotor_speed", -1.0, "give scale = -1"),
        ("current", 1000.0, "is its unit right (current_A or current_mA)?"),
        ("current", -1.0, "give scale = -1"),
        ("voltage", 1000.0, "another pack"),
        ("voltage", 0.25, "or voltage of one cell?"),
    ],
)
def test_a_drive_in_another_unit_is_said_and_not_led_by(log, channel, factor, words):
    log[channel][:] *= factor
    assert words in said(log)
    assert channel not in log


def test_a_log_on_the_ground(log):
    log.channels["motor"] = np.zeros_like(log["motor"])
    with pytest.raises(InputError, match=r"is in the air for 0\.0 s"):
        compare(load_craft("siskin"), log, Site())
