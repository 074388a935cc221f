"""Link loss as the supervisor sees it: when it acts, on what, and when control is given back."""

from __future__ import annotations

import numpy as np
import pytest

from controllers import MEMORY_SIZE, SIGNALS, LinkLoss, Mode, example_craft, rows
from controllers.guide import response
from controllers.guide_gains import GuideGain
from controllers.navigation import navigation

DT = 4e-3


class Desk:
    """A guide in the air with a link, and a craft that carries what its choice needs."""

    def __init__(self, choice: LinkLoss, mode: Mode = Mode.HEIGHT_HOLD, guide=navigation) -> None:
        self.guide, self.craft = guide, example_craft().copy()
        self.craft.link_loss, self.craft.failsafe_delay = choice, 0.5
        self.craft.gnss = self.craft.compass = 1.0
        self.s, self.memory, self.gains = rows(SIGNALS)[0], np.zeros(MEMORY_SIZE), guide.default_gains()
        self.s.dt, self.s.mode, self.s.link, self.s.armed = DT, mode, 1.0, 1.0
        self.s.height, self.s.attitude[0], self.s.stick[3] = 10.0, 1.0, 0.5
        self.s.position_known = self.s.heading_known = 1.0
        self.s.position[:2] = 60.0, 0.0
        self.run(0.1)

    def run(self, seconds: float) -> None:
        for _ in range(round(seconds / DT)):
            self.guide(self.s, self.craft, self.gains, self.memory)

    def lose(self, seconds: float) -> None:
        self.s.link = 0.0
        self.run(seconds)

    def regain(self, seconds: float) -> None:
        self.s.link = 1.0
        self.run(seconds)

    @property
    def now(self) -> tuple[LinkLoss, Mode, bool]:
        return LinkLoss(int(self.s.link_action)), Mode(int(self.s.mode_in_force)), bool(self.s.armed)


@pytest.mark.parametrize(
    ("choice", "mode", "armed"),
    [
        (LinkLoss.CUT, Mode.LANDING, False),
        (LinkLoss.LEVEL_DESCENT, Mode.LANDING, True),
        (LinkLoss.HOMING, Mode.HOMING, True),
    ],
)
def test_acts_at_the_run_when_the_delay_is_over(choice: LinkLoss, mode: Mode, armed: bool) -> None:
    desk = Desk(choice)
    desk.lose(0.5)  # the runs at 0, 4 ... 496 ms of silence
    assert desk.now == (LinkLoss.NONE, Mode.HEIGHT_HOLD, True)
    desk.lose(DT)
    assert desk.now == (choice, mode, armed)


def test_a_gap_shorter_than_the_delay_does_nothing_and_starts_the_count_again() -> None:
    desk = Desk(LinkLoss.CUT)
    for _ in range(5):
        desk.lose(0.4)
        desk.regain(0.02)
    assert desk.now == (LinkLoss.NONE, Mode.HEIGHT_HOLD, True)


@pytest.mark.parametrize("choice", [LinkLoss.LEVEL_DESCENT, LinkLoss.HOMING])
def test_in_the_air_control_comes_back_after_a_second_of_good_link(choice: LinkLoss) -> None:
    desk = Desk(choice)
    desk.s.climb_rate = -1.0  # standing still would look like a touch-down
    desk.lose(2.0)
    desk.regain(0.9)
    desk.lose(0.02)
    desk.regain(0.9)
    assert desk.now[0] == choice
    desk.regain(0.2)
    assert desk.now == (LinkLoss.NONE, Mode.HEIGHT_HOLD, True)


