"""Calibration of a device by asking for movements, with a device made of lists."""

from __future__ import annotations

import pytest

from quadsim.errors import InputError
from quadsim.viewer.calibrate import calibrate
from quadsim.viewer.controls import Sticks


class Hands:
    """A device whose user does what is asked: axis 2 is roll, 0 pitch (backwards), 3 yaw, 1 throttle."""

    def __init__(self, deaf: str = "") -> None:
        self.raw, self.deaf, self.asked = [0.01, 0.0, -0.02, 0.0, 0.0], deaf, 0
        self.ends = {"roll": (2, 0.9, -0.95), "pitch": (0, -0.98, 0.97), "yaw": (3, 0.8, -0.8),
                     "throttle": (1, 1.0, -1.0)}  # fmt: skip

    def ask(self, words: str) -> None:
        if self.asked:
            stick = list(self.ends)[(self.asked - 1) // 2]
            axis, high, low = self.ends[stick]
            self.raw = [0.01, 0.0, -0.02, 0.0, 0.0]
            if stick != self.deaf:
                self.raw[axis] = high if self.asked % 2 else low
        self.asked += 1


def test_movements_become_a_calibration() -> None:
    hands = Hands()
    device = calibrate("made up", lambda: hands.raw, hands.ask)
    assert device.axes == (2, 0, 3, 1)
    assert device.sticks([-0.98, 1.0, 0.9, 0.0, 0.0]) == pytest.approx((1.0, 1.0, 0.0, 1.0))
    assert device.pitch.high < device.pitch.low
    assert device.throttle.centre is None
    held = Sticks(device).update({}, [0.97, -1.0, -0.02, 0.8, 0.0], 0.01)
    assert held == pytest.approx((0.0, -1.0, 1.0, 0.0))


def test_a_movement_that_is_not_seen_is_said() -> None:
    hands = Hands(deaf="yaw")
    with pytest.raises(InputError, match="no axis of made up moved for yaw"):
        calibrate("made up", lambda: hands.raw, hands.ask)
