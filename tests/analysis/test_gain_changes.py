"""Gains named in words."""

import numpy as np
import pytest

from controllers.contract import SLOTS
from controllers.rate import RateGain
from controllers.registry import default_blocks
from quadsim.analysis.gain_changes import changed_gains
from quadsim.errors import InputError

BLOCKS = sorted(default_blocks(), key=lambda block: SLOTS.index(block.slot))
GAINS = np.array([block.default_gains() for block in BLOCKS])


@pytest.mark.parametrize("text", ["rate.roll_p=26", "rate.roll.p = 26", " Rate.ROLL_P=26.0"])
def test_a_gain_is_set_and_nothing_else(text):
    made = changed_gains(BLOCKS, GAINS, [text])
    assert made[3, RateGain.ROLL_P] == 26.0
    assert np.count_nonzero(made != GAINS) == 1
    assert GAINS[3, RateGain.ROLL_P] == 22.0


def test_all_that_is_wrong_is_said_at_once():
    with pytest.raises(InputError) as error:
        changed_gains(
            BLOCKS,
            GAINS,
            ["rate.rol_p=1", "motor.p=2", "rate.roll_p", "rate.roll_p=200", "attitude.tilt_p=much"],
        )
    text = str(error.value)
    for part in (
        "nearest: roll_p",
        "estimate, guide, attitude, rate, allocate",
        "must be 0 to 100 1/s",
        "is much",
    ):
        assert part in text
    assert len(error.value.problems) == 5
