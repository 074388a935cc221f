"""The wind of a flight file: where it blows to, its profile, forecast, fronts and record, and what is wrong with bad ones."""

import math

import numpy as np
import pytest

from quadsim.config.flight_loader import load_flight, parse_flight
from quadsim.environment.profile import profile_share
from quadsim.environment.turbulence import dryden_scales
from quadsim.errors import InputError
from quadsim.simulation.weather import forecast_excess, gust_records, mean_winds, wind_record

HEAD = 'title = "t"\ncraft = "siskin"\nduration_s = 100\n[wind]\n'


def wind_of(text):
    return parse_flight(HEAD + text).wind


def record_of(text):
    return wind_record(wind_of(text), 1e-3)


def test_a_wind_has_the_name_of_where_it_comes_from():
    """A west wind (from 270 deg) blows towards east; one from 30 deg towards south-south-west (meteorological convention)."""
    west = mean_winds(parse_flight(HEAD + "speed_m_s = 5\nfrom_deg = 270\n"))
    assert west == pytest.approx(np.array([[0.0, 0.0, 5.0, 0.0]]), abs=1e-12)
    other = mean_winds(parse_flight(HEAD + "speed_m_s = 2\nfrom_deg = 30\n"))
    assert other == pytest.approx(np.array([[0.0, -math.sqrt(3.0), -1.0, 0.0]]), abs=1e-12)


def test_gusts_of_a_flight_file():
    gusts = gust_records(
        wind_of(
            "gusts = [{ at_s = 3, duration_s = 1.5, speed_m_s = 6, from_deg = 90, up_m_s = 2 },"
            ' { at_s = 4, duration_s = 1, speed_m_s = 6, form = "holding" }]\n'
        )
    )
    assert (gusts[0].start, gusts[0].duration, gusts[0].holds) == (3.0, 1.5, 0.0)
    assert gusts[0].velocity == pytest.approx((0.0, -6.0, -2.0), abs=1e-12)
    assert gusts[1].holds == 1.0
    assert gusts[1].velocity == pytest.approx((-6.0, 0.0, 0.0), abs=1e-12)
    assert gust_records(wind_of("speed_m_s = 1\n")).size == 0


def test_what_is_said_of_the_ground_is_what_the_loop_reads():
    """10 m/s at 10 m: at 2 m by z0 = 0.03 m and by the seventh root; over a town by EN 1991-1-4 (2005) eqs 4.4, 4.5."""
    assert profile_share(2.0, record_of("speed_m_s = 3\n")) == 1.0
    assert profile_share(10.0, record_of('profile = "log"\n')) == pytest.approx(1.0)
    assert profile_share(2.0, record_of('profile = "log"\n')) == pytest.approx(
        math.log(2 / 0.03) / math.log(10 / 0.03)
    )
    assert profile_share(2.0, record_of('profile = "power"\n')) == pytest.approx(0.794597, rel=1e-5)
    assert profile_share(10.0, record_of('profile = "log"\nterrain = "IV"\n')) == pytest.approx(
        0.539562, rel=1e-5
    )
    assert (
        profile_share(6.0, record_of('profile = "power"\nexponent = 0.2\nreference_height_m = 3\n')) == 2**0.2
    )


def test_strength_of_turbulence():
    """MIL-F-8785C (1980) sec. 3.7.3.4: a tenth of the wind at 20 ft; 15, 30, 45 kt in words."""
    words = {"light": 0.771667, "moderate": 1.543333, "severe": 2.315}
    for word, sigma in words.items():
        assert record_of(f'turbulence = {{ intensity = "{word}" }}\n').sigma_w == pytest.approx(
            sigma, rel=1e-6
        )
    assert record_of("turbulence = { w20_m_s = 7 }\n").sigma_w == pytest.approx(0.7)
    mean = record_of('speed_m_s = 6\nprofile = "log"\nturbulence = { intensity = "mean" }\n')
    assert mean.sigma_w == pytest.approx(0.6 * math.log(6.096 / 0.03) / math.log(10 / 0.03))
    assert record_of("speed_m_s = 6\n").sigma_w == 0.0


