"""The straight around a top speed: how a crew leans in and brakes, and the way and time that takes.

The same law steers the prediction and the flight (quadsim.contest.dash_flight): the tilt of the steady flight at the airspeed
wanted, and more or less by what is missing.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from quadsim.constants import G0
from quadsim.contest.crowd import Crowd
from quadsim.contest.steady import level_acceleration, trim
from quadsim.units import DEG

Array = NDArray[np.float64]

STEP_S = 0.02
"""Of the crew's eye and of the integration [s]."""
LEAN_GAIN = 1.5
"""Acceleration per airspeed that is missing on the run [1/s]; our choice."""
LEAN_MORE = 10.0 * DEG
"""Most by which a run-up leans further than the run itself [rad]; our choice."""
STOP_GAIN = 0.1
"""The same while braking and hovering [rad per m/s]: 1 m/s2 for 1 m/s."""
BRAKE = 30.0 * DEG
"""Nose up while braking [rad]: a craft that rears up more is lifted by the air from below; our choice."""
PITCH_RATE = 1.5
"""At which the crew pitches [rad/s]: faster, and the height loop cannot take the thrust back in time; our choice."""
LEAN_LAG_S, BRAKE_LAG_S = 0.15, 0.5
"""From the pitch asked for to the pitch flown [s]; longer in braking, where the integral of the rate loop has to let go. Fitted
to the three shipped craft as flown."""
NOSE_UP = 3.0 * DEG
"""By which a run-up flies flatter than asked, while that integral takes up the airspeed's pitching moment [rad]; likewise."""
SPARE = 1.5
"""The first gate lies this many run-ups behind the start: the height has to settle too; our choice."""
SETTLED = 0.98
"""Share of the top speed at which a run-up counts as done; our choice."""
STOPPED_M_S = 1.0
"""Speed over ground at which a craft counts as stopped [m/s]; our choice."""
GRID = 21
"""Tilts and airspeeds at which the pull is worked out."""
STEADY, STEADY_AFTER_S = 0.02, 2.0
"""Acceleration below which nothing more happens [m/s2], and the time from which that is asked [s]."""
LONGEST_S = 30.0
"""A run-up or a braking that takes longer is given up [s]."""


@dataclass(frozen=True)
class Aim:
    """What the crew steers for: airspeed [m/s], the tilt that keeps it [rad], and bounds of the tilt, nose down positive."""

    airspeed: Array
    lean: Array
    gain: Array | float
    least: Array
    most: Array

    def tilt(self, airspeed: Array) -> Array:
        """The tilt to ask for at an airspeed [rad]."""
        return np.clip(self.lean + self.gain * (self.airspeed - airspeed), self.least, self.most)


def run_aim(airspeed: Array, lean: Array, greatest: Array | float, more: float = LEAN_MORE) -> Aim:
    """On the run; greatest : tilt that rule and craft allow [rad]. With height held the acceleration is g tan(tilt)."""
    gain = LEAN_GAIN * np.cos(lean) ** 2 / G0
    return Aim(airspeed, lean, gain, lean - LEAN_MORE, np.minimum(lean + more, greatest))


def stop_aim(airspeed: Array, lean: Array) -> Aim:
    """To a stop over ground, where the airspeed is that of the wind ahead."""
    return Aim(airspeed, lean, STOP_GAIN, lean - BRAKE, lean + BRAKE)


@dataclass(frozen=True)
class Way:
    """A change of speed over time, one row per craft: times (K,) [s], way and speed over ground (K, N) [m], [m/s]."""

    t_s: Array
    ground_m: Array
    ground_m_s: Array

    def until(self, reached: NDArray[np.bool_]) -> tuple[Array, Array]:
        """Way [m] and time [s] to the first row of `reached` (K, N) that is true, or the last there is."""
        first = np.where(reached.any(axis=0), reached.argmax(axis=0), len(self.t_s) - 1)
        return self.ground_m[first, np.arange(len(first))], self.t_s[first]


