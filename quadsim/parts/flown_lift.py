"""The lift of a choice flown: the load hangs at the craft for the whole time, then all motors are asked for everything.

What they give then, by the accelerometer's truth, is thrust over weight at the end: the very reserve that the rule of the fast
estimate keeps, next to charge, loaded voltage and current.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from quadsim.config import Craft
from quadsim.config.contest_schema import Contest
from quadsim.config.flight_loader import parse_flight
from quadsim.config.loose_load import payload_of
from quadsim.constants import G0
from quadsim.contest.lift_flight import tell_load
from quadsim.environment.atmosphere import Site
from quadsim.parts.figures import CELL_V, LABEL_SHARE, LEAST_CHARGE, LONG_SHARE
from quadsim.simulation.fly import finish, start
from quadsim.simulation.run import Run
from quadsim.simulation.session import Session, fly_through

HEIGHT_M = 30.0
LIFT_GAINS = {"thrust_high": 1.0}
"""Gains of the guide that a lift takes, for the craft's file."""
FULL_S, READ_S = 0.3, 0.1
"""Time at full throttle, and its end in which thrust is read [s]: motors are there, and the climb takes hardly any thrust yet."""
SETTLE_S, OFF_M = 4.0, 1.0
"""When the load counts as taken up [s], and the height error that counts as not held [m]; our choice."""
HALVINGS = 7
"""Of the range of a load that is looked at."""
RANGE = 0.6, 1.4
"""Shares of the estimated load between which the flown one is looked for; assumed."""

FLIGHT = """title = "Lift"
craft = "{craft}"
duration_s = {duration}
log_rate_Hz = 100
[start]
height_m = {height}
[[at]]
t_s = 0.0
attach = {{ name = "load", mass_g = {load} }}
[[at]]
t_s = {time}
mode = "attitude_command"
stick_throttle = 1.0
"""


@dataclass(frozen=True)
class Reserve:
    """What was left at the end of one lift, each as a share above its limit: negative is broken."""

    held: bool
    thrust: float
    charge: float
    voltage: float
    current: float

    @property
    def kept(self) -> bool:
        return self.held and min(self.shares.values()) >= 0.0

    @property
    def shares(self) -> dict[str, float]:
        return {
            "thrust over weight": self.thrust,
            "charge": self.charge,
            "loaded voltage": self.voltage,
            "current": self.current,
        }


@dataclass(frozen=True)
class FlownLift:
    """Greatest load that keeps the rule in flight [kg], 0 where none in RANGE does; what bites first, in words."""

    load: float
    words: str


def fly_lift(craft: Craft, site: Site, contest: Contest, estimate: float) -> FlownLift:
    """The greatest load of a craft, looked for around an estimate [kg]."""
    low, high = (share * estimate for share in RANGE)
    first = fly_load(craft, site, contest, low)
    if not first.kept:
        return FlownLift(0.0, f"{1e3 * low:.0f} g break the rule: {_broken(first)}")
    last = fly_load(craft, site, contest, high)
    if last.kept:
        return FlownLift(high, "more was not tried")
    for _ in range(HALVINGS):
        load = 0.5 * (low + high)
        found = fly_load(craft, site, contest, load)
        low, high, last = (load, high, last) if found.kept else (low, load, found)
    return FlownLift(low, f"{_broken(last)} bites first")


def _broken(found: Reserve) -> str:
    if not found.held:
        return "height"
    return min(found.shares, key=lambda name: found.shares[name])


def fly_load(craft: Craft, site: Site, contest: Contest, load: float) -> Reserve:
    """Hover with a load [kg] for the contest's time from a full pack, then full throttle for a moment."""
    seconds = float(contest.lift.time_s)
    text = FLIGHT.format(
        craft=craft.name, duration=seconds + FULL_S, height=HEIGHT_M, load=1e3 * load, time=seconds
    )
    session = start(parse_flight(text), craft=craft, site=site)
    tell_load(session, payload_of(load), freely=True)
    return _read(finish(session, fly_through(session)), session, contest, seconds)


def _read(run: Run, session: Session, contest: Contest, seconds: float) -> Reserve:
    t, rule, plant = run.t_s, contest.lift, session.plant
    if run.status != "done":
        return Reserve(False, -1.0, -1.0, -1.0, -1.0)
    hover, full = (t >= seconds - 1.0) & (t < seconds), t > seconds + FULL_S - READ_S
    while_held = (t >= SETTLE_S) & (t < seconds)
    held = float(np.max(np.abs(run["height_m"][while_held] - HEIGHT_M))) <= OFF_M
    ratio = float(np.mean(np.sum(run["thrust_N"][full], axis=1) / (run["mass_kg"][full] * G0)))
    cell = float(np.mean(run["battery_voltage_V"][hover])) / float(plant.cells)
    current = float(np.mean(run["motor_current_A"][hover]))
    return Reserve(
        held,
        ratio / float(rule.thrust_over_weight) - 1.0,
        float(run["charge"][hover][-1]) / LEAST_CHARGE - 1.0,
        cell / CELL_V - 1.0,
        1.0 - current / (LONG_SHARE * motor_limit(session.craft)),
    )


def motor_limit(craft: Craft) -> float:
    """Greatest current of one motor [A]: its own, the ESC's, and a quarter of what the pack's label is taken for."""
    label = LABEL_SHARE * float(craft.battery.label_C_rating * craft.battery.capacity_mAh) / 1e3
    quarter = 0.25 * (label - float(craft.flight_controller.pack_current_A))
    return min(float(craft.motor.current_limit_A), float(craft.esc.current_limit_A), quarter)
