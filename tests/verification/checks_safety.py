"""Checks of link loss and low battery against arithmetic; each takes the guide, so that it runs on wrong copies too."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from controllers import MEMORY_SIZE, SIGNALS, LinkLoss, Mode, example_craft, rows
from controllers.guide_gains import GuideGain, Memory
from controllers.navigation import navigation

DT = 0.02
CELLS, CAPACITY, RESERVE, RESISTANCE = 4.0, 5400.0, 0.2, 0.025
"""Cells of the pack, its charge [A s], the share to keep, its resistance [ohm]."""


def near(value: object, expected: object, atol: float = 1e-9) -> None:
    np.testing.assert_allclose(np.asarray(value), np.asarray(expected), rtol=0.0, atol=atol)


class Desk:
    """A craft in the air, ten metres up and `away` metres north of home, that sinks a little so as not to look landed."""

    def __init__(
        self, guide: Callable, choice: LinkLoss, mode: Mode = Mode.WAYPOINT, away: float = 0.0
    ) -> None:
        self.guide, self.craft = guide, example_craft().copy()
        self.craft.link_loss, self.craft.failsafe_delay = choice, 0.5
        self.craft.gnss = self.craft.compass = 1.0
        self.craft.cells, self.craft.capacity, self.craft.reserve = CELLS, CAPACITY, RESERVE
        self.craft.pack_resistance = RESISTANCE
        self.s, self.memory, self.gains = rows(SIGNALS)[0], np.zeros(MEMORY_SIZE), navigation.default_gains()
        self.s.dt, self.s.mode, self.s.link, self.s.armed = DT, mode, 1.0, 1.0
        self.s.height, self.s.attitude[0], self.s.stick[3], self.s.climb_rate = 10.0, 1.0, 0.5, -1.0
        self.s.target_height, self.s.target_north = 10.0, away
        self.s.position[:], self.s.position_known, self.s.heading_known = (away, 0.0, -10.0), 1.0, 1.0
        self.battery(4.1, 8.0)

    def battery(self, rest: float, amps: float) -> None:
        """A pack of a rest voltage per cell [V] under a current [A]."""
        self.s.battery_current, self.s.battery_voltage = amps, CELLS * rest - RESISTANCE * amps

    def run(self, seconds: float) -> None:
        for _ in range(round(seconds / DT)):
            self.guide(self.s, self.craft, self.gains, self.memory)

    @property
    def now(self) -> tuple[float, float, float]:
        return self.s.link_action, self.s.mode_in_force, self.s.armed


def acts_when_the_delay_is_over(guide: Callable) -> None:
    """25 runs see silences of 0 to 0.48 s; the next one sees 0.5 s."""
    desk = Desk(guide, LinkLoss.CUT)
    desk.run(1.0)
    desk.s.link = 0.0
    desk.run(0.5)
    near(desk.now, (LinkLoss.NONE, Mode.WAYPOINT, 1.0))
    desk.run(DT)
    near(desk.now, (LinkLoss.CUT, Mode.LANDING, 0.0))


def short_gaps_do_not_add_up(guide: Callable) -> None:
    desk = Desk(guide, LinkLoss.CUT)
    for _ in range(10):
        desk.s.link = 0.0
        desk.run(0.4)
        desk.s.link = 1.0
        desk.run(DT)
    near(desk.now[0], LinkLoss.NONE)


def cut_motors_wait_for_ground_and_stick(guide: Callable) -> None:
    """Good link for 3 s in the air, then still on the ground, then the throttle stick down: only the last arms them."""
    desk = Desk(guide, LinkLoss.CUT, Mode.HEIGHT_HOLD)
    desk.s.link = 0.0
    desk.run(1.0)
    desk.s.link, desk.s.stick[3] = 1.0, 0.0
    desk.run(3.0)
    near(desk.s.armed, 0.0)
    desk.s.climb_rate, desk.s.height, desk.s.stick[3] = 0.0, 0.0, 0.5
    desk.run(3.0)
    near((desk.s.armed, desk.s.airborne), (0.0, 0.0))
    desk.s.stick[3] = 0.0
    desk.run(DT)
    near((desk.s.armed, desk.s.airborne), (1.0, 0.0))


def homing_needs_a_place(guide: Callable) -> None:
    for place, action in ((1.0, LinkLoss.HOMING), (0.0, LinkLoss.LEVEL_DESCENT)):
        desk = Desk(guide, LinkLoss.HOMING, away=60.0)
        desk.s.link, desk.s.position_known = 0.0, place
        desk.run(1.0)
        near(desk.now[0], action)


def control_comes_back_after_a_second(guide: Callable) -> None:
    desk = Desk(guide, LinkLoss.LEVEL_DESCENT)
    desk.s.link = 0.0
    desk.run(1.0)
    desk.s.link = 1.0
    desk.run(0.98)
    near(desk.now[0], LinkLoss.LEVEL_DESCENT)
    desk.run(0.06)
    near(desk.now, (LinkLoss.NONE, Mode.WAYPOINT, 1.0))


def sag_is_added_back(guide: Callable) -> None:
    """3.84 V at rest under 60 A: (15.36 - 1.5 + 1.5)/4 is 3.84 V and half the charge, whatever the current."""
    for amps in (0.0, 60.0):
        desk = Desk(guide, LinkLoss.CUT)
        desk.battery(3.84, amps)
        desk.run(8.0)
        near(desk.memory[Memory.CHARGE_LEFT], 0.5)
        near(desk.s.battery_alert, 0.0)


def the_less_of_two_charges_counts(guide: Callable) -> None:
    """3.84 V is a half by the chart; 0.65 of the capacity counted leaves 0.35, and 0.4 counted leaves 0.6."""
    for used, left in ((0.65, 0.35), (0.4, 0.5)):
        desk = Desk(guide, LinkLoss.CUT)
        desk.battery(3.84, 8.0)
        desk.s.charge_used = used * CAPACITY
        desk.run(1.0)
        near(desk.memory[Memory.CHARGE_LEFT], left)


def warns_a_tenth_before_it_acts(guide: Callable) -> None:
    """Without a way home: warned below 0.3, acted on below 0.2, after BATTERY_TIME of 3 s, not sooner."""
    for left, alert in ((0.31, 0.0), (0.29, 1.0), (0.21, 1.0), (0.19, 2.0)):
        desk = Desk(guide, LinkLoss.CUT)
        desk.s.position_known = 0.0
        desk.s.charge_used = (1.0 - left) * CAPACITY
        desk.run(2.9)
        near(desk.s.battery_alert, 0.0)
        desk.run(0.5)
        near(desk.s.battery_alert, alert)


def the_way_home_is_kept(guide: Callable) -> None:
    """300 m at 5 m/s, 5 m up at 2.5, 15 m down at 1.5 m/s: 72 s of 8 A, times 1.3, are 748.8 A s or 0.1387 of the capacity."""
    for left, alert in ((0.441, 0.0), (0.436, 1.0), (0.341, 1.0), (0.336, 2.0)):
        desk = Desk(guide, LinkLoss.CUT, away=300.0)
        desk.s.charge_used = (1.0 - left) * CAPACITY
        desk.run(5.0)
        near(desk.s.battery_alert, alert)
    near(desk.s.mode_in_force, Mode.HOMING)


def a_pilot_keeps_the_craft(guide: Callable) -> None:
    for mode in (Mode.RATE_COMMAND, Mode.ATTITUDE_COMMAND, Mode.HEIGHT_HOLD, Mode.POSITION_HOLD):
        desk = Desk(guide, LinkLoss.CUT, mode)
        desk.s.charge_used = 0.95 * CAPACITY
        desk.run(5.0)
        near((desk.s.battery_alert, desk.s.mode_in_force), (1.0, mode))
        desk.gains[GuideGain.BATTERY_ACTS] = 2.0
        desk.run(5.0)
        near((desk.s.battery_alert, desk.s.mode_in_force), (2.0, Mode.LANDING))


def a_dip_is_smoothed(guide: Callable) -> None:
    """First order, 4 s: of a dip from 3.84 to 3.44 V that lasts one second 1 - exp(-1/4) = 22 % arrives."""
    desk = Desk(guide, LinkLoss.CUT)
    desk.battery(3.84, 8.0)
    desk.run(1.0)
    desk.battery(3.44, 8.0)
    desk.run(1.0)
    near(desk.memory[Memory.REST_VOLTAGE], 3.84 - 0.4 * (1.0 - np.exp(-0.25)), 1e-3)
