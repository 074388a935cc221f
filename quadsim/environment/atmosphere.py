"""ICAO standard atmosphere, and the air at one flying site.

ICAO Doc 7488 (1993): layers up to 20 km; identical to the U.S. Standard Atmosphere 1976 (NASA-TM-X-74335) there.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from quadsim.constants import EARTH_RADIUS, G0, GAMMA_AIR, LAPSE, P0, R_AIR, SUTHERLAND_B, SUTHERLAND_S, T0
from quadsim.environment.magnetic import field_vector
from quadsim.errors import InputError, Problem
from quadsim.units import CELSIUS, DEG, MICRO

Array = NDArray[np.float64]

TROPOPAUSE = 11000.0
"""Geopotential height where the temperature stops falling [m]. ICAO Doc 7488."""
LOWEST_ALTITUDE, HIGHEST_ALTITUDE = -4996.0, 20063.0
"""Geometric altitudes of -5 and 20 km geopotential, where these two layers start and end [m]. ICAO Doc 7488."""
EXPONENT = G0 / (LAPSE * R_AIR)
"""Exponent of pressure over temperature in the troposphere [-]."""


@dataclass(frozen=True)
class Air:
    """Temperature [K], pressure [Pa], density [kg/m3], speed of sound [m/s], dynamic viscosity [Pa s]."""

    temperature: Array
    pressure: Array
    density: Array
    speed_of_sound: Array
    viscosity: Array


def geopotential_height(altitude: ArrayLike) -> Array:
    """Geopotential height [m] of a geometric altitude above mean sea level [m]: H = r Z/(r + Z). ICAO Doc 7488."""
    z = np.asarray(altitude, dtype=float)
    height: Array = EARTH_RADIUS * z / (EARTH_RADIUS + z)
    return height


def standard_temperature(height: ArrayLike) -> Array:
    """Temperature [K] at a geopotential height [m]: T0 - L H, constant above 11 km. ICAO Doc 7488."""
    return T0 - LAPSE * np.minimum(np.asarray(height, dtype=float), TROPOPAUSE)


def standard_pressure(height: ArrayLike) -> Array:
    """Pressure [Pa] at a geopotential height [m]: P0 (T/T0)^(g0/(L R)), exponential above 11 km. ICAO Doc 7488."""
    h = np.asarray(height, dtype=float)
    temperature = standard_temperature(h)
    above = np.maximum(h - TROPOPAUSE, 0.0)
    pressure: Array = P0 * (temperature / T0) ** EXPONENT * np.exp(-G0 * above / (R_AIR * temperature))
    return pressure


def speed_of_sound(temperature: ArrayLike) -> Array:
    """Speed of sound [m/s] in dry air at a temperature [K]: sqrt(gamma R T). ICAO Doc 7488."""
    return np.sqrt(GAMMA_AIR * R_AIR * np.asarray(temperature, dtype=float))


def pressure_height(pressure: ArrayLike) -> Array:
    """Geopotential height [m] at which standard air of the troposphere has this pressure [Pa]; inverse of standard_pressure."""
    height: Array = T0 / LAPSE * (1.0 - (np.asarray(pressure, dtype=float) / P0) ** (1.0 / EXPONENT))
    return height


def viscosity(temperature: ArrayLike) -> Array:
    """Dynamic viscosity [Pa s] of air at a temperature [K], Sutherland's formula. ICAO Doc 7488."""
    t = np.asarray(temperature, dtype=float)
    value: Array = SUTHERLAND_B * t * np.sqrt(t) / (t + SUTHERLAND_S)
    return value


def standard_air(altitude: ArrayLike) -> Air:
    """Standard air at a geometric altitude above mean sea level [m], a number or an array.

    Raises
    ------
    InputError
        outside the two layers, or when the altitude is not a number.
    """
    z = np.asarray(altitude, dtype=float)
    if not bool(np.all((z >= LOWEST_ALTITUDE) & (z <= HIGHEST_ALTITUDE))):
        raise InputError([Problem("altitude_m", f"is {altitude!r}", "must be within -4996 to 20063 m")])
    height = geopotential_height(z)
    temperature, pressure = standard_temperature(height), standard_pressure(height)
    density = pressure / (R_AIR * temperature)
    return Air(temperature, pressure, density, speed_of_sound(temperature), viscosity(temperature))


