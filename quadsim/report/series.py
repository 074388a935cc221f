"""What a sheet draws of a run: panels of lines over time, in the units of the screen."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from controllers.signals import TARGET_MODES
from quadsim.dynamics.state import ROTOR_NAMES
from quadsim.report.palette import FLOWN, REAR, WANTED, WIND
from quadsim.simulation.run import Run
from quadsim.units import CELSIUS, DEG

Array = NDArray[np.float64]
FULL_COMMAND = 0.999
"""Motor command from which a motor counts as saturated [-], as in the metric saturated_pct."""

WARMING = 25.0
"""Rise of a winding from which its temperature is drawn [K]; assumed."""
STILL = 1e-6
"""Air slower than this stands still [m/s]."""


@dataclass(frozen=True)
class Line:
    """One line over the times of the run; NaN where it does not apply."""

    label: str
    values: Array
    colour: str = FLOWN
    width: float = 1.1
    dashes: tuple[float, float] | None = None


@dataclass(frozen=True)
class Panel:
    """One set of axes. `least_span` keeps noise from being blown up to the height of the panel."""

    title: str
    unit: str
    lines: tuple[Line, ...]
    least_span: float
    height: float = 1.0
    low: float | None = None
    high: float | None = None
    alarm: NDArray[np.bool_] | None = field(default=None)
    alarm_text: str = ""


def panels(run: Run) -> list[Panel]:
    """The panels of a run from top to bottom; those that would be empty are left out."""
    found = [make(run) for make in MAKERS]
    return [panel for panel in found if panel is not None]


def _where(values: Array, rows: NDArray[np.bool_]) -> Array:
    return np.where(rows, values, np.nan)


def _wanted(label: str, values: Array) -> Line:
    return Line(label, values, WANTED, 0.9)


def _height(run: Run) -> Panel:
    followed = np.isin(run["signals/mode"], TARGET_MODES)
    target = _wanted("wanted", _where(run["signals/target_height_m"], followed))
    return Panel("Height", "m", (target, Line("flown", run["height_m"])), 1.0, 1.35)


def _angles(q: Array) -> tuple[Array, Array, Array]:
    """Roll, pitch, heading [deg] of quaternions (n, 4). J. Diebel, Representing Attitude (Stanford, 2006), eq. 290."""
    w, x, y, z = q.T
    roll = np.arctan2(2.0 * (w * x + y * z), 1.0 - 2.0 * (x * x + y * y))
    pitch = np.arcsin(np.clip(2.0 * (w * y - x * z), -1.0, 1.0))
    heading = np.arctan2(2.0 * (w * z + x * y), 1.0 - 2.0 * (y * y + z * z))
    return roll / DEG, pitch / DEG, heading / DEG


def drawable(angle_deg: Array) -> Array:
    """An angle without jumps at half a turn; one that turns on and on stays within half a turn and breaks there."""
    known = np.isfinite(angle_deg)
    if not known.any():
        return angle_deg
    smooth = angle_deg.copy()
    smooth[known] = np.unwrap(angle_deg[known], period=360.0)
    if np.ptp(smooth[known]) <= 400.0:
        return smooth
    broken = angle_deg.copy()
    broken[1:][np.abs(np.diff(angle_deg)) > 180.0] = np.nan
    return broken


def _angle(run: Run, index: int) -> tuple[Line, Line]:
    flown = drawable(_angles(run["attitude"])[index])
    wanted = drawable(
        _where(_angles(run["signals/attitude_wanted"])[index], run["signals/attitude_weight"] > 0.5)
    )
    known = np.isfinite(wanted) & np.isfinite(flown)
    if known.any():
        wanted = wanted + 360.0 * np.round((flown[known][0] - wanted[known][0]) / 360.0)
    return _wanted("wanted", wanted), Line("flown", flown)


def _by_rates(run: Run) -> bool:
    """True for a flight that is mostly flown by rates, where attitudes are not asked for."""
    return bool(np.mean(run["signals/attitude_weight"] > 0.5) < 0.5)


def _rate(run: Run, title: str, index: int) -> Panel:
    wanted = _wanted("wanted", run["signals/rates_wanted_rad_s"][:, index] / DEG)
    return Panel(title, "deg/s", (wanted, Line("flown", run["rates_rad_s"][:, index] / DEG)), 20.0)


def _roll(run: Run) -> Panel:
    if _by_rates(run):
        return _rate(run, "Roll rate, right down positive", 0)
    return Panel("Roll, right down positive", "deg", _angle(run, 0), 8.0)


def _pitch(run: Run) -> Panel:
    if _by_rates(run):
        return _rate(run, "Pitch rate, nose up positive", 1)
    return Panel("Pitch, nose up positive", "deg", _angle(run, 1), 8.0)


def _heading(run: Run) -> Panel | None:
    if _by_rates(run):
        return _rate(run, "Yaw rate, clockwise positive", 2)
    lines = _angle(run, 2)
    if np.nanmax(lines[1].values) - np.nanmin(lines[1].values) < 5.0:
        return None
    return Panel("Heading, clockwise from north", "deg", lines, 20.0)


def _motors(run: Run) -> Panel:
    motor = 100.0 * run["signals/motor"]
    looks = {
        "front_right": (FLOWN, None), "front_left": (FLOWN, (3.0, 1.4)),
        "rear_right": (REAR, None), "rear_left": (REAR, (3.0, 1.4)),
    }  # fmt: skip
    lines = tuple(
        Line(name.replace("_", " "), motor[:, k], looks[name][0], 0.9, looks[name][1])
        for k, name in enumerate(ROTOR_NAMES)
    )
    full = np.max(motor, axis=1) >= 100.0 * FULL_COMMAND
    return Panel("Motor command", "%", lines, 100.0, 1.35, 0.0, 104.0, full, "a motor is saturated")


def _current(run: Run) -> Panel:
    return Panel("Pack current", "A", (Line("", run["battery_current_A"]),), 2.0, 0.8, low=0.0)


def _voltage(run: Run) -> Panel:
    return Panel(
        "Loaded voltage of a cell",
        "V",
        (Line("", run["battery_voltage_V"] / float(run.meta["cells"])),),
        0.1,
        0.8,
    )


def _air(run: Run) -> Panel:
    """Wind by its parts where there is any, speed over ground where the air stands still."""
    wind = run["wind_m_s"]
    if not np.any(np.abs(wind) > STILL):
        speed = np.linalg.norm(run["velocity_m_s"], axis=1)
        return Panel("Speed over ground", "m/s", (Line("", speed),), 1.0, 0.8, low=0.0)
    names = ("towards north", "towards east", "up")
    parts = [wind[:, 0], wind[:, 1], -wind[:, 2]]
    dashes: list[tuple[float, float] | None] = [None, (3.0, 1.4), (1.0, 1.2)]
    lines = [
        Line(name, part, WIND, 1.0, d)
        for name, part, d in zip(names, parts, dashes, strict=True)
        if np.any(np.abs(part) > STILL)
    ]
    return Panel("Wind", "m/s", tuple(lines), 2.0, 0.8)


def _warmth(run: Run) -> Panel | None:
    """Temperatures of the warmest motor where they move."""
    windings, cases = run["winding_temperature_K"], run["case_temperature_K"]
    warmest = int(np.argmax(np.max(windings, axis=0)))
    winding, case = windings[:, warmest] - CELSIUS, cases[:, warmest] - CELSIUS
    if np.ptp(winding) < WARMING:
        return None
    lines = (Line("winding", winding), Line("case", case, REAR))
    place = ROTOR_NAMES[warmest].replace("_", " ")
    return Panel(f"Temperature of the {place} motor", "deg C", lines, 20.0, 0.8)


def _line(run: Run) -> Panel | None:
    """Tension of a load's line where there is one; the greatest between two rows, so that no jerk is lost."""
    tension = run["line_peak_N"]
    if not np.any(tension > 0.0):
        return None
    return Panel("Tension of the line", "N", (Line("", tension),), 2.0, 0.8, low=0.0)


MAKERS: tuple[Callable[[Run], Panel | None], ...] = (
    _height,
    _roll,
    _pitch,
    _heading,
    _motors,
    _line,
    _current,
    _voltage,
    _warmth,
    _air,
)
"""Makers of the panels from top to bottom."""
