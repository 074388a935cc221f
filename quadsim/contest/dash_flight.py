"""The dash prediction flown: both ways at the top speed for the score, then just below it and beyond, in still air.

A flight shows what the prediction does not know: the height that the barometer loses to the airspeed, the attitude that is
estimated while the craft speeds up, run-up and braking with both.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from controllers.contract import SLOTS
from quadsim.config import Craft, resolve_plant
from quadsim.config.flight_loader import parse_flight
from quadsim.contest.crowd import crowd_of
from quadsim.contest.dash import Dash, both_ways, mean_speed
from quadsim.contest.dash_crew import SETTLE_S, Crew, Leg
from quadsim.contest.dash_flown import BEYOND, WITHIN, FlownDash, FlownRun
from quadsim.contest.dash_prediction import DashPrediction, dash_of
from quadsim.contest.feed import raised_current
from quadsim.contest.flights import Watch
from quadsim.contest.lift import Ratings, ratings
from quadsim.contest.rules import DashRule
from quadsim.contest.steady import Trim, trim
from quadsim.contest.straight import LONGEST_S, SETTLED, SPARE, Legs, fly_legs
from quadsim.environment.atmosphere import Site
from quadsim.simulation.fly import snapshot, start
from quadsim.simulation.run import Run
from quadsim.simulation.session import Session

Array = NDArray[np.float64]

HEIGHT_M = 40.0
CHECK_M = 150.0
"""Length of the straight of the flights below and beyond the top speed [m]."""
DRAWN = 10
"""Rows of the log per point that is kept for a picture."""
LAST_S = 0.5
"""Time before the far gate over which limits are read [s]."""
HOLDS = 3.0
"""What the integral may hold over the pitching moment of the trim [-]: the allocator knows the rotors standing still, and at full
speed a craft that asks for 87 rad/s2 got 43 (measured with one shipped craft)."""

SCORE_WITHIN = {"flying": 0.03, "standing": 0.06}
"""By how much the flown score may differ from the predicted one [-], by the start; our choice."""

FLIGHT = """title = "Dash"
craft = "{craft}"
duration_s = {duration}
log_rate_Hz = 100
[start]
height_m = {height}
[wind]
speed_m_s = {wind}
from_deg = 180
"""


def fly_dash(
    craft: Craft, site: Site, found: DashPrediction, watch: Watch | None = None
) -> Iterator[FlownDash]:
    """The FLIGHTS that confirm a prediction, each once it is flown: both ways at the top speed, then one way below and beyond
    it; Ctrl-C ends them by KeyboardInterrupt."""
    at, calm = found.speed, replace(found.rule, wind_m_s=0.0, start="flying", course_m=CHECK_M, run_up_m=None)
    yield fly_speed(craft, site, found.rule, at, score=found.course.scored_speed, watch=watch)
    yield fly_speed(craft, site, calm, WITHIN * at, watch=watch)
    yield fly_speed(craft, site, calm, BEYOND * at, expected=found.limited_by, watch=watch)


def fly_speed(
    craft: Craft, site: Site, rule: DashRule, speed: float, expected: str = "", score: float | None = None,
    watch: Watch | None = None,
) -> FlownDash:  # fmt: skip
    """Run at an airspeed [m/s], from a full battery: once, or both ways for a score, with the wind first and then against it."""
    ways = 1 if score is None else 2
    dash, plant = dash_of(craft, rule), resolve_plant(craft, site)
    crowd = crowd_of([plant])
    legs = fly_legs(crowd, speed, dash.tilt, both_ways(rule))
    slowest = max(speed - rule.wind_m_s, 1.0)
    longest = ways * (4.0 * LONGEST_S + 2.0 * rule.course_m / slowest + rule.between_s)
    text = FLIGHT.format(craft=craft.name, duration=longest, height=HEIGHT_M, wind=rule.wind_m_s)
    session = start(parse_flight(text), craft=craft, site=site)
    steady = trim(crowd, crowd.mass, speed)
    raised = let_lean(session, dash.tilt, steady) if np.isfinite(steady.tilt[0]) else {}
    crew = Crew(session, rule, legs, speed, dash.tilt)
    if watch is not None:
        usual = ways * (_usual_s(legs, rule, slowest) + SETTLE_S) + (ways - 1) * rule.between_s
        crew.watch = lambda: watch(f"{speed:.1f} m/s", session, usual)
    made = crew.fly(ways)
    run = snapshot(session)
    runs = [
        _read(run, leg, speed, plant, dash, ratings(craft, plant))
        for leg in made
        if leg.braked_s > leg.begun_s
    ]
    ended = run.status_text if session.finished else ""
    scored = mean_speed(rule, *(one.ground_m_s for one in runs)) if ways == len(runs) == 2 else None
    return FlownDash(speed, runs, expected, score, scored, SCORE_WITHIN[rule.start], raised, ended)


def _usual_s(legs: Legs, rule: DashRule, slowest: float) -> float:
    """Time of one run [s]: run-ups, course, braking."""
    up, down = (float(np.max(one)) for one in (legs.run_up_s, legs.braking_s))
    return SPARE * up + rule.course_m / slowest + down


def let_lean(session: Session, tilt: float, lean: Trim) -> dict[str, float]:
    """Raise gains that would hold the craft back from a trim, as a crew has to; returns them in the gains' units.

    The guide's greatest tilt and the factor by which it makes up for tilt; and the integral of a rate loop that has a limit: it
    holds the pitching moment of the airspeed, and where it is too small the nose stays up by degrees.
    """
    plant = session.plant
    arm = float(np.mean(np.abs(plant.rotor_position[:, 0])))
    moment = (1.0 - float(lean.least_share[0])) * 4.0 * float(lean.thrust[0]) * arm
    wanted = {
        "guide": {"tilt_max": tilt, "tilt_factor_max": 1.0 / math.cos(tilt)},
        "rate": {"integral_limit": HOLDS * moment / float(plant.inertia[1, 1])},
    }
    raised = {}
    for slot, values in wanted.items():
        row = SLOTS.index(slot)
        for gain in session.blocks[row].gains:
            value = min(values.get(gain.name.lower(), 0.0), float(gain.high))
            if session.gains[row, gain] < value:
                session.gains[row, gain] = value
                raised[f"{slot}.{gain.name.lower()}"] = value
    return raised


def _read(run: Run, leg: Leg, speed: float, plant: Any, dash: Dash, rated: Ratings) -> FlownRun:
    """What the log says of a run."""
    t, north = run.t_s, leg.way * run["position_m"][:, 0]
    ahead = leg.way * run["velocity_m_s"][:, 0]
    begun, braked = (int(np.searchsorted(t, one)) for one in (leg.begun_s, leg.braked_s))
    way = slice(begun, braked + 1)
    gates = np.interp(leg.gates_m, north[way], t[way])
    on = (t >= gates[0]) & (t <= gates[1])
    last = (t > gates[1] - LAST_S) & (t <= gates[1])
    air = ahead - leg.wind
    fast = np.flatnonzero(air[way] >= SETTLED * speed)
    stop = min(int(np.searchsorted(t, leg.stopped_s)), len(t) - 1)
    height, down = run["height_m"], run["velocity_m_s"][:, 2]
    true, seen = (_pitch(run[name][way]) for name in ("attitude", "signals/attitude"))
    far = min(int(np.searchsorted(t, gates[1])), len(t) - 1)
    return FlownRun(
        leg.wind,
        float((leg.gates_m[1] - leg.gates_m[0]) / max(gates[1] - gates[0], 1e-9)),
        float(np.mean(air[last])),
        float(north[begun + fast[0]] - leg.begun_m) if len(fast) else None,
        float(north[stop] - north[braked]) if leg.stopped else None,
        float(-np.mean(down[on])),
        float(np.max(np.abs(height[begun:far] - HEIGHT_M))),
        float(np.mean((run["signals/baro_height_m"] - height)[last])),
        float(np.degrees(np.max(np.abs(seen - true)))),
        limits_left(run, last, plant, dash, rated),
        (north[begun : stop + 1 : DRAWN] - leg.begun_m, ahead[begun : stop + 1 : DRAWN]),
    )


def _pitch(q: Array) -> Array:
    """Pitch [rad] of quaternions (n, 4)."""
    return np.asarray(np.arcsin(np.clip(2.0 * (q[:, 0] * q[:, 2] - q[:, 3] * q[:, 1]), -1.0, 1.0)))


def limits_left(
    run: Run, rows: NDArray[np.bool_], plant: Any, dash: Dash, rated: Ratings
) -> dict[str, float]:
    """What is left of each limit over some rows of a log, as in quadsim.contest.dash.margins; motors by their means over time."""
    duty, volts = np.mean(run["duty"][rows], axis=0), float(np.mean(run["battery_voltage_V"][rows]))
    current = float(np.max(np.mean(run["motor_current_A"][rows], axis=0)))
    air = float(plant.air_temperature)
    winding, case = (float(np.max(run[f"{one}_temperature_K"][rows])) for one in ("winding", "case"))
    q = run["attitude"][rows]
    tilt = float(np.mean(np.arccos(np.clip(1.0 - 2.0 * (q[:, 1] ** 2 + q[:, 2] ** 2), -1.0, 1.0))))
    return {
        "command": 1.0 - dash.rule.moment_reserve - float(np.max(duty)),
        "guide_cap": 1.0 - float(np.mean(duty)) * volts / float(rated.across[0]),
        "rotor_speed": 1.0 - float(np.max(np.mean(run["rotor_speed_rad_s"][rows], axis=0))) / float(plant.propeller_limit),
        "motor_current": 1.0 - current / float(rated.motor[0]),
        "esc_current": 1.0 - current / float(rated.esc[0]),
        "current_reserve": 1.0 - _raised(run, rows, plant, volts, dash) / float(plant.current_limit),
        "pack_current": 1.0 - float(np.mean(run["battery_current_A"][rows])) / float(rated.pack[0]),
        "winding_temperature": (float(plant.winding_limit) - winding) / (float(plant.winding_limit) - air),
        "magnet_temperature": (float(plant.magnet_limit) - case) / (float(plant.magnet_limit) - air),
        "cell_voltage": volts / float(plant.cells) / dash.rule.cell_V - 1.0,
        "tilt": 1.0 - tilt / dash.tilt,
        "pitch_authority": float(np.min(duty)) - dash.idle,
    }  # fmt: skip


def _raised(run: Run, rows: NDArray[np.bool_], plant: Any, volts: float, dash: Dash) -> float:
    """Current of the motor that carries most [A], its command raised by what is kept for attitude. While the ESC holds the
    current back, the command is not what it asks for: it follows from speed and current."""
    speed, current = (np.mean(run[one][rows], axis=0) for one in ("rotor_speed_rad_s", "motor_current_A"))
    ohms = float(plant.motor_resistance + plant.esc_resistance)
    command = (float(plant.torque_constant) * speed + ohms * current) / volts
    return float(np.max(raised_current(plant, speed, current, command, dash.rule.moment_reserve)))
