"""Intervals of a sweep against published worked values, and a sweep whose answer is known from physics."""

import numpy as np
import pytest

from quadsim.sweep.kept import KeptFlights
from quadsim.sweep.outcome import outcome
from quadsim.sweep.statistics import correlation_interval, rank_correlation, wilson
from quadsim.sweep.sweep import Wanted, fly, prepare


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
def test_charge_used_in_hover_goes_with_the_time_and_power_with_weight_to_the_power_of_three_halves(tmp_path):
    """Induced power of a hovering rotor is T^(3/2)/sqrt(2 rho A) (momentum theory; J. G. Leishman, Principles of Helicopter
    Aerodynamics, 2nd ed., eq. 2.14), so electric power goes about with m^1.5. Profile power, and losses that grow with the
    current's square, pull the power law either way: 1.35 to 1.6 is asked for. Charge goes with time, the current hardly moves."""
    hover = tmp_path / "hover.toml"
    hover.write_text(
        'title = "Hover"\ncraft = "siskin"\nduration_s = 4\nstart = { height_m = 5 }\nlog_rate_Hz = 50\n', encoding="utf-8"
    )
    wanted = Wanted(
        str(hover), vary=["duration_s=2,4,8", "mass.weighed_mass_g=600:900:3"], metrics=["used_mAh", "mean_power_W"]
    )
    sweep = prepare(wanted)
    came = outcome(sweep, fly(sweep, sweep.cases, KeptFlights(sweep.base, tmp_path), 1))
    used, power = (came.values(label).reshape(3, 3) for label in ("used_mAh", "mean_power_W"))
    assert used[1] / used[0] == pytest.approx([2.0] * 3, rel=0.02)
    assert used[2] / used[1] == pytest.approx([2.0] * 3, rel=0.02)
    exponent = np.log(power[2, 2] / power[2, 0]) / np.log(900.0 / 600.0)
    assert 1.35 <= exponent <= 1.6
