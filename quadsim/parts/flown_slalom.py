"""The slalom of a choice flown: a point mass's line, with as much acceleration as still takes the craft through every gate.

A point mass turns its thrust at once and a craft does not, and the guide `navigation` knows a place to hold rather than a line
to race. So the flown lap is one that can be flown, not the fastest; the estimate lies below it. A system at the field tells the
place (assumed), in stead of a pilot's eyes.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from controllers.contract import SLOTS
from controllers.guide_gains import GuideGain
from quadsim.config import Craft
from quadsim.config.contest_schema import Contest
from quadsim.config.craft_solids import rotor_places
from quadsim.config.flight_schema import FlightFile
from quadsim.config.position_sensors_schema import Compass, SatelliteReceiver
from quadsim.config.quantity import Uncertain
from quadsim.environment.atmosphere import Site
from quadsim.parts.slalom_line import SlalomLine, flown_path, slalom_line, times_along
from quadsim.simulation.fly import finish
from quadsim.simulation.run import Run
from quadsim.simulation.session import Session, fly_through
from quadsim.units import INCH

Array = NDArray[np.float64]

SETTLE_S = 2.0
"""Hover before the line begins [s]."""
CUT = 0.2
"""As of `figures.course_rows`: nearer to the middle of a gate than the estimate's, with room for what the craft is
off; the best of five by flying one choice."""
PUSHES = 1.0, 64.0
"""Range of accelerations that are tried [m/s2]."""
HALVINGS = 7
"""Of that range, in its logarithm: 3 % of the acceleration are left, under 2 % of the lap."""
PLACE_RATE_HZ, PLACE_SIGMA_M, PLACE_DELAY_MS = 50.0, 0.05, 10.0
"""Of a system at the field that tells the craft its place; assumed."""
GAINS = {
    GuideGain.PLACE_P: 8.0, GuideGain.PLACE_D: 4.5, GuideGain.PLACE_I: 2.0, GuideGain.PLACE_FREQUENCY: 60.0,
    GuideGain.JERK_MAX: 100.0, GuideGain.PLACE_TILT: 1.2, GuideGain.TILT_MAX: 1.3, GuideGain.TILT_FACTOR_MAX: 3.5,
    GuideGain.CLIMB_MAX: 20.0, GuideGain.SINK_MAX: 10.0, GuideGain.CLIMB_ACCELERATION: 20.0, GuideGain.CLIMB_P: 8.0,
    GuideGain.THRUST_HIGH: 1.0,
}  # fmt: skip
"""Of the guide in a slalom; found by flying."""


@dataclass(frozen=True)
class FlownSlalom:
    """Mean lap [s], infinite where no speed passes all gates; acceleration of the line it was flown along [m/s2]; in words."""

    lap: float
    push: float
    words: str


@dataclass(frozen=True)
class Passages:
    """One flight: mean time of its laps [s], and how far beyond the free opening it passed at worst [m], negative inside;
    what went wrong where it is not."""

    lap: float
    beyond: float
    words: str


def fly_slalom(craft: Craft, site: Site, contest: Contest, top: float) -> FlownSlalom:
    """The fastest laps of a craft along the line of a point mass that flies up to `top` [m/s]."""
    line = slalom_line(contest, max(contest.slalom.laps, 2), CUT)

    def flown(push: float) -> Passages:
        return fly_line(craft, site, contest, line, times_along(line, push, top))

    low, high = PUSHES
    best = flown(low)
    if best.beyond > 0.0:
        return FlownSlalom(math.inf, low, f"{best.words} at {low:g} m/s2")
    missed = flown(high)
    if missed.beyond <= 0.0:
        return FlownSlalom(missed.lap, high, f"at {high:g} m/s2; more was not tried")
    for _ in range(HALVINGS):
        middle = math.sqrt(low * high)
        found = flown(middle)
        if found.beyond <= 0.0:
            low, best = middle, found
        else:
            high, missed = middle, found
    return FlownSlalom(best.lap, low, f"bends at {low:.0f} m/s2; beyond, {missed.words}")


def located(craft: Craft) -> Craft:
    """The craft told its place and heading by the field; what tells it weighs nothing."""
    none: dict[str, Any] = {"mass_g": Uncertain(0.0), "size_mm": (1.0, 1.0, 1.0), "at_mm": (0.0, 0.0, 0.0)}
    receiver = SatelliteReceiver(
        name="place told by the field", rate_Hz=Uncertain(PLACE_RATE_HZ), delay_ms=Uncertain(PLACE_DELAY_MS),
        cep_m=Uncertain(1.177 * PLACE_SIGMA_M), vertical_sigma_m=Uncertain(PLACE_SIGMA_M), white_pct=Uncertain(100.0),
        velocity_sigma_m_s=Uncertain(0.1), **none,
    )  # fmt: skip
    compass = Compass(name="heading told by the field", **none)
    return craft.model_copy(update={"gnss": receiver, "compass": compass})


def fly_line(craft: Craft, site: Site, contest: Contest, line: SlalomLine, times: Array) -> Passages:
    """One flight along a line, with the times at its places [s]."""
    flight = FlightFile.model_validate(
        {
            "title": "Slalom",
            "craft": craft.name,
            "duration_s": SETTLE_S + float(times[-1]) + 0.5,
            "log_rate_Hz": 200.0,
            "start": {"height_m": -float(line.places[0, 2]), "mode": "waypoint"},
            "at": [{"t_s": SETTLE_S, "mode": "trajectory"}],
        }
    )
    flight._trajectory = flown_path(line, times, SETTLE_S)
    session = Session(located(craft), flight, site=site, blocks={"estimate": "kalman", "guide": "navigation"})
    gains = session.gains[SLOTS.index("guide")]
    for gain, value in GAINS.items():
        gains[gain] = value
    run = finish(session, fly_through(session))
    return passages(run, craft, contest, line, times)


def passages(run: Run, craft: Craft, contest: Contest, line: SlalomLine, times: Array) -> Passages:
    """Where a flight passed the gates, each upright and square to the way between the legs at it."""
    if run.status != "done":
        return Passages(math.inf, math.inf, run.status_text)
    gates = np.array(contest.slalom.gates_m, float)
    begin = line.places[0] * np.array([1.0, 1.0, 0.0])
    place, t = run["position_m"] + begin, run.t_s
    free = 0.5 * float(contest.slalom.opening_m) - outline(craft)
    beyond, worst, passed = -math.inf, 0, np.empty(line.gates.shape)
    for (lap, k), row in np.ndenumerate(line.gates):
        ahead = _ahead(gates, k)
        window = np.abs(t - SETTLE_S - times[row]) <= _half_window(times, line, lap, k)
        offset = place[window] - gates[k]
        through = offset @ ahead
        cross = np.flatnonzero((through[:-1] < 0.0) & (through[1:] >= 0.0))
        if not len(cross):
            return Passages(math.inf, math.inf, f"it never passes gate {k + 1}")
        j = int(cross[0])
        share = through[j] / (through[j] - through[j + 1])
        at = offset[j] + share * (offset[j + 1] - offset[j])
        side = abs(float(at @ np.array([-ahead[1], ahead[0], 0.0])))
        off = max(side, abs(float(at[2]))) - free
        beyond, worst = (off, k) if off > beyond else (beyond, worst)
        when = t[window]
        passed[lap, k] = when[j] + share * (when[j + 1] - when[j])
    lap = float(np.mean(np.diff(np.append(passed[:, 0], _last(passed)))))
    return Passages(lap, beyond, f"it touches gate {worst + 1}")


def _last(passed: Array) -> float:
    """End of the last lap [s]: the line stops behind the last gate, so its closing stretch is taken from the lap before."""
    return float(passed[-1, -1] + (passed[1, 0] - passed[0, -1]))


def _ahead(gates: Array, k: int) -> Array:
    """Level unit vector through a gate: the middle between its legs."""
    legs = np.array([gates[k] - gates[k - 1], gates[(k + 1) % len(gates)] - gates[k]])
    legs /= np.linalg.norm(legs, axis=1)[:, None]
    level = legs.sum(axis=0) * np.array([1.0, 1.0, 0.0])
    return np.asarray(level / np.linalg.norm(level))


def _half_window(times: Array, line: SlalomLine, lap: int, k: int) -> float:
    """Half the time to the nearer neighbouring gate [s]: a passage is looked for within it."""
    flat, at = times[line.gates.ravel()], lap * line.gates.shape[1] + k
    near = [abs(flat[at] - flat[other]) for other in (at - 1, at + 1) if 0 <= other < len(flat)]
    return 0.5 * float(min(near)) + 0.2


def outline(craft: Craft) -> float:
    """Radius of the circle round a craft's discs [m]."""
    hubs = np.linalg.norm(rotor_places(craft)[:, :2], axis=1)
    return float(np.max(hubs)) + 0.5 * float(craft.propeller.diameter_in) * INCH
