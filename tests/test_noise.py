"""Random numbers: published hash values, the normal distribution, the same draws with and without compiler."""

from __future__ import annotations

import math
import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from scipy import stats

from quadsim.jit import JIT
from quadsim.noise import EDGE, gauss, mix, sample_key, split

GOLDEN, MASK = 0x9E3779B97F4A7C15, 2**64 - 1
WORD = np.uint64 if JIT else int
"""Compiled code takes 64 bits as numpy's unsigned word, the plain code as Python's integer."""


def draws(count: int, channel: int = 0, key: int = 7) -> np.ndarray:
    return np.array([gauss(WORD(sample_key(key, k)), channel) for k in range(count)])


def test_published_sequence_of_splitmix64() -> None:
    """First five outputs for seed 1234567 of the public-domain reference in C by S. Vigna (2015), from memory; mix(z) adds
    the increment itself."""
    found = [int(mix(WORD((1234567 + k * GOLDEN) & MASK))) for k in range(5)]
    assert found == [
        6457827717110365317, 3203168211198807973, 9817491932198370423, 4593380528125082431, 16408922859458223821,
    ]  # fmt: skip


def test_split_uses_other_bits_for_layer_and_place() -> None:
    assert split(WORD(MASK)) == (127, pytest.approx(1.0, abs=3e-16))
    assert split(WORD(2**63 + 5)) == (5, 0.0)
    assert split(WORD(0)) == (0, -1.0)


def test_layers_of_the_ziggurat() -> None:
    """Marsaglia & Tsang (2000), p. 5: 128 layers, tail from 3.442619855899, equal areas of 9.91256303526217e-3."""
    assert EDGE[1] == pytest.approx(3.442619855899, abs=1e-12)
    heights = np.exp(-0.5 * EDGE**2)
    areas = EDGE[1:-1] * np.diff(heights[1:])
    assert areas == pytest.approx(
        np.full(127, 9.91256303526217e-3), rel=1e-8
    )  # what 13 printed digits of the tail leave
    tail = EDGE[1] * heights[1] + math.sqrt(2.0 * math.pi) * stats.norm.sf(EDGE[1])
    assert tail == pytest.approx(9.91256303526217e-3, rel=1e-9)


def test_draws_are_normal() -> None:
    """Kolmogorov-Smirnov against scipy's normal distribution; the draws are fixed, so the test cannot waver."""
    values = draws(40000)
    assert stats.kstest(values, "norm").pvalue > 0.02
    assert stats.kurtosis(values) == pytest.approx(0.0, abs=4.0 * math.sqrt(24.0 / values.size))
    assert stats.skew(values) == pytest.approx(0.0, abs=4.0 * math.sqrt(6.0 / values.size))


@pytest.mark.parametrize("beyond", [1.0, 2.0, 3.0, 3.442619855899])
def test_tails(beyond: float) -> None:
    """Share beyond a limit on either side against scipy, four standard deviations of the count."""
    values = np.abs(draws(100000, channel=3))
    expected = 2.0 * stats.norm.sf(beyond) * values.size
    assert np.sum(values > beyond) == pytest.approx(expected, abs=4.0 * math.sqrt(expected))


def test_the_far_tail_has_its_shape() -> None:
    """Beyond 3.4426 the excess follows the truncated normal (Marsaglia's method): Kolmogorov-Smirnov."""
    values = np.abs(draws(400000 if JIT else 100000, channel=5))
    far = values[values > EDGE[1]]
    assert far.size > 30
    assert stats.kstest(far, stats.truncnorm(EDGE[1], np.inf).cdf).pvalue > 0.01


def test_channels_samples_and_keys_are_independent() -> None:
    n = 20000
    first, other = draws(n), [draws(n, channel=1), draws(n, key=8), np.roll(draws(n), 1)]
    for values in other:
        assert abs(np.corrcoef(first, values)[0, 1]) < 4.0 / math.sqrt(n)


def test_a_draw_belongs_to_its_sample_whatever_the_order() -> None:
    forward = draws(50)
    assert [gauss(WORD(sample_key(7, k)), 0) for k in reversed(range(50))] == list(forward[::-1])


def test_same_draws_with_and_without_the_compiler() -> None:
    """A process of the other kind draws the same 2000 numbers (one unit in the last place is left to the logarithm)."""
    code = (
        "import numpy as np\nfrom quadsim.jit import JIT\nfrom quadsim.noise import gauss, sample_key\n"
        "word = np.uint64 if JIT else int\n"
        "print(*(float(gauss(word(sample_key(7, k)), 0)).hex() for k in range(2000)))"
    )
    other = {**os.environ, "NUMBA_DISABLE_JIT": "1" if JIT else "0"}
    done = subprocess.run(
        [sys.executable, "-c", code],
        env=other,
        cwd=Path(__file__).parents[1],
        capture_output=True,
        text=True,
        check=True,
    )
    theirs = np.array([float.fromhex(word) for word in done.stdout.split()])
    np.testing.assert_allclose(draws(2000), theirs, rtol=4e-16, atol=0.0)