def density_altitude(density: float) -> float:
    """Geopotential height [m] at which standard air of the troposphere has this density [kg/m3].

    From rho = rho0 (T/T0)^(g0/(L R) - 1), ICAO Doc 7488.
    """
    ratio = density * R_AIR * T0 / P0
    return T0 / LAPSE * (1.0 - math.pow(ratio, 1.0 / (EXPONENT - 1.0)))


AS_THE_AIR = -math.inf
"""Stands for a pack as warm as the air around it [deg C]."""


@dataclass(frozen=True)
class Site:
    """The flying field: temperature [deg C], pressure there (not at sea level) [hPa], gravity [m/s2], temperature of the
    battery [deg C], which is the air's when it is AS_THE_AIR; strength [uT], inclination and declination [deg] of the
    Earth's magnetic field, by default those of an invented place in middle northern latitudes.

    Raises
    ------
    InputError
        when a value is outside what may occur on Earth; all problems at once.
    """

    temperature_C: float = 15.0
    pressure_hPa: float = 1013.25
    gravity: float = G0
    pack_temperature_C: float = AS_THE_AIR
    field_uT: float = 49.0
    inclination_deg: float = 65.0
    declination_deg: float = 3.0

    def __post_init__(self) -> None:
        as_the_air = self.pack_temperature_C == AS_THE_AIR
        if as_the_air:
            object.__setattr__(self, "pack_temperature_C", self.temperature_C)
        limits = {
            "temperature_C": (-90.0, 60.0, "deg C"),
            "pressure_hPa": (300.0, 1100.0, "hPa"),
            "gravity": (0.1, 30.0, "m/s2"),
            "field_uT": (20.0, 70.0, "uT"),
            "inclination_deg": (-90.0, 90.0, "deg"),
            "declination_deg": (-180.0, 180.0, "deg"),
        }
        if not as_the_air:
            limits["pack_temperature_C"] = (-40.0, 70.0, "deg C")
        problems = [
            Problem(f"site.{name}", f"is {value!r}", f"must be within {low:g} to {high:g} {unit}")
            for name, (low, high, unit) in limits.items()
            if not low <= (value := getattr(self, name)) <= high
        ]
        if problems:
            raise InputError(problems)

    @classmethod
    def at_altitude(cls, altitude_m: float, temperature_C: float | None = None) -> Site:
        """A site at a geometric altitude [m] with standard pressure, and standard temperature unless given."""
        air = standard_air(altitude_m)
        temperature = float(air.temperature) - CELSIUS if temperature_C is None else temperature_C
        return cls(temperature, float(air.pressure) / 100.0)

    @classmethod
    def stated(
        cls,
        temperature_C: float | None = None,
        pressure_hPa: float | None = None,
        elevation_m: float | None = None,
        pack_temperature_C: float | None = None,
        **magnetic: float | None,
    ) -> Site:
        """A site from what is known of it: the pressure there or the elevation, for the standard pressure; the rest standard.

        magnetic : `field_uT`, `inclination_deg`, `declination_deg`

        Raises
        ------
        InputError
            when both pressure and elevation are given, or a value is out of range.
        """
        if pressure_hPa is not None and elevation_m is not None:
            given = f"is {elevation_m:g} beside a pressure of {pressure_hPa:g} hPa"
            allowed = "the pressure at the field, or the elevation for the standard pressure there"
            raise InputError([Problem("site.elevation_m", given, allowed, "Leave one out")])
        pack = AS_THE_AIR if pack_temperature_C is None else pack_temperature_C
        stated: dict[str, Any] = {key: value for key, value in magnetic.items() if value is not None}
        if elevation_m is not None:
            return replace(cls.at_altitude(elevation_m, temperature_C), pack_temperature_C=pack, **stated)
        return cls(
            temperature_C=15.0 if temperature_C is None else temperature_C,
            pressure_hPa=1013.25 if pressure_hPa is None else pressure_hPa,
            pack_temperature_C=pack,
            **stated,
        )

    @property
    def magnetic_field(self) -> Array:
        """The Earth's field, north-east-down (3,) [T]."""
        return field_vector(self.field_uT * MICRO, self.inclination_deg * DEG, self.declination_deg * DEG)

    @property
    def density(self) -> float:
        """Density of dry air [kg/m3], ideal gas: p/(R T)."""
        return self.pressure_hPa * 100.0 / (R_AIR * (self.temperature_C + CELSIUS))
