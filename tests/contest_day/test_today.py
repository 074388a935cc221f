"""What is measured in the morning: resistance brought to 20 deg C by the flight model's own law, mass from the scales."""

import pytest

from quadsim.config import load_craft, mass_properties, resolve_plant
from quadsim.config.quantity import Uncertain
from quadsim.contest_day.today import (
    Pack,
    Today,
    at_room,
    at_temperature,
    craft_of_today,
    file_mohm,
    weighed,
    with_pack,
)
from quadsim.dynamics.battery import cold_factor
from quadsim.environment.atmosphere import Site
from quadsim.errors import InputError
from quadsim.units import CELSIUS

PACKS = (Pack("tired", 7.0), Pack("fresh", 4.5))


@pytest.mark.parametrize("celsius", [-5.0, 8.0, 20.0, 35.0])
def test_the_battery_model_gives_the_measured_resistance_back(celsius):
    craft = load_craft("siskin")
    room = at_room(craft, 6.0, celsius)
    warm = cold_factor(celsius + CELSIUS, resolve_plant(craft, Site()))
    assert room * warm == pytest.approx(6.0, rel=1e-12)


def test_a_measured_pack_has_its_age_in_it():
    craft = load_craft("siskin")
    aged = craft.battery.model_copy(update={"resistance_growth_pct": Uncertain(40.0)})
    old = craft.model_copy(update={"battery": aged})
    assert file_mohm(old) == pytest.approx(1.4 * 4.2)
    assert file_mohm(with_pack(old, Pack("A", 5.0), 20.0)) == pytest.approx(5.0)


def test_the_craft_of_today_has_the_best_pack_and_the_scales_mass():
    craft = load_craft("siskin")
    today = Today(Site(), 0.0, 0.0, PACKS, 20.0, 650.0)
    made = craft_of_today(craft, today)
    assert mass_properties(made).mass_kg == pytest.approx(0.650)
    assert file_mohm(made) == pytest.approx(4.5)
    assert file_mohm(craft_of_today(craft, today, PACKS[0])) == pytest.approx(7.0)
    assert craft_of_today(craft, Today(Site(), 0.0, 0.0)) is craft


def test_another_craft_on_the_scales_is_refused():
    with pytest.raises(
        InputError, match=r"is 1300 g; the file of Siskin comes to \d+ g; must be within 25 %"
    ):
        weighed(load_craft("siskin"), 1300.0)


def test_air_and_packs_change_on_their_own():
    site = Site(temperature_C=8.0)
    assert at_temperature(site, air_C=30.0).pack_temperature_C == 8.0
    warmed = at_temperature(site, pack_C=30.0)
    assert (warmed.temperature_C, warmed.pack_temperature_C) == (8.0, 30.0)
