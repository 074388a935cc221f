"""Standard atmosphere against its published table and against an independent library."""

import numpy as np
import pytest
from ambiance import Atmosphere

from quadsim.environment.atmosphere import Site, density_altitude, standard_air, standard_pressure

TABLE = [
    # geometric altitude [m], T [K], p [Pa], rho [kg/m3]
    (0.0, 288.15, 101325.0, 1.225),
    (500.0, 284.9, 95461.0, 1.1673),
    (1000.0, 281.651, 89876.0, 1.1117),
    (1500.0, 278.402, 84559.0, 1.0581),
    (2000.0, 275.154, 79501.0, 1.0066),
    (5000.0, 255.676, 54048.0, 0.73643),
]
"""U.S. Standard Atmosphere 1976 (NASA-TM-X-74335), table I; the same as ICAO Doc 7488 (1993) below 32 km."""

FOOT = 0.3048


@pytest.mark.parametrize(("altitude", "temperature", "pressure", "density"), TABLE)
def test_published_table(altitude, temperature, pressure, density):
    air = standard_air(altitude)
    assert air.temperature == pytest.approx(temperature, abs=0.005)
    assert air.pressure == pytest.approx(pressure, rel=1e-4)
    assert air.density == pytest.approx(density, rel=1e-4)


@pytest.mark.parametrize(
    ("altitude", "temperature", "pressure", "density", "sound", "viscosity"),
    [
        (250.0, 286.5250639, 98357.649317, 1.1958690589, 339.33313821, 1.7815291290e-5),
        (4000.0, 262.1663502, 61660.422574, 0.8193465989, 324.58873141, 1.6611900406e-5),
    ],
)
def test_between_the_rows(altitude, temperature, pressure, density, sound, viscosity):
    # ICAO Doc 7488 (1993), computed with the library ambiance 1.3.1
    air = standard_air(altitude)
    assert air.temperature == pytest.approx(temperature, abs=0.005)
    assert air.pressure == pytest.approx(pressure, rel=1e-4)
    assert air.density == pytest.approx(density, rel=1e-4)
    assert air.speed_of_sound == pytest.approx(sound, abs=0.01)
    assert air.viscosity == pytest.approx(viscosity, rel=1e-3)


def test_the_whole_range_against_ambiance():
    # ambiance: independent implementation of ICAO Doc 7488, both layers; it rounds the pressure at 11 km (2e-6)
    altitudes = np.linspace(-4900.0, 20000.0, 60)
    ours, theirs = standard_air(altitudes), Atmosphere(altitudes)
    np.testing.assert_allclose(ours.temperature, theirs.temperature, rtol=1e-9)
    np.testing.assert_allclose(ours.pressure, theirs.pressure, rtol=5e-6)
    np.testing.assert_allclose(ours.density, theirs.density, rtol=5e-6)
    np.testing.assert_allclose(ours.speed_of_sound, theirs.speed_of_sound, rtol=1e-9)
    np.testing.assert_allclose(ours.viscosity, theirs.dynamic_viscosity, rtol=1e-9)


def test_a_hot_day_at_a_thousand_metres():
    # NASA-TM-X-74335, table I: 89876 Pa at 1000 m; ideal gas at 308.15 K over 1.225 kg/m3
    site = Site.stated(temperature_C=35.0, elevation_m=1000.0)
    assert site.pressure_hPa == pytest.approx(898.76, rel=1e-4)
    assert site.density / 1.225 == pytest.approx(89876.0 / (287.05287 * 308.15) / 1.225, rel=1e-4)
    assert site.density / 1.225 == pytest.approx(0.83, abs=0.005)


def test_hot_and_high_density_altitude():
    # Pressure altitude 5470 ft, 35 deg C: worked example at millionaire-lane.com/Density/Density-Altitude-02.htm
    # (rule of thumb 9070 ft); exact values from the equations of ICAO Doc 7488
    pressure = float(standard_pressure(5470.0 * FOOT))
    site = Site(temperature_C=35.0, pressure_hPa=pressure / 100.0)
    assert site.density == pytest.approx(0.93646, rel=5e-4)
    exact_ft = density_altitude(site.density) / FOOT
    assert exact_ft == pytest.approx(8895.2, abs=10.0)
    assert exact_ft == pytest.approx(9070.0, rel=0.04)
