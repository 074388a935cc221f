"""Link loss and low battery: arithmetic, the published cell's curve, and wrong copies that must be noticed."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from mutants_place import plain_guide
from mutants_safety import CHECKS, MUTANTS, SafetyMutant

from controllers.low_battery import charge_at_rest
from controllers.navigation import navigation


@pytest.mark.jit
@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.__name__)
def test_check_passes_on_the_shipped_guide_and_on_the_plain_source(check: Callable) -> None:
    check(navigation)
    check(plain_guide())


@pytest.mark.jit
@pytest.mark.parametrize("mutant", MUTANTS, ids=lambda mutant: mutant.wrong)
def test_mutant_is_noticed(mutant: SafetyMutant) -> None:
    with pytest.raises(AssertionError, match="Not equal to tolerance"):
        mutant.check(mutant.guide())


def test_the_chart_agrees_with_a_published_cell() -> None:
    """M. Chen & G. A. Rincon-Mora, IEEE Trans. Energy Conversion 21(2), 2006, eq. 2 (constants second-hand):
    V = -1.031 exp(-35 s) + 3.685 + 0.2156 s - 0.1178 s^2 + 0.3201 s^3, raised in proportion to s from 4.1029 to 4.20 V when full.
    From a tenth of the charge up the chart reads it within 0.08 of the capacity, about reserve and warning within 0.04."""
    s = np.linspace(0.1, 1.0, 91)
    curve = (
        -1.031 * np.exp(-35.0 * s) + 3.685 + 0.2156 * s - 0.1178 * s**2 + 0.3201 * s**3 + (4.20 - 4.1029) * s
    )
    read = np.array([charge_at_rest(v) for v in curve])
    assert np.max(np.abs(read - s)) < 0.08
    near_reserve = (s > 0.18) & (s < 0.32)
    assert np.max(np.abs(read - s)[near_reserve]) < 0.04