def test_motors_that_were_cut_stay_off_in_the_air_and_until_the_throttle_is_down() -> None:
    desk = Desk(LinkLoss.CUT)
    desk.lose(0.6)
    desk.s.climb_rate = -8.0
    desk.regain(3.0)
    assert not desk.now[2]
    desk.s.stick[3] = 0.0
    desk.regain(3.0)
    assert not desk.now[2], "falling, the throttle stick does not arm them"
    desk.s.stick[3], desk.s.climb_rate, desk.s.height = 0.5, 0.0, 0.0
    desk.regain(3.0)
    assert not desk.now[2], "on the ground they wait for the throttle stick"
    assert desk.s.airborne == 0.0
    desk.s.stick[3] = 0.0
    desk.run(DT)
    assert desk.now == (LinkLoss.NONE, Mode.HEIGHT_HOLD, True)
    assert desk.s.thrust_wanted == 0.0


def test_landed_it_does_not_take_off_by_itself_when_the_link_comes_back() -> None:
    desk = Desk(LinkLoss.LEVEL_DESCENT, Mode.SETPOINT)
    desk.s.target_height = 5.0
    desk.lose(1.0)
    desk.s.airborne, desk.s.height = 0.0, 0.0
    desk.regain(5.0)
    assert desk.now[:2] == (LinkLoss.LEVEL_DESCENT, Mode.LANDING)
    assert not desk.now[2], "motors off after a while on the ground"
    desk.s.stick[3] = 0.0
    desk.run(1.0)
    assert not desk.now[2], "a height set above the ground would lift it off"
    desk.s.target_height = 0.0
    desk.run(DT)
    assert desk.now == (LinkLoss.NONE, Mode.SETPOINT, True)


def test_homing_without_place_is_a_level_descent() -> None:
    for lacking in ("position_known", "heading_known"):
        desk = Desk(LinkLoss.HOMING)
        desk.s[lacking] = 0.0
        desk.lose(0.6)
        assert desk.now == (LinkLoss.LEVEL_DESCENT, Mode.LANDING, True)
    desk = Desk(LinkLoss.HOMING)
    desk.craft.gnss = 0.0
    desk.lose(0.6)
    assert desk.now[0] == LinkLoss.LEVEL_DESCENT


def test_the_way_home_survives_a_short_loss_of_place_and_not_a_long_one() -> None:
    desk = Desk(LinkLoss.HOMING)
    desk.s.climb_rate = -1.0  # standing still would look like a touch-down
    desk.lose(1.0)
    desk.s.position_known = 0.0
    desk.lose(1.9)
    assert desk.now == (LinkLoss.HOMING, Mode.LANDING, True), "level meanwhile"
    desk.s.position_known = 1.0
    desk.lose(0.1)
    assert desk.now == (LinkLoss.HOMING, Mode.HOMING, True)
    desk.s.position_known = 0.0
    desk.lose(2.1)
    desk.s.position_known = 1.0
    desk.lose(1.0)
    assert desk.now == (LinkLoss.LEVEL_DESCENT, Mode.LANDING, True), "it does not change its mind again"


@pytest.mark.parametrize("guide", [response, navigation], ids=lambda g: g.name)
def test_a_level_descent_is_level_whatever_was_asked_for(guide) -> None:
    desk = Desk(LinkLoss.LEVEL_DESCENT, Mode.SETPOINT, guide)
    desk.s.target_roll, desk.s.target_height, desk.s.velocity[:2] = 0.4, 10.0, (5.0, 3.0)
    desk.run(1.0)
    assert abs(desk.s.attitude_wanted[1]) > 0.1
    desk.lose(2.0)
    assert desk.s.attitude_wanted == pytest.approx([1.0, 0.0, 0.0, 0.0], abs=1e-4)


def test_without_a_choice_nothing_is_done() -> None:
    desk = Desk(LinkLoss.NONE)
    desk.lose(5.0)
    assert desk.now == (LinkLoss.NONE, Mode.HEIGHT_HOLD, True)


def test_gains_of_safety_are_within_their_bounds_and_named_with_units() -> None:
    for gain in GuideGain:
        if 44 <= gain <= GuideGain.HOME_MARGIN:
            assert gain.unit in ("s", "-")
            assert gain.low <= gain.default <= gain.high
