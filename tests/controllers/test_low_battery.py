"""Low battery as the supervisor sees it: a pack made of a rest voltage, a resistance and a current."""

from __future__ import annotations

import numpy as np
import pytest

from controllers import MEMORY_SIZE, SIGNALS, LinkLoss, Mode, example_craft, rows
from controllers.guide_gains import GuideGain, Memory
from controllers.low_battery import REST_CHARGE, REST_VOLTAGE, charge_at_rest
from controllers.navigation import navigation

DT = 0.02
"""Five times the interval of a shipped craft's guide; nothing here settles faster than a second [s]."""
HOVER, FULL = 8.0, 60.0
"""Currents of the pack [A]."""


class Desk:
    """A guide in the air over a pack of four cells of 1500 mAh and 25 milliohm whose charge is set by hand."""

    def __init__(self, mode: Mode = Mode.SETPOINT, **gains: float) -> None:
        self.craft = example_craft().copy()
        self.craft.cells, self.craft.capacity, self.craft.reserve = 4.0, 1.5 * 3600.0, 0.2
        self.craft.pack_resistance = 0.025
        self.s, self.memory, self.gains = rows(SIGNALS)[0], np.zeros(MEMORY_SIZE), navigation.default_gains()
        self.s.dt, self.s.mode, self.s.link, self.s.armed = DT, mode, 1.0, 1.0
        self.s.height, self.s.attitude[0], self.s.stick[3] = 10.0, 1.0, 0.5
        self.s.target_height = 10.0
        for name, value in gains.items():
            self.gains[GuideGain[name]] = value

    def run(self, seconds: float, charge: float, amps: float = HOVER, resistance: float = 0.025) -> int:
        """Fly on a pack of a charge and a true resistance; returns the alert."""
        rest = float(np.interp(charge, REST_CHARGE, REST_VOLTAGE))
        for _ in range(round(seconds / DT)):
            self.s.battery_current = amps
            self.s.battery_voltage = 4.0 * rest - resistance * amps
            navigation(self.s, self.craft, self.gains, self.memory)
        return int(self.s.battery_alert)


def test_charge_at_rest_follows_the_chart_and_rises_everywhere() -> None:
    for charge, volts in zip(REST_CHARGE, REST_VOLTAGE, strict=True):
        assert charge_at_rest(volts) == pytest.approx(charge, abs=1e-12)
    values = [charge_at_rest(v) for v in np.linspace(2.5, 4.4, 400)]
    assert np.all(np.diff(values) >= 0.0)
    assert (values[0], values[-1]) == (0.0, 1.0)


def test_warns_at_the_margin_and_acts_at_the_reserve() -> None:
    desk = Desk()
    assert desk.run(30.0, 0.33) == 0
    assert desk.run(30.0, 0.28) == 1
    assert int(desk.s.mode_in_force) == Mode.SETPOINT
    assert desk.run(30.0, 0.19) == 2
    assert int(desk.s.mode_in_force) == Mode.LANDING


def test_the_charge_counted_acts_as_well_as_the_voltage() -> None:
    desk = Desk()
    desk.s.charge_used = 0.71 * desk.craft.capacity
    assert desk.run(10.0, 0.9) == 1
    desk.s.charge_used = 0.81 * desk.craft.capacity
    assert desk.run(10.0, 0.9) == 2


def test_full_throttle_does_not_warn_and_the_loaded_voltage_would() -> None:
    """At half charge 60 A pull the cells from 3.84 to 3.47 V: below the 3.73 V of the reserve, and nothing to do with it."""
    desk = Desk()
    desk.run(5.0, 0.5)
    assert desk.run(30.0, 0.5, FULL) == 0
    assert desk.s.battery_voltage / 4.0 < 3.5
    desk = Desk()
    desk.craft.pack_resistance = 0.0
    desk.run(5.0, 0.5)
    assert desk.run(30.0, 0.5, FULL) == 2


def test_a_resistance_a_tenth_off_still_does_not_warn_at_half_charge() -> None:
    desk = Desk()
    desk.run(5.0, 0.5)
    assert desk.run(30.0, 0.5, FULL, resistance=0.0275) == 0


def test_a_dip_shorter_than_the_smoothing_is_forgotten() -> None:
    desk = Desk()
    for _ in range(10):
        desk.run(3.0, 0.4)
        assert desk.run(0.5, 0.1) == 0


