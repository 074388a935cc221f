"""Invented flights in closed form for tests of the viewer: no physics, every value known."""

from __future__ import annotations

import math

import numpy as np
import pytest

from quadsim.simulation.columns import columns
from quadsim.simulation.run import Event, Run, Verdict

RADIUS_M, RATE = 6.0, 0.7
"""The circle: radius [m] and angular rate [rad/s]."""


def invented_view() -> dict:
    """A craft of four arms, a body and a battery."""
    places = {"front_right": (1, 1), "rear_right": (-1, 1), "rear_left": (-1, -1), "front_left": (1, -1)}
    rotors = [
        {
            "place": name,
            "at_m": [0.11 * x, 0.11 * y, -0.03],
            "radius_m": 0.076,
            "spin": "ccw" if x * y > 0 else "cw",
        }
        for name, (x, y) in places.items()
    ]
    parts = [
        {"name": f"arm {name}", "shape": "box", "size_m": [0.13, 0.014, 0.006], "at_m": [0.06 * x, 0.06 * y, 0.0],
         "yaw_rad": math.atan2(y, x), "axis": "down"}
        for name, (x, y) in places.items()
    ]  # fmt: skip
    parts += [
        {"name": f"motor {name}", "shape": "cylinder", "size_m": [0.028, 0.028, 0.02],
         "at_m": [0.11 * x, 0.11 * y, -0.012], "yaw_rad": 0.0, "axis": "down"}
        for name, (x, y) in places.items()
    ]  # fmt: skip
    parts += [
        {
            "name": "plate",
            "shape": "box",
            "size_m": [0.14, 0.05, 0.004],
            "at_m": [0, 0, -0.02],
            "yaw_rad": 0.0,
        },
        {
            "name": "battery",
            "shape": "box",
            "size_m": [0.09, 0.036, 0.03],
            "at_m": [-0.01, 0, -0.04],
            "yaw_rad": 0.0,
        },
        {
            "name": "camera",
            "shape": "box",
            "size_m": [0.02, 0.02, 0.02],
            "at_m": [0.07, 0, -0.01],
            "yaw_rad": 0.0,
        },
    ]
    feet = [[0.11 * x, 0.11 * y, 0.03] for x, y in places.values()]
    return {"name": "Invented Tern", "mass_g": 612.0, "rotors": rotors, "parts": parts, "feet_m": feet,
            "max_thrust_N": 8.0, "blades": 3}  # fmt: skip


def quaternions(roll: np.ndarray, pitch: np.ndarray, yaw: np.ndarray) -> np.ndarray:
    """Yaw-pitch-roll angles [rad] to quaternions (n, 4); Shuster (1993), J. Astronautical Sciences 41(4)."""
    cr, sr, cp, sp, cy, sy = (f(a / 2) for a in (roll, pitch, yaw) for f in (np.cos, np.sin))
    return np.stack([cr * cp * cy + sr * sp * sy, sr * cp * cy - cr * sp * sy,
                     cr * sp * cy + sr * cp * sy, cr * cp * sy - sr * sp * cy], axis=1)  # fmt: skip


def invented_run(duration_s: float = 30.0, rate_Hz: float = 100.0, *, crash: bool = False) -> Run:
    """The run; with `crash` it falls from 10 m in the last 1.43 s and fails."""
    t = np.arange(round(duration_s * rate_Hz) + 1) / rate_Hz
    n = len(t)
    data = {name: np.zeros((n, *signal.shape)) for name, signal in columns().items()}
    angle = RATE * t
    wanted = np.where(t < 1.0, 0.0, 10.0 + 4.0 * (t > 15.0))
    height = 10.0 * (1 - np.exp(-np.maximum(t - 1, 0))) + 4.0 * (1 - np.exp(-np.maximum(t - 15, 0))) + 0.03
    roll = 0.3 * np.sin(0.9 * t) + 0.25
    pitch = -0.15 + 0.12 * np.cos(1.7 * t)
    yaw = angle + np.pi / 2
    if crash:
        fall = np.maximum(t - (duration_s - 1.43), 0.0)
        height = np.maximum(10.03 - 0.5 * 9.81 * fall**2, 0.03)
        roll = roll + 4.0 * fall**2
    place = np.stack([RADIUS_M * np.cos(angle), RADIUS_M * np.sin(angle), -height], axis=1)
    data["t_s"] = t
    data["position_m"] = place
    data["velocity_m_s"] = np.gradient(place, t, axis=0)
    data["attitude"] = quaternions(roll, pitch, yaw)
    data["rates_rad_s"][:, 0] = np.gradient(roll, t)
    data["signals/attitude_wanted"] = quaternions(roll + 0.05 * np.sin(5 * t), pitch + 0.03, yaw)
    data["signals/attitude_weight"][:] = 1.0
    data["signals/mode"][:] = 3.0
    data["signals/target_height_m"] = wanted
    gust = 6.0 * np.exp(-(((t - 9.0) / 1.5) ** 2))
    data["wind_m_s"][:, 1] = 2.5 + gust
    command = (
        0.5 + 0.1 * np.sin(np.outer(t, [1.1, 1.3, 1.7, 1.9])) + 0.07 * gust[:, None] * [1, 0.4, 0.1, 1.1]
    )
    data["signals/motor"] = np.clip(command, 0.05, 1.0)
    data["duty"] = data["signals/motor"].copy()
    data["thrust_N"] = 8.0 * data["duty"] ** 1.7
    data["battery_current_A"] = 14.0 + 4.0 * np.sin(0.8 * t) + gust
    data["battery_voltage_V"] = 16.4 - 0.02 * data["battery_current_A"] * 2 - 0.03 * t
    data["charge"] = 1.0 - 0.012 * t
    data["mass_kg"][:] = 0.612
    data["signals/stick"][:, 3] = 0.5
    events = [  # labels as long as flight files write them
        Event(1.3, "ground", "lift-off"), Event(1.0, "timeline", "take off and climb to 10 m"),
        Event(7.5, "timeline", "gust from the west, 6 m/s"), Event(15.0, "timeline", "climb to 14 m"),
        Event(18.0, "payload", "payload of 80 g attached"), Event(22.0, "fault", "rear left rotor keeps 70 % of its thrust"),
    ]  # fmt: skip
    verdicts = [
        Verdict("status", None, "done; must be done", not crash),
        Verdict("max_tilt_deg", 31.2, "below 40", True),
        Verdict("height_error_m", 0.41, "below 0.5 from 4 s to 14 s", True),
        Verdict("saturated_pct", 2.913, "below 2", False),
        Verdict("min_cell_V", 3.61, "above 3.5", True),
    ]
    status = "crashed" if crash else "done"
    text = f"hit the ground at 14.0 m/s after {t[-1]:.2f} s" if crash else f"flew the whole {t[-1]:g} s"
    events.append(Event(float(t[-1]), "status", text))
    return Run("circle", "tern", status, text, data, events, {}, verdicts, invented_view(),
               {"title": "A circle in wind (invented)", "cells": 4, "capacity_mAh": 1500.0})  # fmt: skip


@pytest.fixture(scope="session")
def make_run():
    """The function that invents a run, for tests that vary it."""
    return invented_run


@pytest.fixture
def run():
    """A flight of 30 s."""
    return invented_run()


@pytest.fixture
def crash():
    """The same, falling to the ground at the end."""
    return invented_run(crash=True)
