"""Every check passes on the plant's source and fails on a copy of it with one thing wrong."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from mutants import CHECKS, MUTANTS, Mutant, plain_derivative

from quadsim.dynamics.derivative import full_derivative


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