@pytest.mark.parametrize(
    "mode", [Mode.RATE_COMMAND, Mode.ATTITUDE_COMMAND, Mode.HEIGHT_HOLD, Mode.POSITION_HOLD]
)
def test_a_pilot_is_warned_and_flies_on(mode: Mode) -> None:
    desk = Desk(mode)
    assert desk.run(30.0, 0.1) == 1
    assert int(desk.s.mode_in_force) <= mode, "position hold without a place is height hold, never a landing"
    desk = Desk(mode, BATTERY_ACTS=2.0)
    assert desk.run(30.0, 0.1) == 2
    assert int(desk.s.mode_in_force) == Mode.LANDING


def test_a_pilot_who_takes_the_sticks_gets_the_craft_back() -> None:
    desk = Desk()
    assert desk.run(30.0, 0.15) == 2
    desk.s.mode = Mode.HEIGHT_HOLD
    assert desk.run(0.1, 0.15) == 1
    assert int(desk.s.mode_in_force) == Mode.HEIGHT_HOLD


def test_warns_only_where_the_gain_says_so() -> None:
    assert Desk(BATTERY_ACTS=0.0).run(30.0, 0.1) == 1


def away(distance: float, **gains: float) -> Desk:
    """A desk far out with a known place."""
    desk = Desk(Mode.WAYPOINT, **gains)
    desk.craft.gnss = desk.craft.compass = 1.0
    desk.s.position_known = desk.s.heading_known = 1.0
    desk.s.position[:], desk.s.target_north = (distance, 0.0, -10.0), distance
    return desk


def test_far_out_it_turns_home_while_the_charge_lasts() -> None:
    """300 m at 5 m/s, 5 m up at 2.5 m/s, 15 m down at 1.5 m/s: 72 s of 8 A, times 1.3, are 13.9 % of 1500 mAh."""
    desk = away(300.0)
    assert desk.run(30.0, 0.45) == 0
    assert desk.run(30.0, 0.36) == 1, "36 - 20 - 13.9 < 10"
    assert desk.run(30.0, 0.33) == 2, "33 - 20 - 13.9 < 0"
    assert int(desk.s.mode_in_force) == Mode.HOMING
    assert away(300.0, BATTERY_HOMES=0.0).run(30.0, 0.33) == 2
    desk = away(300.0, BATTERY_HOMES=0.0)
    desk.run(30.0, 0.33)
    assert int(desk.s.mode_in_force) == Mode.LANDING


def test_charge_for_the_way_home() -> None:
    desk = away(300.0)
    desk.run(60.0, 0.9)
    seconds = 300.0 / 5.0 + 5.0 / 2.5 + 15.0 / 1.5
    spare = desk.memory[Memory.CHARGE_LEFT] - 0.2 - 1.3 * 8.0 * seconds / desk.craft.capacity
    desk.gains[GuideGain.BATTERY_MARGIN] = spare - 1e-3
    assert desk.run(10.0, 0.9) == 0
    desk.gains[GuideGain.BATTERY_MARGIN] = min(spare + 1e-3, 0.8)
    assert desk.run(10.0, 0.9) == 1


def test_on_the_way_home_it_lands_when_half_the_reserve_is_gone() -> None:
    desk = away(300.0)
    desk.run(30.0, 0.25)
    assert int(desk.s.mode_in_force) == Mode.HOMING
    desk.run(60.0, 0.08)
    assert int(desk.s.mode_in_force) == Mode.LANDING
    desk.run(60.0, 0.3)
    assert int(desk.s.mode_in_force) == Mode.LANDING, "it does not change its mind again"


def test_a_lost_link_goes_before_a_low_battery() -> None:
    desk = away(300.0)
    desk.craft.link_loss, desk.craft.failsafe_delay = LinkLoss.CUT, 0.5
    desk.run(30.0, 0.25)
    desk.s.link = 0.0
    desk.run(1.0, 0.25)
    assert desk.s.armed == 0.0


def test_a_craft_that_knows_nothing_of_its_pack_is_left_alone() -> None:
    desk = Desk()
    desk.craft.capacity = 0.0
    assert desk.run(10.0, 0.0) == 0
