"""Every check passes on the plant's source and fails on a copy of it with one thing wrong."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from checks_vibration import CHECKS as VIBRATION_CHECKS
from mutants import CHECKS, MUTANTS, VIBRATION_MUTANTS, Mutant, plain_derivative, plain_vibration

from quadsim.dynamics.derivative import full_derivative
from quadsim.sensors.vibration import update_vibration

pytestmark = pytest.mark.jit  # the copies are plain Python in either run


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.__name__)
def test_check_passes_on_the_shipped_kernel(check: Callable) -> None:
    check(full_derivative)


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.__name__)
def test_check_passes_on_the_plain_source(check: Callable) -> None:
    check(plain_derivative())


@pytest.mark.parametrize("mutant", MUTANTS, ids=lambda mutant: mutant.wrong)
def test_mutant_is_noticed(mutant: Mutant) -> None:
    with pytest.raises(AssertionError, match="Not equal to tolerance"):
        mutant.check(mutant.derivative())


@pytest.mark.parametrize("check", VIBRATION_CHECKS, ids=lambda check: check.__name__)
def test_vibration_passes_on_the_shipped_kernel_and_on_the_plain_source(check: Callable) -> None:
    check(update_vibration)
    check(plain_vibration())


@pytest.mark.parametrize("mutant", VIBRATION_MUTANTS, ids=lambda mutant: mutant.wrong)
def test_mutant_of_vibration_is_noticed(mutant: Mutant) -> None:
    with pytest.raises(AssertionError, match="Not equal to tolerance"):
        mutant.check(mutant.vibration())