def test_a_forecast_gust_sets_turbulence_and_gusts():
    """Half more than the mean if it is not named (common practice, no source); peak factor 3.5 (EN 1991-1-4 eq. 4.8)."""
    assert forecast_excess(wind_of("speed_m_s = 6\n")) == pytest.approx(3.0)
    wind = wind_of(
        'speed_m_s = 6\nfrom_deg = 90\nforecast_gust_m_s = 13\nturbulence = { intensity = "forecast" }\n'
        'gusts = [{ at_s = 1, duration_s = 2, strength = "forecast" }]\n'
    )
    assert gust_records(wind)[0].velocity == pytest.approx((0.0, -7.0, 0.0), abs=1e-12)
    sigma_u = wind_record(wind, 1e-3).sigma_w * dryden_scales(10.0)[2]
    assert 6.0 + 3.5 * sigma_u == pytest.approx(13.0)


def test_a_front_turns_the_shorter_way_evenly():
    """From 340 to 20 deg over north: half way from north at the mean of both speeds."""
    winds = mean_winds(
        parse_flight(
            HEAD
            + "speed_m_s = 2\nfrom_deg = 340\nfronts = [{ at_s = 10, over_s = 20, to_speed_m_s = 8, to_from_deg = 20 },"
            " { at_s = 50, to_speed_m_s = 1 }]\n"
        )
    )
    times = np.array([0.0, 10.0, 20.0, 30.0, 49.9, 50.1])
    north, east = (np.interp(times, winds[:, 0], winds[:, k]) for k in (1, 2))
    assert np.hypot(north, east) == pytest.approx([2, 2, 5, 8, 8, 1], rel=1e-3)
    origin = np.degrees(np.arctan2(-east, -north))
    assert origin == pytest.approx([-20, -20, 0, 20, 20, 20], abs=0.05)
    rows = winds[(winds[:, 0] >= 10) & (winds[:, 0] <= 30)]
    middle = 0.5 * (rows[1:, 1:3] + rows[:-1, 1:3])
    exact = 2.0 + 0.3 * (0.5 * (rows[1:, 0] + rows[:-1, 0]) - 10.0)
    assert np.hypot(middle[:, 0], middle[:, 1]) == pytest.approx(exact, rel=1e-3)


def test_fronts_may_cross_the_field():
    """From the west at 5 m/s: 0.2 s later per metre east."""
    front = "fronts = [{ at_s = 1, to_speed_m_s = 3 }]\nfronts_speed_m_s = 5\n"
    assert record_of(front + "fronts_from_deg = 270\n").delay == pytest.approx([0.0, 0.2])
    assert record_of(front + "from_deg = 0\n").delay == pytest.approx([-0.2, 0.0])
    assert record_of("fronts = [{ at_s = 1, to_speed_m_s = 3 }]\n").delay == pytest.approx([0.0, 0.0])


def write(folder, csv, keys=""):
    (folder / "wind.csv").write_text(csv, encoding="utf-8")
    path = folder / "flight.toml"
    path.write_text(f'{HEAD}record = "wind.csv"\n{keys}', encoding="utf-8")
    return path


def test_a_record_beside_the_flight_is_the_mean_wind(tmp_path):
    parts = "# an invented record\nt_s, north_m_s, east_m_s, up_m_s\n0,1,2,0.5\n\n2.5,-1,0,0\n"
    winds = mean_winds(load_flight(write(tmp_path, parts)))
    assert winds == pytest.approx(np.array([[0, 1, 2, -0.5], [2.5, -1, 0, 0]]))
    polar = "from_deg,t_s,speed_m_s\n270,0,3\n"
    assert mean_winds(load_flight(write(tmp_path, polar))) == pytest.approx(
        np.array([[0, 0, 3, 0]]), abs=1e-12
    )


