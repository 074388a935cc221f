"""Allan deviation against the published sets of NIST SP 1065, the library allantools, and closed forms of each noise."""

from __future__ import annotations

import math

import allantools
import numpy as np
import pytest

from quadsim.analysis.allan import (
    FLOOR,
    bias_instability,
    cluster_sizes,
    overlapping_allan_deviation,
    rate_random_walk,
    sampling_error,
    white_noise_density,
)

NBS = np.array([892.0, 809.0, 823.0, 798.0, 671.0, 644.0, 883.0, 903.0, 677.0])
"""NBS Monograph 140, annex 8.E (1974), as in W. J. Riley, NIST SP 1065 (2008), tables 29 and 30, p. 107."""


def test_nine_rates_of_the_handbook() -> None:
    assert overlapping_allan_deviation(NBS, 1.0, np.array([1, 2])) == pytest.approx(
        (91.22945, 85.95287), rel=1e-6
    )


def test_thousand_rates_of_the_handbook() -> None:
    """NIST SP 1065, sec. 12.4, tables 31 and 32, pp. 108-109: congruential generator, OADEV at 1, 10 and 100 s."""
    numbers = [1234567890]
    for _ in range(999):
        numbers.append(16807 * numbers[-1] % 2147483647)
    assert numbers[1:4] == [395529916, 1209410747, 633705974]
    found = overlapping_allan_deviation(np.array(numbers) / 2147483647.0, 1.0, np.array([1, 10, 100]))
    assert found == pytest.approx((0.2922319, 0.09159953, 0.03241343), rel=5e-7)


@pytest.mark.parametrize("rate_Hz", [1.0, 200.0])
def test_the_library_finds_the_same(rate_Hz: float) -> None:
    record = np.cumsum(np.random.default_rng(2).standard_normal(3000)) + 4.0
    clusters = cluster_sizes(record.size, share=0.4)
    _, expected, _, _ = allantools.oadev(record, rate_Hz, "freq", clusters / rate_Hz)
    assert overlapping_allan_deviation(record, rate_Hz, clusters) == pytest.approx(expected, rel=1e-9)


def test_a_constant_has_none_and_a_ramp_its_slope() -> None:
    """A ramp R t: sigma = R tau/sqrt 2 (IEEE Std 952-1997, annex C)."""
    clusters = np.array([1, 5, 20])
    assert overlapping_allan_deviation(np.full(100, 7.0), 10.0, clusters) == pytest.approx(0.0, abs=1e-12)
    ramp = 0.3 * np.arange(400) / 10.0
    assert overlapping_allan_deviation(ramp, 10.0, clusters) == pytest.approx(
        0.3 * clusters / 10.0 / math.sqrt(2.0)
    )


def test_clusters_that_do_not_fit_are_refused() -> None:
    for wrong in (0, 6):
        with pytest.raises(ValueError, match="clusters must be 1 to 5 samples of a record of 10"):
            overlapping_allan_deviation(np.zeros(10), 1.0, np.array([wrong]))
    with pytest.raises(ValueError, match="fewer than two cluster times"):
        white_noise_density(np.array([1.0, 10.0]), np.ones(2), 100.0, (2.0, 5.0))


def test_read_off_points() -> None:
    """N at 1 s, B over 0.664282, K at 3 s, from their own closed lines (IEEE Std 952-1997, annex C)."""
    taus = np.geomspace(0.1, 100.0, 31)
    n = white_noise_density(taus, 0.02 / np.sqrt(taus), 1000.0, (0.1, 10.0))
    b = bias_instability(taus, np.full(31, 0.0664282), 1000.0, (1.0, 100.0))
    k = rate_random_walk(taus, 0.05 * np.sqrt(taus / 3.0), 1000.0, (1.0, 100.0))
    assert (n.value, n.slope) == pytest.approx((0.02, -0.5), rel=1e-9)
    assert (b.value, b.slope) == pytest.approx((0.1, 0.0), rel=1e-6, abs=1e-9)
    assert (k.value, k.slope) == pytest.approx((0.05, 0.5), rel=1e-9)
    assert pytest.approx(0.664282, abs=1e-6) == FLOOR


def test_sampling_error() -> None:
    """An hour: 1.179, 3.73 and 11.95 % at 1, 10 and 100 s (IEEE Std 952-1997, annex C; form from memory)."""
    assert [100.0 * sampling_error(3600.0, tau) for tau in (1.0, 10.0, 100.0)] == pytest.approx(
        (1.179, 3.73, 11.95), rel=2e-3
    )


def test_white_noise_drifts_as_the_square_root_of_time() -> None:
    """N = 0.0028 deg/sqrt(s): 0.021689 deg after 60 s (random walk, closed form); 2000 records of it scatter so (5 %)."""
    n, rate = 0.0028, 50.0
    records = np.random.default_rng(4).normal(0.0, n * math.sqrt(rate), (2000, round(60.0 * rate)))
    assert np.std(records.sum(axis=1) / rate) == pytest.approx(0.021689, rel=0.05)
    assert n * math.sqrt(60.0) == pytest.approx(0.021689, abs=1e-6)
