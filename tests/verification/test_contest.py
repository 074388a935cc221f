"""The quick solver behind `lift`, `dash` and `hover` against hand calculation, and wrong copies of it that the checks notice."""

from __future__ import annotations

from collections.abc import Callable
from importlib import import_module

import pytest
from checks_contest import CHECKS
from mutants_contest import MUTANTS, ContestMutant, copies

pytestmark = pytest.mark.jit  # no kernel in it


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.__name__)
def test_check_passes_on_the_shipped_modules(check: Callable) -> None:
    check(lambda name: import_module(f"quadsim.contest.{name}"))


def test_a_copy_is_as_good() -> None:
    CHECKS[0](copies())


@pytest.mark.filterwarnings("ignore:invalid value encountered:RuntimeWarning")
@pytest.mark.parametrize("mutant", MUTANTS, ids=lambda mutant: mutant.wrong)
def test_mutant_is_noticed(mutant: ContestMutant) -> None:
    with pytest.raises(AssertionError, match="Not equal to tolerance"):
        mutant.check(mutant.modules())
