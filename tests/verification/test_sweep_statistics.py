"""Intervals of a sweep against published worked values, and a sweep whose answer is known from physics."""

import numpy as np
import pytest

from quadsim.sweep.kept import KeptFlights
from quadsim.sweep.outcome import outcome
from quadsim.sweep.statistics import correlation_interval, rank_correlation, wilson
from quadsim.sweep.sweep import fly, prepare
from quadsim.sweep.wanted import Wanted


@pytest.mark.parametrize(
    ("passed", "flown", "low", "high"),
    [(81, 263, 0.2553, 0.3662), (15, 148, 0.0624, 0.1605), (0, 20, 0.0, 0.1611), (1, 29, 0.0061, 0.1718)],
)
def test_wilsons_interval_as_printed(passed, flown, low, high):
    """R. G. Newcombe, Two-sided confidence intervals for the single proportion, Statistics in Medicine 17(8), 1998, 857-872,
    table I, method 3 (score without correction), four decimals; the figures from memory."""
    assert wilson(passed, flown) == pytest.approx((low, high), abs=0.00006)


def test_the_interval_of_a_rank_correlation_as_its_author_works_it_out():
    """D. G. Bonett's example of ci.spear in his package statpsych, https://dgbonett.github.io/statpsych/reference/ci.spear.html."""
    y = np.array([21, 4, 9, 12, 35, 18, 10, 22, 24, 1, 6, 8, 13, 16, 19], dtype=float)
    x = np.array([67, 28, 30, 28, 52, 40, 25, 37, 44, 10, 14, 20, 28, 40, 51], dtype=float)
    correlation = rank_correlation(y, x)
    assert correlation == pytest.approx(0.8699639, abs=1e-7)
    assert correlation_interval(correlation, 15) == pytest.approx((0.5840951, 0.9638297), abs=1e-6)


@pytest.mark.jit
def test_the_time_to_the_warning_goes_evenly_with_the_capacity(tmp_path):
    """Hover takes a current that hardly changes while the pack empties, so t = share Q/I: each mAh more gives the same time more
    (charge is current times time). The pack's weight and resistance stay, as only the key is varied. What is asked for is that
    from 100 to 200 mAh there are twice as many seconds as from 50 to 100; sag and relaxation leave 2 %."""
    hover = tmp_path / "hover.toml"
    text = 'title = "Hover"\ncraft = "siskin"\nduration_s = 75\nstart = { height_m = 5 }\nlog_rate_Hz = 20\n'
    hover.write_text(text + 'ends = ["done", "battery_empty", "crashed"]\n', encoding="utf-8")
    wanted = Wanted(str(hover), vary=["battery.capacity_mAh=50,100,200"], metrics=["warned_at_s"])
    sweep = prepare(wanted)
    came = outcome(sweep, fly(sweep, sweep.cases, KeptFlights(sweep.base, tmp_path), 1))
    first, second, third = came.values("warned_at_s").tolist()
    assert third - second == pytest.approx(2.0 * (second - first), rel=0.02)
    assert third - second == pytest.approx(0.5 * third, rel=0.1)  # and hardly anything is lost at the ends
