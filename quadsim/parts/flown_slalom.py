"""The slalom of a choice flown: the estimate's own line, slowed down until the craft passes every gate.

A point mass turns its thrust at once, a craft does not; how much of the estimated acceleration a guide that follows a place can
use is what the flights show. The pilot's knowledge of the place is that of a system at the field (assumed).
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
from quadsim.config.flight_loader import parse_flight
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
LEAST_SHARE = 0.02
"""Least share of the estimated acceleration that is tried."""
HALVINGS = 7
"""Of the range of that share, in its logarithm."""
PLACE_RATE_HZ, PLACE_SIGMA_M, PLACE_DELAY_MS = 50.0, 0.05, 10.0
"""Of a system at the field that tells the craft its place, in stead of a pilot's eyes; assumed."""
GAINS = {
    GuideGain.PLACE_P: 8.0, GuideGain.PLACE_D: 4.5, GuideGain.PLACE_I: 2.0, GuideGain.PLACE_FREQUENCY: 60.0,
    GuideGain.JERK_MAX: 300.0, GuideGain.PLACE_TILT: 1.2, GuideGain.TILT_MAX: 1.3, GuideGain.TILT_FACTOR_MAX: 3.5,
    GuideGain.CLIMB_MAX: 20.0, GuideGain.SINK_MAX: 10.0, GuideGain.CLIMB_ACCELERATION: 20.0, GuideGain.THRUST_HIGH: 1.0,
}  # fmt: skip
"""Of the guide in a slalom; found by flying."""

FLIGHT = """title = "Slalom"
craft = "{craft}"
duration_s = {duration}
log_rate_Hz = 200
[start]
height_m = {height}
mode = "waypoint"
[[at]]
t_s = {settle}
mode = "trajectory"
"""


@dataclass(frozen=True)
class FlownSlalom:
    """Mean lap [s], infinite where no speed passes all gates; share of the estimated acceleration it was flown with; in words."""

    lap: float
    share: float
    words: str


@dataclass(frozen=True)
class Passages:
    """One flight: mean time of its laps [s], and how far beyond the free opening it passed at worst [m], negative inside."""

    lap: float
    beyond: float


def fly_slalom(craft: Craft, site: Site, contest: Contest, push: float, top: float) -> FlownSlalom:
    """The fastest laps of a craft, for a point mass of an acceleration `push` [m/s2] and a speed `top` [m/s]."""
    line = slalom_line(contest, contest.slalom.laps)

    def passes(share: float) -> Passages:
        return fly_line(craft, site, contest, line, times_along(line, share * push, top))

    low, high = math.log(LEAST_SHARE), 0.0
    best = passes(math.exp(low))
    if best.beyond > 0.0:
        return FlownSlalom(math.inf, 0.0, f"{best.beyond:.2f} m beside a gate however slow")
    whole = passes(1.0)
    if whole.beyond <= 0.0:
        return FlownSlalom(whole.lap, 1.0, "with all of the estimated acceleration")
    for _ in range(HALVINGS):
        middle = 0.5 * (low + high)
        found = passes(math.exp(middle))
        low, high, best = (middle, high, found) if found.beyond <= 0.0 else (low, middle, best)
    share = math.exp(low)
    return FlownSlalom(best.lap, share, f"with {100.0 * share:.0f} % of the estimated acceleration")


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
    flight = parse_flight(
        FLIGHT.format(
            craft=craft.name, duration=SETTLE_S + times[-1] + 0.5, height=-line.places[0, 2], settle=SETTLE_S
        )
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
        return Passages(math.inf, math.inf)
    gates = np.array(contest.slalom.gates_m, float)
    begin = line.places[0] * np.array([1.0, 1.0, 0.0])
    place, t = run["position_m"] + begin, run.t_s
    free = 0.5 * float(contest.slalom.opening_m) - outline(craft)
    beyond, passed = -math.inf, np.empty(line.gates.shape)
    for (lap, k), row in np.ndenumerate(line.gates):
        ahead = _ahead(gates, k)
        window = np.abs(t - SETTLE_S - times[row]) <= _half_window(times, line, lap, k)
        offset = place[window] - gates[k]
        through = offset @ ahead
        cross = np.flatnonzero((through[:-1] < 0.0) & (through[1:] >= 0.0))
        if not len(cross):
            return Passages(math.inf, math.inf)
        j = int(cross[0])
        share = through[j] / (through[j] - through[j + 1])
        at = offset[j] + share * (offset[j + 1] - offset[j])
        side = abs(float(at @ np.array([-ahead[1], ahead[0], 0.0])))
        beyond = max(beyond, side - free, abs(float(at[2])) - free)
        when = t[window]
        passed[lap, k] = when[j] + share * (when[j + 1] - when[j])
    return Passages(float(np.mean(np.diff(np.append(passed[:, 0], _last(passed))))), beyond)


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