BAD_RECORDS = {
    "": "is empty; needs columns",
    "t_s,north_m_s,east_m_s\n": "a header and no rows",
    "t_s,north_m_s\n0,1\n": "must be t_s, north_m_s, east_m_s or",
    "t_s,north_m_s,east_m_s,gust\n0,1,1,1\n": "unknown: gust",
    "t_s,north_m_s,east_m_s,from_deg\n0,1,1,1\n": "must be t_s",
    "t_s,t_s,north_m_s,east_m_s\n0,0,1,1\n": "twice: t_s",
    "t_s,north_m_s,east_m_s\n0,1,calm\n": "line 2: '0,1,calm': east_m_s is not a number",
    "t_s,north_m_s,east_m_s\n0,1,nan\n": "east_m_s must be finite",
    "t_s,north_m_s,east_m_s\n0,1,1,1\n": "has 4 fields, must have 3",
    "t_s,north_m_s,east_m_s\n0,1,1\n# pause\n0,1,1\n": "line 4: '0,1,1': t_s must grow, and the rows before reach 0 s",
    "t_s,speed_m_s,from_deg\n0,-1,90\n": "speed_m_s must be 0 to 60",
    "t_s,north_m_s,east_m_s\n" + "x,1,1\n" * 9: "4 more rows like these",
}


@pytest.mark.parametrize(("csv", "said"), BAD_RECORDS.items(), ids=range(len(BAD_RECORDS)))
def test_a_bad_record_shows_its_rows(tmp_path, csv, said):
    with pytest.raises(InputError) as caught:
        load_flight(write(tmp_path, csv))
    assert said in str(caught.value)
    assert "wind.csv" in str(caught.value)


def test_a_record_that_is_not_there(tmp_path):
    path = write(tmp_path, "")
    (tmp_path / "wind.csv").unlink()
    with pytest.raises(InputError, match=r"wind\.csv cannot be read"):
        load_flight(path)


BAD_KEYS = {
    "roughness_m = 0.1\n": "acts with profile = 'log' only",
    'profile = "log"\nexponent = 0.2\n': "acts with profile = 'power' only",
    'profile = "log"\nterrain = "II"\nroughness_m = 0.1\n': "beside roughness_m",
    'profile = "log"\nterrain = "II"\nreference_height_m = 2\n': "10 m over open country",
    'profile = "log"\nroughness_m = 1.5\nreference_height_m = 1\n': "must be below reference_height_m",
    'profile = "log"\nterrain = "V"\n': "must be one of 0, I, II, III, IV",
    "speed_m_s = 5\nforecast_gust_m_s = 4\n": "must be at least the mean wind, 5 m/s",
    "speed_m_s = 5\nforecast_gust_m_s = 8\n": "nothing uses it",
    "turbulence = {}\n": "must have intensity or w20_m_s",
    'turbulence = { intensity = "light", w20_m_s = 3 }\n': "neither or both",
    'turbulence = { intensity = "strong" }\n': "light, moderate, severe, mean, forecast",
    'gusts = [{ at_s = 1, duration_s = 1, speed_m_s = 3, strength = "forecast" }]\n': "follows from the forecast",
    "fronts_speed_m_s = 5\n": "acts on fronts only",
    "fronts = [{ at_s = 5, to_speed_m_s = 1 }]\nfronts_from_deg = 5\n": "needs fronts_speed_m_s",
    "fronts = [{ at_s = 5 }]\n": "needs to_speed_m_s or to_from_deg",
    "fronts = [{ at_s = 5, over_s = 9, to_speed_m_s = 1 }, { at_s = 6, to_speed_m_s = 2 }]\n": "ends at 14 s",
    "fronts = [{ at_s = 500, to_speed_m_s = 1 }]\n": "the flight ends at 100 s",
    'record = "w.csv"\nspeed_m_s = 3\n': "beside record",
    'record = "w.csv"\nturbulence = { intensity = "mean" }\n': "must be light, moderate or severe",
    'record = "w.csv"\ngusts = [{ at_s = 1, duration_s = 1, strength = "forecast" }]\n': "must be stated",
}


@pytest.mark.parametrize(("text", "said"), BAD_KEYS.items(), ids=range(len(BAD_KEYS)))
def test_bad_wind_is_explained(text, said):
    with pytest.raises(InputError) as caught:
        parse_flight(HEAD + text)
    assert said in str(caught.value)
