"""Wind: the 1-cosine gust, sums of gusts, and where a wind from a heading blows to."""

from __future__ import annotations

import math

import numpy as np
import pytest

from quadsim.config.flight_schema import GustSection, WindSection
from quadsim.dynamics.records import GUSTS, HELD, rows
from quadsim.environment.wind import one_minus_cosine, wind_at
from quadsim.simulation.schedule import gust_records, steady_wind


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
    """(1 - cos)/2 with build-up over half the duration: 0, 0.146447, 0.5, 0.853553, 1 at quarters of the build-up as in
    MIL-F-8785C sec. 3.7.3.3; then back to zero (CS-23/FAR 23.333(c)), where the military form would hold."""
    assert one_minus_cosine(share * 4.0, 4.0) == pytest.approx(expected, abs=1e-6)


def test_calm_before_and_after() -> None:
    assert one_minus_cosine(-0.1, 2.0) == 0.0
    assert one_minus_cosine(2.1, 2.0) == 0.0


def test_steepest_rise() -> None:
    """pi Vm/(2 dm) with build-up dm: here pi/T."""
    rise = (one_minus_cosine(0.5 + 1e-6, 2.0) - one_minus_cosine(0.5 - 1e-6, 2.0)) / 2e-6
    assert rise == pytest.approx(math.pi / 2.0, rel=1e-6)


def test_gusts_add_to_the_steady_wind() -> None:
    held, gusts = rows(HELD)[0], rows(GUSTS, 2)
    gusts[0].start, gusts[0].duration, gusts[0].velocity[:] = 1.0, 2.0, (3.0, 0.0, -1.0)
    gusts[1].start, gusts[1].duration, gusts[1].velocity[:] = 1.5, 2.0, (0.0, 4.0, 0.0)
    steady = np.array([1.0, -2.0, 0.5])
    for t, expected in (
        (0.5, (1.0, -2.0, 0.5)),
        (2.0, (4.0, 0.0, -0.5)),
        (2.5, (2.5, 2.0, 0.0)),
        (9.0, (1.0, -2.0, 0.5)),
    ):
        wind_at(t, steady, gusts, held)
        assert held.wind == pytest.approx(expected, abs=1e-12)


def test_a_wind_has_the_name_of_where_it_comes_from() -> None:
    """A west wind (from 270 deg) blows towards east; one from 30 deg towards south-south-west (meteorological convention)."""
    assert steady_wind(WindSection(speed_m_s=5.0, from_deg=270.0)) == pytest.approx(
        (0.0, 5.0, 0.0), abs=1e-12
    )
    assert steady_wind(WindSection(speed_m_s=2.0, from_deg=30.0)) == pytest.approx(
        (-math.sqrt(3.0), -1.0, 0.0), abs=1e-12
    )


def test_gusts_of_a_flight_file() -> None:
    section = WindSection(
        gusts=(GustSection(at_s=3.0, duration_s=1.5, speed_m_s=6.0, from_deg=90.0, up_m_s=2.0),)
    )
    record = gust_records(section)[0]
    assert (record.start, record.duration) == (3.0, 1.5)
    assert record.velocity == pytest.approx((0.0, -6.0, -2.0), abs=1e-12)
    assert gust_records(WindSection()).size == 0
