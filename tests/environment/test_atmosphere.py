"""The atmosphere's edges: arrays, out of range, the site."""

import math

import numpy as np
import pytest

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


def test_density_altitude_undoes_the_atmosphere():
    air = standard_air(2000.0)
    geopotential = 6356766.0 * 2000.0 / (6356766.0 + 2000.0)
    assert density_altitude(float(air.density)) == pytest.approx(geopotential, abs=1e-6)
