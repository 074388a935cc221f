"""Keys and values of `--vary`: found, checked, refused with the nearest, set in a file's data."""

import pytest

from quadsim.config import load_craft
from quadsim.config.flight_loader import load_flight
from quadsim.errors import InputError
from quadsim.sweep.axes import Axis, Drawn, read_vary
from quadsim.sweep.base import data_of
from quadsim.sweep.keys import find_key, set_key


@pytest.fixture(scope="module")
def craft():
    return load_craft("siskin")


@pytest.fixture(scope="module")
def flight():
    return load_flight("gust")


@pytest.mark.parametrize(
    ("name", "file", "value", "unit"),
    [
        ("battery.capacity_mAh", "craft", 1500.0, "mAh"),
        ("parts#3.mass_g", "craft", 15.0, "g"),
        ("parts#3.at_mm#2", "craft", 0.0, "mm"),
        ("propeller.thrust_scale", "craft", 1.0, ""),
        ("gains.rate.roll_p", "craft", None, ""),
        ("esc.braking", "craft", True, ""),
        ("wind.speed_m_s", "flight", 2.0, "m/s"),
        ("wind.gusts#1.speed_m_s", "flight", 8.0, "m/s"),
        ("wind.turbulence.w20_m_s", "flight", None, "m/s"),
        ("duration_s", "flight", 10.0, "s"),
    ],
)
def test_a_key_is_found_with_its_unit_and_value(name, file, value, unit, craft, flight):
    key = find_key(name, craft, flight)
    assert (key.file, key.value, key.unit) == (file, value, unit)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("wind.mean_m_s=1,2", ["no key of a craft or a flight", "wind.speed_m_s"]),
        ("capacity_mAh=1,2", ["battery.capacity_mAh"]),
        ("battery=1", ["a whole section", "capacity_mAh"]),
        ("parts#99.mass_g=1", ["#99 is not there", "the file has"]),
        ("parts#3.at_mm=1", ["several numbers", "parts#3.at_mm#1"]),
        ("seed=1,2", ["--seeds"]),
        ("controllers.rate=lqr", ["--law"]),
        ("title=a", ["changes no flight"]),
        ("battery.capacity_mAh=-5", ["is -5", "mAh"]),
        ("battery.capacity_mAh=1300:2200:0.5", ["three numbers"]),
        ("battery.capacity_mAh=1300:2200:1", ["COUNT must be 2"]),
        ("battery.capacity_mAh=much", ["'much'", "must be a number"]),
        ("battery.capacity_mAh=1,3;1,5", ["a semicolon", "commas part values", "point"]),
        ("battery.capacity_mAh=1300:2200", ["1300:2200:5"]),
        ("battery.cells=1e400,4", ["'1e400'", "must be a number"]),
        ("gains.rate.roll_p=1,1e400", ["'1e400'", "must be a number"]),
        ("wind.speed_m_s=3~1e400", ["sigma 1e400"]),
        ("gains.rate.roll_p=10..1e400", ["'1e400'", "must be a number"]),
        ("gains.rate.roll_p=1:1e400:3", ["three numbers"]),
        ("battery.capacity_mAh=1300,,1500", ["empty value"]),
        ("battery.capacity_mAh", ["no values", "LOW:HIGH:COUNT"]),
        ("battery.cells=3.5,4", ["whole number"]),
        ("battery.cells=4~1", ["whole number"]),
        ("esc.braking=yes", ["true or false"]),
        ("battery.capacity_mAh/battery.mass_g=1300/155,1500", ["'1500' for 2 keys", "K1/K2=A1/A2"]),
        ("battery.capacity_mAh/battery.mass_g=1300/155,1300/178", ["twice"]),
        ("wind.turbulence.w20_m_s=~1", ["no value to draw about"]),
    ],
)
def test_what_cannot_be_varied_is_said_with_its_remedy(text, words, craft, flight):
    with pytest.raises(InputError) as caught:
        read_vary(text, craft, flight)
    for one in words:
        assert one in str(caught.value)


def test_values_as_written(craft, flight):
    def values(text):
        return read_vary(text, craft, flight).values

    assert values("battery.capacity_mAh=1300:2200:4") == (1300.0, 1600.0, 1900.0, 2200.0)
    assert values("wind.speed_m_s=6,0,3,6") == (6.0, 0.0, 3.0)
    assert values("wind.speed_m_s=8:0:3") == (8.0, 4.0, 0.0)
    assert values("battery.cells=3:5:3") == (3, 4, 5)
    assert values("gains.rate.roll_p=10:20:3") == (10.0, 15.0, 20.0)
    assert values("esc.braking=true,false") == (True, False)
    assert values("wind.profile=log,power") == ("log", "power")
    assert isinstance(read_vary("wind.speed_m_s=3", craft, flight), Axis)


def test_keys_that_go_together(craft, flight):
    packs = read_vary(
        "battery.capacity_mAh/battery.mass_g/battery.cells=1300/155/4,2200/240/3", craft, flight
    )
    assert packs.values == (1300.0, 2200.0)
    assert [(key.name, value) for key, value in packs.changes(2200.0)] == [
        ("battery.capacity_mAh", 2200.0), ("battery.mass_g", 240.0), ("battery.cells", 3)
    ]  # fmt: skip


def test_draws_as_written(craft, flight):
    normal = read_vary("wind.speed_m_s=3~1.5", craft, flight)
    assert (normal.value, normal.sigma, normal.uniform) == (3.0, 1.5, False)
    about = read_vary("battery.capacity_mAh=~50", craft, flight)
    assert (about.value, about.sigma) == (1500.0, 50.0)
    even = read_vary("wind.speed_m_s=2..8", craft, flight)
    assert isinstance(even, Drawn)
    assert (even.value, even.uniform) == (5.0, True)
    assert even.sigma == pytest.approx(6.0 / 12.0**0.5)  # of a uniform distribution


def test_a_value_is_set_where_the_file_has_it_and_where_it_has_not(craft, flight):
    data = data_of(craft.source_text)
    for name, value in {
        "battery.capacity_mAh": 1300.0,
        "parts#3.at_mm#2": 4.0,
        "gains.rate.roll_p": 20.0,
    }.items():
        set_key(data, find_key(name, craft, flight), value)
    assert data["battery"]["capacity_mAh"] == 1300.0
    assert data["parts"][2]["at_mm"] == [8, 4.0, 4]
    assert data["gains"] == {"rate": {"roll_p": 20.0}}
    told = data_of(flight.source_text)
    set_key(told, find_key("wind.turbulence.w20_m_s", craft, flight), 5.0)
    assert told["wind"]["turbulence"] == {"w20_m_s": 5.0}
    assert told["wind"]["speed_m_s"] == 2
