"""Stick files: calibration of a device, recorded traces, shaping in a craft file."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from quadsim.config import load_craft, parse_craft
from quadsim.config.find_data import library
from quadsim.config.stick_device import load_device, parse_device
from quadsim.config.stick_trace import read_stick_trace
from quadsim.errors import InputError
from quadsim.units import DEG

EXAMPLE = library() / "sticks" / "example_radio.toml"


def test_a_device_maps_ends_and_centres() -> None:
    device = load_device(EXAMPLE)
    assert device.sticks([0.012, -0.004, -0.98, 0.0]) == pytest.approx((0.0, 0.0, 0.0, 0.0), abs=1e-12)
    assert device.sticks([0.96, -0.97, 0.95, 0.93]) == pytest.approx((1.0, 1.0, 1.0, 1.0))
    assert device.sticks([-0.94, 0.95, -0.015, -0.93]) == pytest.approx((-1.0, -1.0, -1.0, 0.5))
    half = device.sticks([(0.012 + 0.96) / 2, (-0.004 + 0.95) / 2, 2.0, 0.0])
    assert half == pytest.approx((0.5, -0.5, 0.0, 1.0))


def test_a_device_comes_back_from_its_own_text() -> None:
    device = load_device(EXAMPLE)
    assert parse_device(device.as_toml()) == device


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("axis = 1", "axis = 0", ["pitch.axis", "as for roll"]),
        ("high = 0.96", "high = 0.1", ["roll", "0.2 or more from each"]),
        ("centre = 0.012", "centre = 0.99", ["roll", "rests at 0.99"]),
        ("axis = 3", "axes = 3", ["yaw.axes", "Nearest known key: axis"]),
    ],
)
def test_bad_calibrations(old: str, new: str, words: list[str]) -> None:
    text = EXAMPLE.read_text(encoding="utf-8")
    assert old in text
    with pytest.raises(InputError) as caught:
        parse_device(text.replace(old, new, 1))
    for word in words:
        assert word in str(caught.value)


def test_a_device_with_too_few_axes_is_refused() -> None:
    with pytest.raises(InputError, match="speaks of axis 3, but the device has 2 axes"):
        load_device(EXAMPLE).sticks([0.0, 0.0])


def test_traces_as_values_and_as_pulse_widths(tmp_path: Path) -> None:
    shipped = read_stick_trace(library() / "sticks" / "trace.csv")
    assert shipped.shape[1] == 5
    assert np.abs(shipped[:, 1]).max() == 1.0
    path = tmp_path / "pulses.csv"
    path.write_text(
        "t_s,roll_us,pitch_us,yaw_us,throttle_us\n0,1500,1000,2000,1500\n0.02,1750,1500,1500,1000\n"
    )
    assert read_stick_trace(path) == pytest.approx(np.array([[0, 0, -1, 1, 0.5], [0.02, 0.5, 0, 0, 0]]))


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", ["is empty"]),
        ("t,roll\n0,1\n", ["has the columns t, roll", "t_s, roll"]),
        ("t_s,roll,pitch,yaw,throttle\n0,0,0,0,0\n", ["has 1 rows"]),
        ("t_s,roll,pitch,yaw,throttle\n0,0,0,0,0\n0,0,0,0,0\n", ["line 3", "must rise"]),
        ("t_s,roll,pitch,yaw,throttle\n0,0,0,0,0\n1,3,0,0,0\n", ["line 3", "must be within"]),
        ("t_s,roll,pitch,yaw,throttle\n0,0,0,0,x\n1,0,0,0,0\n", ["line 2", "must be 5 numbers"]),
    ],
)
def test_bad_traces(tmp_path: Path, text: str, words: list[str]) -> None:
    path = tmp_path / "trace.csv"
    path.write_text(text)
    with pytest.raises(InputError) as caught:
        read_stick_trace(path)
    for word in words:
        assert word in str(caught.value)


def test_shaping_becomes_gains_and_is_stated_once() -> None:
    text = load_craft("siskin").source_text
    craft = parse_craft(f"{text}\n[sticks]\nfull_stick_rate_deg_s = 400\nhover_at_pct = 45\n")
    assert craft.sticks.as_gains() == pytest.approx({"rate_full": 400 * DEG, "throttle_hover_at": 0.45})
    with pytest.raises(InputError, match=r"is stated beside sticks.full_stick_rate_deg_s"):
        parse_craft(f"{text}\n[sticks]\nfull_stick_rate_deg_s = 400\n[gains.guide]\nrate_full = 6.0\n")
