"""Discrete algebraic Riccati equation of up to four states, one input, solved in place: what a law needs that computes its gains.

P = A^T P A - A^T P B (R + B^T P B)^-1 B^T P A + Q by the structure-preserving doubling algorithm: with G = B R^-1 B^T, H = Q and
W = (I + G H)^-1, one pass A <- A W A, G <- G + A W G A^T, H <- H + A^T H W A doubles the number of steps that are summed up,
and H tends to P.

References
----------
E. K.-W. Chu, H.-Y. Fan, W.-W. Lin, C.-S. Wang, Structure-preserving algorithms for periodic discrete-time algebraic Riccati
equations, Int. J. Control 77(8), 2004 (from memory). A. E. Bryson, Y.-C. Ho, Applied Optimal Control (1975), sec. 5.2
(weights 1/max^2).
"""

from __future__ import annotations

from controllers.contract import inner, kernel

N = 4
SQUARE = N * N
WORK = 8 * SQUARE
"""Numbers of scratch that `solve_riccati` uses."""
MOST_PASSES = 40


@inner
def _times(m, a, b, out, turned_a, turned_b):
    """out = A B of matrices at offsets a, b in m; A or B transposed when its flag is set."""
    for i in range(N):
        for j in range(N):
            total = 0.0
            for k in range(N):
                left = m[a + k * N + i] if turned_a else m[a + i * N + k]
                right = m[b + j * N + k] if turned_b else m[b + k * N + j]
                total += left * right
            m[out + i * N + j] = total


@inner
def _solve(m, w, right):
    """Solve W X = M in place of M by Gauss's elimination with row pivots; W is used up."""
    for col in range(N):
        pivot = col
        for row in range(col + 1, N):
            if abs(m[w + row * N + col]) > abs(m[w + pivot * N + col]):
                pivot = row
        for k in range(N):
            m[w + col * N + k], m[w + pivot * N + k] = m[w + pivot * N + k], m[w + col * N + k]
            m[right + col * N + k], m[right + pivot * N + k] = (
                m[right + pivot * N + k],
                m[right + col * N + k],
            )
        scale = m[w + col * N + col]
        scale = 1.0 / scale if abs(scale) > 1e-300 else 0.0
        for k in range(N):
            m[w + col * N + k] *= scale
            m[right + col * N + k] *= scale
        for row in range(N):
            factor = m[w + row * N + col]
            if row != col:
                for k in range(N):
                    m[w + row * N + k] -= factor * m[w + col * N + k]
                    m[right + row * N + k] -= factor * m[right + col * N + k]


@inner
def _one_plus_gh(m, g, h, out):
    _times(m, g, h, out, False, False)
    for i in range(N):
        m[out + i * N + i] += 1.0


@kernel
def solve_riccati(m, at):
    """Solve the equation in place.

    Parameters
    ----------
    m : array; from index `at` on the 4 x 4 matrices A, G = B R^-1 B^T, H = Q in turn, then scratch: WORK numbers in all

    Returns
    -------
    int, passes used; H then holds P. MOST_PASSES when it did not settle (A, B not stabilisable).
    """
    a, g, h = at, at + SQUARE, at + 2 * SQUARE
    w, v, u, t = at + 3 * SQUARE, at + 4 * SQUARE, at + 5 * SQUARE, at + 6 * SQUARE
    for passes in range(1, MOST_PASSES + 1):
        _one_plus_gh(m, g, h, w)
        for k in range(SQUARE):
            m[v + k] = m[a + k]
        _solve(m, w, v)  # V = W A
        _one_plus_gh(m, g, h, w)
        for k in range(SQUARE):
            m[u + k] = m[g + k]
        _solve(m, w, u)  # U = W G
        _times(m, h, v, t, False, False)
        _times(m, a, t, w, True, False)  # A^T H W A
        change = size = 0.0
        for k in range(SQUARE):
            change, size = change + abs(m[w + k]), size + abs(m[h + k])
            m[h + k] += m[w + k]
        _times(m, a, u, t, False, False)
        _times(m, t, a, w, False, True)  # A W G A^T
        for k in range(SQUARE):
            m[g + k] += m[w + k]
        _times(m, a, v, t, False, False)
        for k in range(SQUARE):
            m[a + k] = m[t + k]
        if change <= 1e-13 * size:
            return passes
    return MOST_PASSES
