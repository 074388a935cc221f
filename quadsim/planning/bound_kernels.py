"""What a point mass can gain at prices on its motion, looked up in a table, with partial derivatives."""

from __future__ import annotations

import math

from quadsim.jit import inner, kernel


@inner
def _cell(nodes, count, at):
    """Cell, share of it, its width, and how far a place is beyond the nodes (below: negative)."""
    i = 0
    while i < count - 2 and at >= nodes[i + 1]:
        i += 1
    width = nodes[i + 1] - nodes[i]
    if at < nodes[0]:
        return i, 0.0, width, at - nodes[0]
    if at > nodes[count - 1]:
        return i, 1.0, width, at - nodes[count - 1]
    return i, (at - nodes[i]) / width, width, 0.0


@inner
def _slope(by, width, beyond, steepest):
    """Partial derivative: the table's, or beyond it the steepest one that there can be."""
    if beyond > 0.0:
        return steepest
    if beyond < 0.0:
        return -steepest
    return by / width


@inner
def _gain(table, nodes, steepest, lean, energy, change, along, across):
    """Multilinear in five arguments (for a convex function never too little), steepest beyond the table; with the derivatives."""
    i0, f0, d0, _ = _cell(nodes[0], table.shape[0], lean)
    i1, f1, d1, o1 = _cell(nodes[1], table.shape[1], energy)
    i2, f2, d2, o2 = _cell(nodes[2], table.shape[2], change)
    i3, f3, d3, o3 = _cell(nodes[3], table.shape[3], along)
    i4, f4, d4, o4 = _cell(nodes[4], table.shape[4], across)
    value = by0 = by1 = by2 = by3 = by4 = 0.0
    for b0 in range(2):
        w0, s0 = (f0, 1.0) if b0 else (1.0 - f0, -1.0)
        for b1 in range(2):
            w1, s1 = (f1, 1.0) if b1 else (1.0 - f1, -1.0)
            for b2 in range(2):
                w2, s2 = (f2, 1.0) if b2 else (1.0 - f2, -1.0)
                for b3 in range(2):
                    w3, s3 = (f3, 1.0) if b3 else (1.0 - f3, -1.0)
                    here = table[i0 + b0, i1 + b1, i2 + b2, i3 + b3, i4]
                    next_ = table[i0 + b0, i1 + b1, i2 + b2, i3 + b3, i4 + 1]
                    mixed, w012 = here + f4 * (next_ - here), w0 * w1 * w2
                    value += w012 * w3 * mixed
                    by0 += s0 * w1 * w2 * w3 * mixed
                    by1 += w0 * s1 * w2 * w3 * mixed
                    by2 += w0 * w1 * s2 * w3 * mixed
                    by3 += w012 * s3 * mixed
                    by4 += w012 * w3 * (next_ - here)
    value += steepest[1] * abs(o1) + steepest[2] * abs(o2) + steepest[3] * abs(o3) + steepest[4] * abs(o4)
    return (
        value, by0 / d0, _slope(by1, d1, o1, steepest[1]), _slope(by2, d2, o2, steepest[2]),
        _slope(by3, d3, o3, steepest[3]), _slope(by4, d4, o4, steepest[4]),
    )  # fmt: skip


@kernel
def gains_at(table, nodes, steepest, tilt, least, c, e, k, r, value, by_c, by_e, by_k, by_r):
    """The greatest of e v + r v^2/2 + (c + k v) a over all motions of a point mass, row by row, and its partial derivatives.

    c, e : prices of velocity and place (n, 3), north-east-down; k, r : of kinetic energy and its change (n,)
    tilt : greatest tilt [rad]; least : size below which c is taken as larger (its cost is not in here)
    """
    for n in range(c.shape[0]):
        size = math.sqrt(c[n, 0] ** 2 + c[n, 1] ** 2 + c[n, 2] ** 2 + least * least)
        ux, uy, uz = c[n, 0] / size, c[n, 1] / size, c[n, 2] / size
        ahead = e[n, 0] * ux + e[n, 1] * uy + e[n, 2] * uz
        px, py, pz = e[n, 0] - ahead * ux, e[n, 1] - ahead * uy, e[n, 2] - ahead * uz
        side = math.sqrt(px * px + py * py + pz * pz + 1e-14)
        px, py, pz = px / side, py / side, pz / side
        a, b = ahead / size, side / size
        beyond = min(max(math.acos(min(max(-uz, -1.0), 1.0)) - tilt, 0.0), 0.5 * math.pi)
        h, hy, hk, hr, ha, hb = _gain(
            table, nodes, steepest, math.cos(beyond), k[n] / size, r[n] / size, a, b
        )
        value[n] = size * h
        by_k[n], by_r[n] = hk, hr
        by_e[n, 0], by_e[n, 1], by_e[n, 2] = ha * ux + hb * px, ha * uy + hb * py, ha * uz + hb * pz
        lean = 0.0
        if 0.0 < beyond < 0.5 * math.pi:
            lean = -hy * math.sin(beyond) / math.sqrt(max(1.0 - uz * uz, 1e-9))
        by_u = h - hk * k[n] / size - hr * r[n] / size - ha * a - hb * b - lean * uz
        by_p = ha * b - hb * a
        by_c[n, 0] = by_u * ux + by_p * px
        by_c[n, 1] = by_u * uy + by_p * py
        by_c[n, 2] = by_u * uz + by_p * pz + lean
