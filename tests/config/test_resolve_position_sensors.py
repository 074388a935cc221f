"""From craft to the sensors of place: clocks, conversions, draws, and what is refused."""

import math

import numpy as np
import pytest

from quadsim.config import choose_rates, mass_properties, resolve_builder, resolve_plant, resolve_sensors
from quadsim.environment.atmosphere import Site
from quadsim.errors import InputError
from quadsim.sensors.place_records import NO_DROP, Slow

GNSS = """
[gnss]
mass_g = 20
size_mm = [40, 40, 12]
at_mm = [-10, 0, -60]
rate_Hz = 5
delay_ms = 150
cep_m = 2
correlation_s = 50
white_pct = 10
price = 30
"""
COMPASS = """
[compass]
mass_g = 0
size_mm = [10, 10, 2]
at_mm = [-10, 0, -60]
rate_Hz = 75
hard_iron_uT = 2
soft_iron_pct = 3
price = 8
"""
RANGEFINDER = """
[rangefinder]
mass_g = 5
size_mm = [20, 12, 8]
at_mm = [20, 0, 5]
dropout_pct = 2.275013
price = 12
"""
HOMING = ('link_loss = "cut"', 'link_loss = "homing"')


def sensors_of(craft, seed=1):
    return resolve_sensors(craft, resolve_plant(craft, Site()), choose_rates(craft).physics_Hz, seed)


def test_clocks_in_ticks_of_the_physics(make_craft):
    fast = (
        "resistance_mohm = 5\n",
        "resistance_mohm = 5\nspeed_telemetry_Hz = 300\ntelemetry_delay_ms = 2\n",
    )
    sensors = sensors_of(make_craft(fast, more=GNSS + COMPASS + RANGEFINDER))
    assert np.array(sensors.slow_every) == pytest.approx([80.0, 800.0, 4000 / 75, 80.0, 4000 / 300])
    assert np.array(sensors.slow_delay) == pytest.approx([40.0, 600.0, 40.0, 80.0, 8.0])
    assert np.all(np.array(sensors.slow_drop)[[0, 1, 2, 4]] == NO_DROP)
    assert sensors.slow_drop[Slow.RANGEFINDER] == pytest.approx(
        -2.0, abs=1e-5
    )  # 2.275 % below -2 sigma (tables)


def test_a_bare_craft_carries_a_barometer_alone(make_craft):
    craft = make_craft()
    sensors, builder = sensors_of(craft), resolve_builder(craft, resolve_plant(craft, Site()))
    assert np.count_nonzero(sensors.slow_every) == 1
    assert (builder.gnss, builder.compass, builder.rangefinder, builder.speed_telemetry) == (0.0,) * 4
    assert not np.any(builder.local_field)


def test_the_builder_knows_what_it_carries(make_craft):
    craft = make_craft(more=GNSS + COMPASS + RANGEFINDER)
    plant = resolve_plant(craft, Site())
    builder = resolve_builder(craft, plant)
    assert (builder.gnss, builder.compass, builder.rangefinder) == (1.0, 1.0, 1.0)
    assert builder.gnss_sigma[0] == pytest.approx(2.0 / 1.177410, rel=1e-6)
    assert builder.gnss_delay == pytest.approx(0.15)
    assert np.array(builder.local_field) == pytest.approx(np.array(plant.magnetic_field), rel=1e-12)


def test_the_satellite_error_is_split_into_its_parts(make_craft):
    """Variances add up; in 50 s, its correlation time, the slow part falls to 1/e: 250 fixes."""
    sensors = sensors_of(make_craft(more=GNSS))
    white, slow = np.array(sensors.gnss_white), np.array(sensors.gnss_wander)
    assert white**2 + slow**2 == pytest.approx([(2.0 / 1.177410) ** 2, 2.5**2], rel=1e-6)
    assert white**2 / slow**2 == pytest.approx([0.1 / 0.9] * 2)
    assert sensors.gnss_keep**250 == pytest.approx(math.exp(-1.0))


def test_what_calibration_left_is_drawn_from_the_seed(make_craft):
    craft = make_craft(more=COMPASS)
    plant, rate = resolve_plant(craft, Site()), choose_rates(craft).physics_Hz
    drawn = [resolve_sensors(craft, plant, rate, seed) for seed in range(200)]
    for seen, sigma in (
        ([1e6 * np.array(s.mag_bias) for s in drawn], 2.0),
        ([np.array(s.mag_matrix) - np.eye(3) for s in drawn], 0.03),
        ([s.current_scale - 1.0 for s in drawn], 0.02),
        ([s.current_offset for s in drawn], 0.1),
        ([s.voltage_scale - 1.0 for s in drawn], 0.003),
    ):
        count = np.size(seen)
        assert np.std(seen) == pytest.approx(sigma, rel=4.0 / math.sqrt(2 * count))
        assert abs(np.mean(seen)) < 4.0 * sigma / math.sqrt(count)
    again = resolve_sensors(craft, plant, rate, 7)
    np.testing.assert_array_equal(drawn[7].mag_matrix, again.mag_matrix)
    assert not np.any(sensors_of(make_craft()).mag_bias)


def test_each_has_its_mass_and_price_and_none_where_it_sits_on_another(make_craft):
    bare, full = make_craft(), make_craft(more=GNSS + COMPASS + RANGEFINDER)
    grown = mass_properties(full).mass_kg - mass_properties(bare).mass_kg
    assert grown == pytest.approx(0.025, abs=1e-12)
    names = {item.name for item in mass_properties(full).items}
    assert {"satellite receiver", "rangefinder"} <= names
    assert "compass" not in names
    assert full.price - bare.price == pytest.approx(50.0)


@pytest.mark.parametrize(
    ("more", "lacking"),
    [
        ("", r"a satellite receiver, \[gnss\] and a magnetometer, \[compass\]"),
        (GNSS, r"a magnetometer, \[compass\]"),
        (COMPASS, r"a satellite receiver, \[gnss\]"),
    ],
)
def test_homing_needs_a_place_and_north(make_craft, more, lacking):
    with pytest.raises(
        InputError, match=rf"radio.link_loss .*is 'homing'; homing needs {lacking}; without them 'cut'"
    ):
        make_craft(HOMING, more=more)


def test_homing_is_taken_with_both(make_craft):
    craft = make_craft(HOMING, more=GNSS + COMPASS)
    assert resolve_builder(craft, resolve_plant(craft, Site())).link_loss == 3.0


@pytest.mark.parametrize(("rate", "delay"), [(5, 1000), (50, 280)])
def test_a_delay_may_fill_the_line(make_craft, rate, delay):
    text = GNSS.replace("rate_Hz = 5", f"rate_Hz = {rate}").replace("delay_ms = 150", f"delay_ms = {delay}")
    assert sensors_of(make_craft(more=text)).slow_delay[Slow.SATELLITE] == 4 * delay


def test_a_delay_beyond_the_line_is_refused(make_craft):
    text = GNSS.replace("rate_Hz = 5", "rate_Hz = 50").replace("delay_ms = 150", "delay_ms = 400")
    with pytest.raises(InputError, match=r"gnss\.delay_ms: is 400; must be up to 280 ms at that rate"):
        sensors_of(make_craft(more=text))


def test_a_rangefinder_with_its_limits_swapped_is_refused(make_craft):
    with pytest.raises(InputError, match=r"rangefinder\.least_m .*is 3; must be under greatest_m, 2 m"):
        make_craft(more=RANGEFINDER + "least_m = 3\ngreatest_m = 2\n")
