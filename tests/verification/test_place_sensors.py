"""Sensors of place against published figures and closed forms, and wrong copies of them that must be noticed."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
from checks_place_sensors import CHECKS
from mutants_place_sensors import MUTANTS, plain_serve
from place_bench import Bench

from quadsim.config import load_craft, parse_craft, resolve_builder, resolve_plant, resolve_sensors
from quadsim.environment.atmosphere import Site, pressure_height, standard_air, standard_pressure
from quadsim.environment.magnetic import field_angles, field_vector
from quadsim.sensors.place_records import Slow
from quadsim.sensors.slow import serve_slow_sensors

PHYSICS_HZ = 4000


@pytest.mark.jit
@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.__name__)
def test_check_passes_on_the_shipped_kernel_and_on_the_plain_source(check: Callable) -> None:
    check(serve_slow_sensors)
    check(plain_serve())


@pytest.mark.jit
@pytest.mark.parametrize("wrong", MUTANTS)
def test_mutant_is_noticed(wrong: str) -> None:
    module, old, new, check = MUTANTS[wrong]
    with pytest.raises(AssertionError, match="Not equal to tolerance"):
        check(plain_serve(module, old, new))


def receiver(text: str) -> tuple:
    """Builder and sensors of Bonxie with another receiver."""
    whole = load_craft("bonxie").source_text
    start = whole.index("[gnss]")
    end = whole.index("[compass]")
    craft = parse_craft(whole[:start] + text + "\n" + whole[end:])
    plant = resolve_plant(craft, Site())
    return resolve_builder(craft, plant), resolve_sensors(craft, plant, PHYSICS_HZ, 1)


DATA_SHEET = """[gnss]
mass_g = 10
size_mm = [30, 30, 10]
at_mm = [0, 0, -60]
cep_m = 2.5
velocity_sigma_m_s = 0.05
rate_Hz = 10
first_fix_s = 26
white_pct = 100
"""
"""A module's data sheet: 2.5 m CEP autonomous, 0.05 m/s, up to 10 Hz, 26 s cold start (u-blox NEO-M8 data sheet)."""


def test_a_data_sheet_in_the_craft_file_is_what_flies() -> None:
    """CEP 2.5 m is 2.123305 m per axis and R95 5.197312 m; DRMS holds 63.21 %, 2 DRMS 98.17 % (Rayleigh distribution)."""
    builder, sensors = receiver(DATA_SHEET)
    assert builder.gnss_sigma[0] == pytest.approx(2.123305, abs=1e-6)
    assert builder.gnss_velocity_sigma == 0.05
    bench = Bench(Slow.SATELLITE, gnss_white=tuple(sensors.gnss_white), gnss_keep=sensors.gnss_keep)
    away = np.linalg.norm(bench.seen("gnss_position", 20000)[:, :2], axis=1)
    sigma = 2.123305
    for radius, share in (
        (2.5, 0.5),
        (5.197312, 0.95),
        (1.414214 * sigma, 0.6321),
        (2.828427 * sigma, 0.9817),
    ):
        assert np.mean(away < radius) == pytest.approx(
            share, abs=4.0 * math.sqrt(share * (1.0 - share) / 20000)
        )
    assert sensors.slow_every[Slow.SATELLITE] == 400.0
    assert sensors.gnss_first_fix == 26.0 * PHYSICS_HZ


def test_the_demo_receiver_lies_within_the_service() -> None:
    """95 %: horizontal 8 m, vertical 13 m, velocity 0.2 m/s, the global average of the signal in space (US DoD, GPS SPS
    Performance Standard, 5th ed., April 2020, table 3.8-3). R95 = 2.447747 sigma on a plane, 1.959964 sigma on a line."""
    craft = load_craft("bonxie")
    builder = resolve_builder(craft, resolve_plant(craft, Site()))
    assert 2.447747 * builder.gnss_sigma[0] < 8.0
    assert 1.959964 * builder.gnss_sigma[1] < 13.0
    assert 1.959964 * builder.gnss_velocity_sigma < 0.2


@pytest.mark.parametrize(
    ("pressure", "height", "short"),
    [(100000.0, 110.884, 110.901), (95000.0, 540.337, 540.418), (90000.0, 988.500, 988.647)],
)
def test_pressure_height(pressure: float, height: float, short: float) -> None:
    """ISO 2533 / US Standard Atmosphere 1976; beside it the usual 44330 (1 - (p/p0)^(1/5.255)), 0.15 m apart at 1 km."""
    assert float(pressure_height(pressure)) == pytest.approx(height, abs=0.01)
    usual = 44330.0 * (1.0 - (pressure / 101325.0) ** (1.0 / 5.255))
    assert usual == pytest.approx(short, abs=0.001)
    assert abs(float(pressure_height(pressure)) - usual) < 0.16
    assert float(standard_pressure(pressure_height(pressure))) == pytest.approx(pressure, rel=1e-12)


@pytest.mark.parametrize(
    ("pascal", "metres", "printed"),
    [(100.0, 8.3242, 8.0), (6.0, 0.4995, 0.5), (12.0, 0.9989, 1.0), (0.2, 0.01665, 0.02), (0.5, 0.0416, 0.05),
     (1.2, 0.0999, 0.1)],
)  # fmt: skip
def test_data_sheets_of_barometers_give_these_heights(pascal: float, metres: float, printed: float) -> None:
    """dp/dh = -12.0131 Pa/m at sea level (ISO 2533), and the pairs of pressure and height that data sheets print: Infineon
    DPS368 and HP303B, Bosch BMP280 (BST-BMP280-DS001-11), TE MS5611-01BA03. They round, by up to a fifth."""
    slope = float(standard_pressure(0.5) - standard_pressure(-0.5))
    assert slope == pytest.approx(-12.0131, abs=1e-4)
    assert pascal / -slope == pytest.approx(metres, rel=2e-3)
    near = float(pressure_height(101325.0 - pascal))  # the curve bends by 0.06 % within 8 m
    assert near == pytest.approx(metres, rel=2e-3)
    assert near == pytest.approx(printed, rel=0.21)


