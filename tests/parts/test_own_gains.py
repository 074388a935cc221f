"""Gains of a winner's own: which of two flights counts, by event, and that those found are taken from the linear search."""

import numpy as np
import pytest

from quadsim.config import load_craft
from quadsim.environment.atmosphere import Site
from quadsim.parts.flown import Flown
from quadsim.parts.own_gains import better, own_gains

GAINS = {"rate.roll_p": 40.0}


def flown(event, figure):
    return Flown(event, 10.0, figure, "so", {"guide.tilt_max": 1.3})


@pytest.mark.parametrize(
    ("event", "shipped", "own", "taken"),
    [
        ("slalom", 10.0, 9.9, True), ("slalom", 10.0, 9.97, False), ("slalom", 10.0, 10.1, False),
        ("dash", 40.0, 41.0, True), ("dash", 40.0, 40.1, False), ("slalom", np.inf, 12.0, True),
        ("slalom", 12.0, np.inf, False), ("dash", 0.0, 20.0, True), ("slalom", np.inf, np.inf, False),
    ],
)  # fmt: skip
def test_own_gains_are_taken_where_they_fly_clearly_better(event, shipped, own, taken):
    found = better(flown(event, shipped), flown(event, own), GAINS)
    assert found.flown == (own if taken else shipped)
    assert ("rate.roll_p" in found.gains) is taken and found.gains["guide.tilt_max"] == 1.3
    assert found.choice_of_gains.startswith("own gains" if taken else "shipped gains")


def test_without_gains_within_the_limits_the_shipped_ones_stand():
    assert "none of its own" in better(flown("dash", 40.0), None).choice_of_gains


@pytest.mark.jit
def test_gains_are_those_of_the_tuning_and_never_the_guide_s():
    found = own_gains(load_craft("siskin"), Site())
    assert found and {"rate.roll_p", "attitude.tilt_p", "estimate.gyro_cutoff"} <= found.keys()
    assert not any(name.startswith("guide") for name in found)
