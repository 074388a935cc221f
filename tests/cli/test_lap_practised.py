"""Practice laps beside the estimate: which count, and when they correct it."""

import pytest

from quadsim.cli.lap_practised import LAST, practised
from quadsim.practice.lap_book import LapLine


def _lap(time_s, misses=0, aids=()):
    return LapLine("s", "f", time_s, (time_s,), misses, "rate", aids)


def test_laps_with_misses_or_aids_do_not_count():
    assert practised([_lap(3.0, misses=1), _lap(4.0, aids=("slow",))]) is None
    own = practised([_lap(9.0), _lap(3.0, misses=1), _lap(11.0)])
    assert own is not None and (own.laps, own.best, own.median) == (2, 9.0, 10.0)
    assert not own.enough


def test_only_the_last_ones_make_the_median():
    own = practised([_lap(30.0)] * 20 + [_lap(8.0)] * LAST)
    assert own is not None and own.enough and own.median == 8.0
    assert own.document(4.0)["practised_over_estimate"] == pytest.approx(2.0)
