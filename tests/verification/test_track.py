"""The guide that flies a line: against closed forms, and every wrong copy of it is noticed."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from checks_track import CHECKS
from mutants_place import plain_guide
from mutants_track import MUTANTS, TrackMutant

from controllers.track import track


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.__name__)
def test_check_passes_on_the_shipped_kernel(check: Callable) -> None:
    check(track)


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.__name__)
def test_check_passes_on_the_plain_source(check: Callable) -> None:
    check(plain_guide(guide="track"))


@pytest.mark.parametrize("mutant", MUTANTS, ids=lambda mutant: mutant.wrong)
def test_mutant_is_noticed(mutant: TrackMutant) -> None:
    with pytest.raises(AssertionError, match="Not equal to tolerance"):
        mutant.check(mutant.guide())
