"""Wind at the craft: the two forms of a 1-cosine gust, the mean over time and height, and their sum."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from quadsim.dynamics.records import GUSTS, HELD, WIND, rows
from quadsim.environment.profile import LOG, log_gain
from quadsim.environment.wind import mean_wind, one_minus_cosine, ramp_and_hold, wind_at
from quadsim.simulation.carried import CARRIED


@pytest.mark.parametrize(
    ("share", "expected"),
    [
        (0.0, 0.0),
        (0.125, 0.146447),
        (0.25, 0.5),
        (0.375, 0.853553),
        (0.5, 1.0),
        (0.625, 0.853553),
        (0.875, 0.146447),
        (1.0, 0.0),
    ],
)
def test_one_minus_cosine(share: float, expected: float) -> None:
    """(1 - cos)/2 with build-up over half the duration, then back to zero (CS-23/FAR 23.333(c))."""
    assert one_minus_cosine(share * 4.0, 4.0) == pytest.approx(expected, abs=1e-6)


@pytest.mark.parametrize(
    ("share", "expected"),
    [(0.0, 0.0), (0.25, 0.146447), (0.5, 0.5), (0.75, 0.853553), (1.0, 1.0), (2.0, 1.0)],
)
def test_ramp_and_hold(share: float, expected: float) -> None:
    """Vm/2 (1 - cos(pi x/dm)), then Vm: MIL-F-8785C (1980) sec. 3.7.3.3 discrete gust (form from memory)."""
    assert ramp_and_hold(share * 3.0, 3.0) == pytest.approx(expected, abs=1e-6)


def test_calm_before_and_after() -> None:
    assert one_minus_cosine(-0.1, 2.0) == 0.0
    assert one_minus_cosine(2.1, 2.0) == 0.0
    assert ramp_and_hold(-0.1, 2.0) == 0.0


@pytest.mark.parametrize(("form", "duration"), [(one_minus_cosine, 2.0), (ramp_and_hold, 1.0)])
def test_steepest_rise(form: Any, duration: float) -> None:
    """pi Vm/(2 dm) with build-up dm of 1 in both forms, half way up."""
    rise = (form(0.5 + 1e-6, duration) - form(0.5 - 1e-6, duration)) / 2e-6
    assert rise == pytest.approx(math.pi / 2.0, rel=1e-6)


def blown(
    t: float,
    winds: Any,
    gusts: Any = None,
    wind: Any = None,
    height: float = 5.0,
    place: tuple[float, float] = (0.0, 0.0),
) -> np.ndarray:
    """`held.wind` at a time and place (north, east), for a craft at rest."""
    held, carried = rows(HELD)[0], rows(CARRIED)[0]
    some = rows(GUSTS, 0) if gusts is None else gusts
    wind_at(
        t,
        -1,
        *place,
        height,
        0.0,
        0.0,
        0.0,
        winds,
        some,
        rows(WIND)[0] if wind is None else wind,
        carried,
        held,
    )
    return np.array(held.wind)


def test_gusts_add_to_the_mean_wind() -> None:
    gusts = rows(GUSTS, 2)
    gusts[0].start, gusts[0].duration, gusts[0].velocity[:] = 1.0, 2.0, (3.0, 0.0, -1.0)
    gusts[1].start, gusts[1].duration, gusts[1].velocity[:] = 1.5, 1.0, (0.0, 4.0, 0.0)
    gusts[1].holds = 1.0
    steady = np.array([[0.0, 1.0, -2.0, 0.5]])
    for t, expected in (
        (0.5, (1.0, -2.0, 0.5)),
        (2.0, (4.0, 0.0, -0.5)),
        (2.5, (2.5, 2.0, 0.0)),
        (9.0, (1.0, 2.0, 0.5)),
    ):
        assert blown(t, steady, gusts) == pytest.approx(expected, abs=1e-12)


def test_the_mean_goes_in_straight_lines_and_jumps() -> None:
    winds = np.array([[1.0, 2, 0, 0], [3.0, 4, 2, -1], [3.0, 0, 0, 0], [5.0, 8, 0, 0]])
    carried = rows(CARRIED)[0]
    times = [
        0.0,
        1.0,
        2.0,
        2.999999,
        3.0,
        4.0,
        5.0,
        99.0,
        2.0,
        4.0,
        0.0,
    ]  # and back: a craft may overtake a front
    found = np.array([mean_wind(t, winds, carried) for t in times])
    assert found[:, 0] == pytest.approx([2, 2, 3, 4, 0, 4, 8, 8, 3, 4, 2], abs=1e-5)
    assert found[2] == pytest.approx([3.0, 1.0, -0.5])


def test_the_profile_acts_on_the_level_part_of_the_mean_alone() -> None:
    wind, gusts, winds = rows(WIND)[0], rows(GUSTS, 1), np.array([[0.0, 3.0, -4.0, 0.5]])
    gusts[0].start, gusts[0].duration, gusts[0].velocity[:] = 0.0, 2.0, (1.0, 1.0, 1.0)
    wind.profile, wind.roughness, wind.log_gain = LOG, 0.1, log_gain(0.1, 10.0)
    assert blown(1.0, winds, gusts, wind, height=1.0) == pytest.approx((2.5, -1.0, 1.5))
    assert blown(1.0, winds, gusts, wind, height=0.09) == pytest.approx((1.0, 1.0, 1.5))


def test_a_front_that_crosses_the_field_comes_later_downwind() -> None:
    """At 4 m/s towards east a jump at 10 s reaches a place 8 m east at 12 s, one 8 m west at 8 s; north makes no odds."""
    wind, winds = rows(WIND)[0], np.array([[0.0, 1, 0, 0], [10.0, 1, 0, 0], [10.0, 5, 0, 0]])
    wind.delay[:] = 0.0, 1.0 / 4.0
    for place, arrives in (((0.0, 0.0), 10.0), ((0.0, 8.0), 12.0), ((70.0, -8.0), 8.0)):
        assert blown(arrives - 1e-6, winds, wind=wind, place=place)[0] == 1.0
        assert blown(arrives + 1e-6, winds, wind=wind, place=place)[0] == 5.0
