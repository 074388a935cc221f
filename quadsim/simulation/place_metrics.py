"""Figures that judge how well a place is flown: distances over ground from what was asked for."""

from __future__ import annotations

import itertools

import numpy as np
from numpy.typing import NDArray

from controllers.signals import Mode
from quadsim.simulation.run import Run

Array = NDArray[np.float64]

LEG_SHORTEST = 0.5
"""Shortest way between two waypoints that counts as a line [m]; assumed."""


def _targets(run: Run) -> Array:
    """Place asked for over the whole run, north and east [m], shape (n, 2)."""
    return np.stack([run["signals/target_north_m"], run["signals/target_east_m"]], axis=1)


def off_target(run: Run, rows: Array) -> Array:
    """Distance over ground [m] from the place asked for, in the rows of the window where one is asked for."""
    asked = np.isin(run["signals/mode"][rows], (Mode.WAYPOINT, Mode.TRAJECTORY))
    return np.linalg.norm((run["position_m"][rows, :2] - _targets(run)[rows])[asked], axis=1)


def cross_track(run: Run, rows: Array) -> Array:
    """Distance [m] from the line between the waypoint before and the present one, in the rows of such legs.

    The first leg begins at the take-off point, where the targets are until one is set. A waypoint that moves (`ramp_s`) has
    no line.
    """
    targets, flown = _targets(run), run["position_m"][:, :2]
    waypoint = run["signals/mode"] == Mode.WAYPOINT
    away = np.full(len(run), np.nan)
    jumps = np.flatnonzero(np.linalg.norm(np.diff(targets, axis=0), axis=1) > LEG_SHORTEST) + 1
    for first, last in itertools.pairwise([*jumps, len(run)]):
        begin, leg = targets[first - 1], targets[first] - targets[first - 1]
        along = leg / np.linalg.norm(leg)
        offset = flown[first:last] - begin
        away[first:last] = np.abs(offset[:, 0] * along[1] - offset[:, 1] * along[0])
    away[~waypoint] = np.nan
    found = away[rows]
    return found[np.isfinite(found)]


def landing_distance(run: Run, rows: Array) -> float:
    """Distance over ground [m] at the last touch-down of the window from the place asked for; from home after a way home."""
    first, last = run.t_s[rows][0], run.t_s[rows][-1]
    touches = [
        e.t_s for e in run.events if e.kind == "ground" and e.sink_m_s is not None and first <= e.t_s <= last
    ]
    if not touches:
        return float("nan")
    k = min(int(np.searchsorted(run.t_s, touches[-1])), len(run) - 1)
    went_home = bool(np.any(run["signals/mode_in_force"][: k + 1] == Mode.HOMING))
    asked = np.zeros(2) if went_home else _targets(run)[k]
    return float(np.linalg.norm(run["position_m"][k, :2] - asked))
