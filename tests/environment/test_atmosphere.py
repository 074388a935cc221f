"""The atmosphere's edges: arrays, out of range, the site."""

import math

import numpy as np
import pytest

from quadsim.config.flight_loader import parse_flight
from quadsim.environment.atmosphere import Site, density_altitude, standard_air
from quadsim.errors import InputError


def test_arrays_give_what_numbers_give():
    heights = np.array([-300.0, 0.0, 1234.0, 11500.0, 15000.0])
    together = standard_air(heights)
    for k, height in enumerate(heights):
        alone = standard_air(float(height))
        assert together.pressure[k] == alone.pressure
        assert together.density[k] == alone.density
        assert together.viscosity[k] == alone.viscosity


@pytest.mark.parametrize("altitude", [-6000.0, 21000.0, math.nan, math.inf])
def test_outside_the_model_is_refused(altitude):
    with pytest.raises(InputError, match="must be within -4996 to 20063 m"):
        standard_air(altitude)


def test_site_density_is_the_ideal_gas():
    # p = rho R T with R = 287.05287 J/(kg K), ICAO Doc 7488
    assert Site(temperature_C=30.0, pressure_hPa=900.0).density == pytest.approx(
        90000.0 / (287.05287 * 303.15), rel=1e-12
    )


def test_site_at_altitude_takes_the_given_temperature_but_the_standard_pressure():
    standard, hot = Site.at_altitude(1500.0), Site.at_altitude(1500.0, temperature_C=35.0)
    assert (
        hot.pressure_hPa == standard.pressure_hPa == pytest.approx(845.59, rel=1e-4)
    )  # NASA-TM-X-74335, table I
    assert hot.density / standard.density == pytest.approx(278.402 / 308.15, rel=1e-5)


def test_site_lists_every_bad_value_at_once():
    with pytest.raises(InputError) as caught:
        Site(temperature_C=200.0, pressure_hPa=math.nan, gravity=-9.8)
    assert [problem.where for problem in caught.value.problems] == [
        "site.temperature_C", "site.pressure_hPa", "site.gravity",
    ]  # fmt: skip


def test_a_site_is_stated_by_pressure_or_elevation_and_the_rest_is_standard():
    assert Site.stated() == Site() == Site(15.0, 1013.25)
    assert Site.stated(temperature_C=3.0).pack_temperature_C == 3.0
    assert Site.stated(temperature_C=3.0, pack_temperature_C=25.0).pack_temperature_C == 25.0
    high = Site.stated(elevation_m=1500.0, pack_temperature_C=20.0)
    assert high.temperature_C + 273.15 == pytest.approx(278.402, abs=0.005)  # NASA-TM-X-74335, table I
    assert (high.pressure_hPa, high.pack_temperature_C) == (Site.at_altitude(1500.0).pressure_hPa, 20.0)
    with pytest.raises(InputError, match="is 1500 beside a pressure of 900 hPa"):
        Site.stated(pressure_hPa=900.0, elevation_m=1500.0)


def test_the_site_of_a_flight_file():
    head = 'title = "t"\ncraft = "siskin"\nduration_s = 1\n[site]\n'
    assert parse_flight(head).site.resolved == Site()
    hot = parse_flight(head + "temperature_C = 35\nelevation_m = 1000\n").site
    assert hot.resolved.density == pytest.approx(0.83 * 1.225, rel=2e-3)
    assert hot.but({"pressure_hPa": 1000.0}) == Site(35.0, 1000.0)
    with pytest.raises(InputError, match="is given beside pressure_hPa"):
        parse_flight(head + "elevation_m = 1000\npressure_hPa = 900\n")


def test_density_altitude_undoes_the_atmosphere():
    air = standard_air(2000.0)
    geopotential = 6356766.0 * 2000.0 / (6356766.0 + 2000.0)
    assert density_altitude(float(air.density)) == pytest.approx(geopotential, abs=1e-6)