@dataclass(frozen=True)
class Pull:
    """Force ahead over mass, times cos(tilt), of one craft in level flight, on a grid of tilt [rad] and airspeed [m/s]; what lies
    between follows bilinearly."""

    tilts: Array
    speeds: Array
    table: Array

    @classmethod
    def of(cls, crowd: Crowd, tilts: tuple[float, float], speeds: tuple[float, float]) -> Pull:
        """The first craft of a crowd, between two tilts and two airspeeds."""
        rows, columns = np.linspace(*tilts, GRID), np.linspace(*speeds, GRID)
        tilt, speed = (one.ravel() for one in np.meshgrid(rows, columns, indexing="ij"))
        ahead = level_acceleration(crowd.rows([0] * len(tilt)), tilt, speed) * np.cos(tilt)
        return cls(rows, columns, ahead.reshape(GRID, GRID))

    def acceleration(self, tilt: Array, airspeed: Array) -> Array:
        """Ahead [m/s2], at tilts and airspeeds (N,)."""
        m, a = _cell(self.tilts, tilt)
        n, b = _cell(self.speeds, airspeed)
        low = self.table[m, n] * (1.0 - a) + self.table[m + 1, n] * a
        high = self.table[m, n + 1] * (1.0 - a) + self.table[m + 1, n + 1] * a
        return np.asarray((low * (1.0 - b) + high * b) / np.cos(tilt))


def _cell(edges: Array, at: Array) -> tuple[NDArray[np.int_], Array]:
    place = np.clip((at - edges[0]) / (edges[1] - edges[0]), 0.0, len(edges) - 1.0)
    cell = np.minimum(place.astype(int), len(edges) - 2)
    return cell, place - cell


def flown_way(pull: Pull, aim: Aim, airspeed: Array, tilt: Array, wind: Array, lag_s: float) -> Way:
    """Level flight from an airspeed and a tilt towards an aim; wind : along the way, from behind positive [m/s];
    lag_s : of the pitch [s].

    The pitch follows at PITCH_RATE and with a lag of first order; explicit Euler, STEP_S. All (N,), until it is
    steady, LONGEST_S at most.
    """
    count = round(LONGEST_S / STEP_S)
    ways, speeds = np.empty((count, len(airspeed))), np.empty((count, len(airspeed)))
    ground, asked, speed = np.zeros(len(airspeed)), tilt, airspeed
    for k in range(count):
        ways[k], speeds[k] = ground, speed + wind
        asked = asked + np.clip(aim.tilt(speed) - asked, -PITCH_RATE * STEP_S, PITCH_RATE * STEP_S)
        tilt = tilt + (asked - tilt) * (STEP_S / lag_s)
        ground = ground + STEP_S * (speed + wind)
        pulled = pull.acceleration(tilt, speed)
        speed = speed + STEP_S * pulled
        if k * STEP_S > STEADY_AFTER_S and float(np.max(np.abs(pulled))) < STEADY:
            break
    return Way(np.asarray(STEP_S * np.arange(k + 1), float), ways[: k + 1], speeds[: k + 1])


@dataclass(frozen=True)
class Legs:
    """Runs in winds (N,): the wind from behind [m/s], airspeed of a hover over one place [m/s], and the
    tilts that keep that and the top speed [rad]; the run-up from a hover to SETTLED of the top speed; the braking to a hover."""

    wind: Array
    calm: Array
    hover: Array
    lean: Array
    up: Way
    down: Way
    run_up_m: Array
    run_up_s: Array
    braking_m: Array
    braking_s: Array


def fly_legs(one: Crowd, speed: float, greatest: float, wind: Array) -> Legs:
    """Runs of one craft at a top airspeed [m/s], with the greatest tilt [rad], in winds (N,) from behind [m/s]."""
    calm, top = -wind, np.full(len(wind), speed)
    both = one.rows([0] * len(wind))
    hover = np.sign(calm) * trim(both, both.mass, np.abs(calm)).tilt
    lean = trim(both, both.mass, top).tilt
    lean = np.where(np.isfinite(lean), lean, greatest)
    run, stop = run_aim(top, lean, greatest, LEAN_MORE - NOSE_UP), stop_aim(calm, hover)
    tilts = (float(np.min(stop.least)), float(np.max(np.maximum(run.most, stop.most))))
    pull = Pull.of(one, tilts, (-float(np.max(np.abs(wind))) - 1.0, 1.1 * speed + 1.0))
    up = flown_way(pull, run, calm, hover, wind, LEAN_LAG_S)
    down = flown_way(pull, stop, top, lean, wind, BRAKE_LAG_S)
    return Legs(
        wind, calm, hover, lean, up, down,
        *up.until(up.ground_m_s - wind >= SETTLED * speed),
        *down.until(down.ground_m_s <= STOPPED_M_S),
    )  # fmt: skip
