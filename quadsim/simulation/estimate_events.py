"""Says in a run's events when the estimate of the attitude was far off: then it is the estimate that limits, not control."""

from __future__ import annotations

import numpy as np

from quadsim.simulation.metrics import angle_between
from quadsim.simulation.run import Event, Run
from quadsim.units import DEG

FAR_OFF = 5.0 * DEG
"""Attitude error beyond which the estimate is said to be off [rad]; assumed."""
LASTING_S = 0.5
"""Time that it must last [s]; assumed."""


def estimate_events(run: Run) -> list[Event]:
    """One event for each time that the attitude estimate was off by more than FAR_OFF for longer than LASTING_S.

    It stands where the error passed the bound and says how far it went, how long it lasted, and how long it had been growing:
    since it was last below a fifth of the bound, or since the start.
    """
    if len(run) < 2:
        return []
    error, t = angle_between(run["attitude"], run["signals/attitude"]), run.t_s
    off = np.concatenate([[False], error > FAR_OFF, [False]]).astype(int)
    firsts, ends = np.flatnonzero(np.diff(off) > 0), np.flatnonzero(np.diff(off) < 0)
    found = []
    for first, end in zip(firsts, ends, strict=True):
        lasted = float(t[end - 1] - t[first])
        if lasted < LASTING_S:
            continue
        small = np.flatnonzero(error[:first] < 0.2 * FAR_OFF)
        growing = float(t[first] - t[small[-1]]) if small.size else float(t[first] - t[0])
        worst = float(np.max(error[first:end])) / DEG
        text = (
            f"the estimate is what limits: attitude up to {worst:.0f} deg off for {lasted:.1f} s, "
            f"after {growing:.1f} s in which the error grew"
        )
        found.append(Event(float(t[first]), "estimate", text))
    return found