def test_the_default_barometer_is_as_good_as_its_kind() -> None:
    """TE MS5611-01BA03: 0.012 to 0.065 mbar from one setting to the next, 1.2 to 6.5 Pa: 0.10 to 0.54 m. Temperature: Bosch
    BMP280, 1.5 Pa/K: 0.125 m/K at sea level; the drift of 0.01 m/sqrt(s) makes 0.3 m in 15 minutes, 2.4 K of it (assumed)."""
    barometer = load_craft("siskin").flight_controller.barometer
    assert 0.0999 <= barometer.noise_m <= 0.54
    assert pytest.approx(0.1249, abs=1e-4) == 1.5 / 12.0131
    assert barometer.drift_m_rts * math.sqrt(900.0) == pytest.approx(2.4 * 0.125, rel=0.01)


def test_a_port_in_the_wind_misreads_by_bernoulli() -> None:
    """Cp = 0.2 at 30 m/s: 110 Pa, which the standard atmosphere takes for 9.2 m; by its pressure_height, not by rho g."""
    pressure = 101325.0 + 0.2 * 0.5 * 1.225 * 30.0**2
    sensors = _baro("static_pressure_coefficient = 0.2")
    bench = Bench(Slow.BAROMETER, baro_port=sensors.baro_port)
    bench.x[2], bench.x[3] = 0.0, 30.0
    assert bench.run().baro_height == pytest.approx(float(pressure_height(pressure)), rel=1e-3)
    assert bench.signals.baro_height == pytest.approx(-9.177, abs=1e-3)


@pytest.mark.parametrize("temperature_C", [-10.0, 15.0, 35.0])
def test_a_controller_that_is_not_told_the_temperature(temperature_C: float) -> None:
    """Isothermal air: p = p0 exp(-g h/(R T)); the standard atmosphere makes less of it on a hot day, 6.5 % at 35 deg C."""
    site = Site(temperature_C=temperature_C)
    sensors = _baro('conversion = "standard air"', site)
    kelvin, height = temperature_C + 273.15, 20.0
    pressure = 101325.0 * math.exp(-9.80665 * height / (287.05287 * kelvin))
    assert sensors.baro_scale * height == pytest.approx(float(pressure_height(pressure)), rel=1e-3)
    assert _baro("", site).baro_scale == 1.0
    high = Site.at_altitude(2000.0)
    assert _baro('conversion = "standard air"', high).baro_scale == pytest.approx(1.0, abs=1e-5)
    assert float(standard_air(2000.0).pressure) == pytest.approx(high.pressure_hPa * 100.0)


def test_wash_is_a_share_of_the_disc_loading() -> None:
    """4 rotors of 5 in radius in hover at 1.604 kg: 15.73 N over 0.2027 m2 are 77.6 Pa; 1.5 % of it, over rho g, is 0.097 m."""
    craft = load_craft("bonxie")
    sensors = resolve_sensors(craft, resolve_plant(craft, Site()), PHYSICS_HZ, 1)
    assert sensors.baro_wash * 1.604 * 9.80665 == pytest.approx(0.0969, abs=2e-4)


FIELDS = [
    ((20139.0, -4905.0, 46532.0), 50940.0, 65.9899, -13.6891),
]
"""World Magnetic Model 2025 at 42.283 N 71.35 W, 1000 m, 4 July 2028 [nT, deg]: MathWorks, documentation of wrldmagm, example."""


@pytest.mark.parametrize(("components", "strength", "inclination", "declination"), FIELDS)
def test_components_of_the_earths_field(
    components: tuple, strength: float, inclination: float, declination: float
) -> None:
    seen = field_angles(*components)
    assert seen[0] == pytest.approx(strength, abs=1.0)
    assert np.degrees(seen[1:]) == pytest.approx(
        [inclination, declination], abs=1e-3
    )  # the components are whole nanoteslas
    assert math.hypot(*components[:2]) == pytest.approx(20727.0, abs=1.0)
    back = field_vector(strength, math.radians(inclination), math.radians(declination))
    assert back == pytest.approx(components, abs=1.0)


def test_the_field_of_a_flight_is_that_of_its_site_and_what_was_told() -> None:
    """Declination told wrongly by 0.5 deg turns the believed field by that about the vertical."""
    craft = load_craft("bonxie")
    site = Site(field_uT=50.940, inclination_deg=65.9899, declination_deg=-13.6891)
    plant = resolve_plant(craft, site)
    assert np.array(plant.magnetic_field) * 1e9 == pytest.approx([20139.0, -4905.0, 46532.0], abs=1.0)
    told = resolve_builder(craft, plant).local_field
    north, east = plant.magnetic_field[:2]
    assert math.degrees(math.atan2(told[1], told[0]) - math.atan2(east, north)) == pytest.approx(
        0.5, abs=1e-9
    )
    assert told[2] == pytest.approx(plant.magnetic_field[2], rel=1e-12)


def _baro(keys: str, site: Site | None = None) -> object:
    """Sensors of Siskin with a barometer of these keys."""
    whole = load_craft("siskin").source_text
    lines = [line for line in whole.splitlines() if not line.startswith("barometer =")]
    craft = parse_craft("\n".join(lines) + f"\n[flight_controller.barometer]\n{keys}\n")
    return resolve_sensors(craft, resolve_plant(craft, site or Site()), PHYSICS_HZ, 1)
