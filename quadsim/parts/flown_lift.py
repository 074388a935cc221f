"""The lift of a choice flown: the load hangs at the craft for the whole time, then all motors are asked for everything.

What they give then, by the accelerometer's truth, is thrust over weight at the end: the very reserve that the rule of the fast
estimate keeps, next to charge, loaded voltage and currents. Of the pack, half its label counts on purpose.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from quadsim.config import Craft, resolve_plant
from quadsim.config.contest_schema import Contest
from quadsim.constants import G0
from quadsim.contest.lift import ratings
from quadsim.contest.lift_flight import fly_load, judged
from quadsim.contest.rules import LOADED_CELL_V
from quadsim.environment.atmosphere import Site
from quadsim.parts.figures import LEAST_CHARGE, LONG_SHARE
from quadsim.parts.gains import Gains
from quadsim.simulation.run import Run
from quadsim.simulation.session import Session

LIFT_GAINS: Gains = {"guide.thrust_high": 1.0}
"""Gains that a lift takes, for the craft's file."""
FULL_S, READ_S = 0.3, 0.1
"""Time at full throttle, and its end in which thrust is read [s]: motors are there, and the climb takes hardly any thrust yet."""
HALVINGS = 7
"""Of the range of a load that is looked at."""
RANGE = 0.6, 1.4
"""Shares of the estimated load between which the flown one is looked for; assumed."""

FULL_THROTTLE = """[[at]]
t_s = {time}
mode = "attitude_command"
stick_throttle = 1.0
"""


@dataclass(frozen=True)
class Reserve:
    """What was left at the end of one lift, each as a share above its limit: negative is broken; ended : how, where the
    time was not flown."""

    held: bool
    thrust: float
    charge: float
    voltage: float
    current: float
    pack: float
    ended: str = ""

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
            "half the pack's label": self.pack,
        }


@dataclass(frozen=True)
class FlownLift:
    """Greatest load that keeps the rule in flight [kg], 0 where none in RANGE does; what bites first, in words."""

    load: float
    words: str


def fly_lift(craft: Craft, site: Site, contest: Contest, estimate: float) -> FlownLift:
    """The greatest load of a craft, looked for around an estimate [kg]."""
    low, high = (share * estimate for share in RANGE)
    first = fly_reserve(craft, site, contest, low)
    if not first.kept:
        return FlownLift(0.0, f"{1e3 * low:.0f} g break the rule: {_broken(first)}")
    last = fly_reserve(craft, site, contest, high)
    if last.kept:
        return FlownLift(high, "more was not tried")
    for _ in range(HALVINGS):
        load = 0.5 * (low + high)
        found = fly_reserve(craft, site, contest, load)
        low, high, last = (load, high, last) if found.kept else (low, load, found)
    return FlownLift(low, f"more, and {last.ended}" if last.ended else f"{_broken(last)} bites first")


def _broken(found: Reserve) -> str:
    if not found.held:
        return found.ended or "height"
    return min(found.shares, key=lambda name: found.shares[name])


def fly_reserve(craft: Craft, site: Site, contest: Contest, load: float) -> Reserve:
    """Hover with a load [kg] for the contest's time from a full pack, then full throttle for a moment."""
    seconds = float(contest.lift.time_s)
    more = FULL_THROTTLE.format(time=seconds)
    session, run = fly_load(craft, site, load, seconds, more=more, more_s=FULL_S)
    if run.status != "done":
        return Reserve(False, -1.0, -1.0, -1.0, -1.0, -1.0, run.status_text)
    return _read(run, session, contest, load, seconds)


def _read(run: Run, session: Session, contest: Contest, load: float, seconds: float) -> Reserve:
    t, plant = run.t_s, session.plant
    hover, full = (t >= seconds - 1.0) & (t < seconds), t > seconds + FULL_S - READ_S
    ratio = float(np.mean(np.sum(run["thrust_N"][full], axis=1) / (run["mass_kg"][full] * G0)))
    cell = float(np.mean(run["battery_voltage_V"][hover])) / float(plant.cells)
    current, drawn = (float(np.mean(run[one][hover])) for one in ("motor_current_A", "battery_current_A"))
    rated = ratings(session.craft, resolve_plant(session.craft, session.site))
    return Reserve(
        judged(run, load, 0.0, "").held,
        ratio / float(contest.lift.thrust_over_weight) - 1.0,
        float(run["charge"][hover][-1]) / LEAST_CHARGE - 1.0,
        cell / LOADED_CELL_V - 1.0,
        1.0 - current / (LONG_SHARE * min(float(rated.motor[0]), float(rated.esc[0]))),
        1.0 - drawn / float(rated.pack[0]),
    )
