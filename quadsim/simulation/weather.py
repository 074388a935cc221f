"""From the wind of a flight file to the records that the flight loop reads."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from quadsim.config.flight_schema import FlightFile
from quadsim.config.wind_schema import FrontSection, TurbulenceSection, WindSection
from quadsim.dynamics.records import GUSTS, WIND, rows
from quadsim.environment import profile
from quadsim.environment.turbulence import GUST_FACTOR, PEAK_FACTOR, W20_KNOTS, dryden_scales
from quadsim.units import DEG, FOOT, KNOT

CHORD_DEG = 4.0
"""Most by which a front turns between two rows of the table [deg]; the straight line between them is 0.06 % slower."""


def towards(from_deg: float) -> np.ndarray:
    """Unit vector, north-east-down, of where a wind FROM `from_deg` goes to."""
    return -np.array([math.cos(from_deg * DEG), math.sin(from_deg * DEG), 0.0])


def wind_record(wind: WindSection, interval_s: float) -> Any:
    """WIND record of a flight; `interval_s` lies between two looks at the wind."""
    record = rows(WIND)[0]
    record.interval, record.reference_height = interval_s, wind.reference_height_m
    record.profile = {"uniform": profile.UNIFORM, "log": profile.LOG, "power": profile.POWER}[wind.profile]
    record.exponent = profile.SEVENTH_ROOT if wind.exponent is None else wind.exponent
    if wind.profile == "log" and wind.terrain is not None:
        record.roughness = profile.TERRAIN[wind.terrain]
        record.log_gain = profile.terrain_factor(record.roughness)
    elif wind.profile == "log":
        record.roughness = profile.SHORT_GRASS if wind.roughness_m is None else wind.roughness_m
        record.log_gain = profile.log_gain(record.roughness, wind.reference_height_m)
    if wind.fronts_speed_m_s is not None:
        origin = wind.from_deg if wind.fronts_from_deg is None else wind.fronts_from_deg
        record.delay[:] = towards(origin)[:2] / wind.fronts_speed_m_s
    if wind.turbulence is not None:
        record.sigma_w = turbulence_strength(wind.turbulence, wind, record)
    return record


def turbulence_strength(turbulence: TurbulenceSection, wind: WindSection, record: Any) -> float:
    """Standard deviation of the vertical turbulence [m/s]: a tenth of the wind at 20 ft (MIL-F-8785C sec. 3.7.3.4).

    By the forecast, the gust is PEAK_FACTOR standard deviations of the level turbulence above the mean at its height.
    """
    if turbulence.w20_m_s is not None:
        return 0.1 * turbulence.w20_m_s
    if turbulence.intensity == "mean":
        return 0.1 * wind.speed_m_s * float(profile.profile_share(20.0 * FOOT, record))
    if turbulence.intensity == "forecast":
        ratio = dryden_scales(wind.reference_height_m)[2]
        return forecast_excess(wind) / (PEAK_FACTOR * float(ratio))
    return 0.1 * W20_KNOTS[str(turbulence.intensity)] * KNOT


def forecast_excess(wind: WindSection) -> float:
    """What the forecast gust exceeds the mean wind by [m/s]."""
    gust = GUST_FACTOR * wind.speed_m_s if wind.forecast_gust_m_s is None else wind.forecast_gust_m_s
    return gust - wind.speed_m_s


def mean_winds(flight: FlightFile) -> np.ndarray:
    """Reference wind over time, rows (t, north, east, down) [s, m/s], at least one: the record, or mean wind and fronts."""
    if flight.wind_record is not None:
        return np.ascontiguousarray(flight.wind_record)
    wind = flight.wind
    speed, origin = float(wind.speed_m_s), float(wind.from_deg)
    table = [_row(0.0, speed, origin)]
    for front in wind.fronts:
        table += _front_rows(front, speed, origin)
        speed = speed if front.to_speed_m_s is None else float(front.to_speed_m_s)
        origin = origin if front.to_from_deg is None else float(front.to_from_deg)
    return np.array(table)


def _row(t: float, speed: float, from_deg: float) -> list[float]:
    return [t, *(speed * towards(from_deg))]


def _front_rows(front: FrontSection, speed: float, origin: float) -> list[list[float]]:
    """Rows from the start of a front to its end, close enough for straight lines between them."""
    faster = 0.0 if front.to_speed_m_s is None else front.to_speed_m_s - speed
    turn = 0.0 if front.to_from_deg is None else (front.to_from_deg - origin + 180.0) % 360.0 - 180.0
    shares = np.linspace(0.0, 1.0, 1 + max(1, math.ceil(abs(turn) / CHORD_DEG)))
    if front.over_s == 0.0:
        shares = np.array([0.0, 1.0])
    return [_row(front.at_s + s * front.over_s, speed + s * faster, origin + s * turn) for s in shares]


def gust_records(wind: WindSection) -> np.recarray:
    """The gusts of a flight as records (at least none)."""
    gusts = rows(GUSTS, len(wind.gusts))
    for record, gust in zip(gusts, wind.gusts, strict=True):
        record.start, record.duration, record.holds = gust.at_s, gust.duration_s, gust.form == "holding"
        speed, origin = gust.speed_m_s, gust.from_deg or 0.0
        if gust.strength == "forecast":
            speed, origin = forecast_excess(wind), wind.from_deg if gust.from_deg is None else gust.from_deg
        record.velocity[:] = speed * towards(origin) + np.array([0.0, 0.0, -gust.up_m_s])
    return gusts
