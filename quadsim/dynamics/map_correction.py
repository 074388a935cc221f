"""What a measured table says beyond the fitted blade: small smooth corrections of the map.

At rest: factors on CT and CP over ln rpm. In the tunnel: what is added to CT and CP at the axial nodes and to their
trend with speed; it fades where nothing was measured.
"""

from __future__ import annotations

import numpy as np

from quadsim.dynamics.blade_element import Array

TOLERANCE = 0.01
"""How far the corrected map may stay from a row, relative: scatter below that is taken for noise. Our choice."""
SMOOTH, SMALL, TREND = 0.1, 0.1, 0.1
"""Weights of the tunnel correction's roughness, size and trend with speed against the rows' errors. Our choice:
a sweep of 40 rows is then followed to 1 to 2 % of static CT."""


def speed_factors(rpm: Array, ratio: Array) -> Array:
    """Factors (m,) at the rows from measured over mapped (m,): a parabola in ln rpm, and beyond it whatever a row
    departs from that by more than the tolerance."""
    size = np.log(rpm / rpm.mean())
    order = min(2, rpm.size - 1)
    smooth = np.polyval(np.polyfit(size, ratio, order), size) if order else ratio
    left = ratio - smooth
    return np.asarray(smooth + np.sign(left) * np.maximum(np.abs(left) - TOLERANCE, 0.0))


def node_weights(axial: Array, first: float, step: float, count: int) -> Array:
    """Shares (m, count) of the nodes in a linear look-up."""
    place = np.clip((axial - first) / step, 0.0, count - 1.0)
    lower = np.minimum(place.astype(int), count - 2)
    weights = np.zeros((axial.size, count))
    rows = np.arange(axial.size)
    weights[rows, lower] = 1.0 - (place - lower)
    weights[rows, lower + 1] += place - lower
    return weights


def node_corrections(weights: Array, trend: Array, missing: Array, scale: float) -> tuple[Array, Array]:
    """What to add at the nodes (count,) and to their slope over ln rpm (count,).

    weights : (m, count) of the rows; trend : ln(rpm / reference) (m,); missing : measured less mapped (m,); scale :
    of the coefficient. Penalised least squares: roughness, size.
    """
    count = weights.shape[1]
    rough = np.diff(np.eye(count), 2, axis=0)
    none = np.zeros_like(rough)
    rows = np.sqrt(40.0 / len(missing))
    left = np.vstack(
        [
            rows * np.hstack([weights, weights * trend[:, None]]),
            np.hstack([SMOOTH * rough, none]),
            np.hstack([none, SMOOTH * rough]),
            np.diag(np.repeat([SMALL, TREND], count)),
        ]
    )
    right = np.concatenate([rows * missing / scale, np.zeros(left.shape[0] - len(missing))])
    found = np.linalg.lstsq(left, right, rcond=None)[0] * scale
    return found[:count], found[count:]
