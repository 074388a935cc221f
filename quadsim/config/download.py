"""Download: the share of its thrust that a rotor loses because its wake pushes on a payload below it."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from quadsim.config.airframe_estimate import BLUFF
from quadsim.config.mass_properties import Load

Array = NDArray[np.float64]
CELLS = 60
"""Cells along each edge of the box's top over which the wakes are looked for."""


def download_shares(hubs: Array, radius: float, loads: Sequence[Load]) -> Array:
    """Share of each rotor's thrust lost to the loads below it (4,), hubs (4, 3) and radius [m]."""
    kept = np.ones(4)
    for load in loads:
        own = box_download(hubs, radius, load) if load.download is None else np.full(4, load.download)
        kept *= 1.0 - own
    return 1.0 - kept


def box_download(hubs: Array, radius: float, load: Load) -> Array:
    """Share of each rotor's thrust that pushes on the top of a box inside its wake (4,).

    In hover T = 2 rho A v^2. At a depth z below the disc the wake moves at v (1 + s), s = z/sqrt(z^2 + R^2), on an area
    A/(1 + s); a face S of drag coefficient Cd in it is pushed with Cd S rho/2 v^2 (1 + s)^2 = T Cd S (1 + s)^2/(4 A).
    The face counts as far as it lies in the contracted wake. A box above the disc, or what a box close below does to
    the rotor's own inflow, is not modelled.

    References: B. W. McCormick, Aerodynamics, Aeronautics and Flight Mechanics (velocity on the axis of a vortex
    cylinder, from memory); J. G. Leishman, Principles of Helicopter Aerodynamics, 2nd ed. (2006), sec. 2.2 (momentum).
    """
    (length, width, height), middle = np.asarray(load.size_m, float), np.asarray(load.at_m, float)
    along = (np.arange(CELLS) + 0.5) / CELLS - 0.5
    x, y = np.meshgrid(middle[0] + along * length, middle[1] + along * width)
    shares = np.zeros(4)
    for k, hub in enumerate(np.asarray(hubs, float)):
        depth = middle[2] - height / 2.0 - hub[2]
        if depth > 0.0:
            speed = 1.0 + depth / np.hypot(depth, radius)
            inside = (x - hub[0]) ** 2 + (y - hub[1]) ** 2 < radius**2 / speed
            face = length * width * float(np.mean(inside))
            shares[k] = BLUFF * face * speed**2 / (4.0 * np.pi * radius**2)
    return shares
