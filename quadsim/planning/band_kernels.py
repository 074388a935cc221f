"""The banded system of a spline as kernels: filled, factored, solved forward and transposed, and its derivative by durations.

Storage by rows: entry (i, j) of the matrix stands in a[i, band + j - i]. The factors L U are made in place without a search for
pivots: in the order of rows of `spline.Knots` no pivot is zero, and with pivots such as durations give them (0.01 to 20 s)
nothing grows (tests/planning/test_spline.py). A library's solver would start threads for systems that are solved in 20 us.
"""

from __future__ import annotations

from quadsim.jit import kernel


@kernel
def fill(ends, order, a):
    """The rows of `spline.Knots` for the values at the end of each piece, ends : (piece, derivative, power)."""
    count, size = ends.shape[0], 2 * order
    band = size
    a[:] = 0.0
    value = 1.0
    for k in range(order):
        value *= max(k, 1)
        a[k, band] = value  # derivative k at the begin
        row = count * size - order + k
        for j in range(k, size):
            a[row, band + (count - 1) * size + j - row] = ends[count - 1, k, j]
    for m in range(count - 1):
        for r in range(size):
            k = order + r if r < order - 1 else max(r - order, 0)
            row = m * size + order + r
            for j in range(k, size):
                a[row, band + m * size + j - row] = ends[m, k, j]
            if r != order - 1:  # minus the same at the begin of the next piece
                value = 1.0
                for n in range(2, k + 1):
                    value *= n
                a[row, band + (m + 1) * size + k - row] = -value


@kernel
def factor(a, band):
    """L U in place; False where a pivot is zero."""
    n = len(a)
    for k in range(n):
        if a[k, band] == 0.0:
            return False
        for i in range(k + 1, min(k + band + 1, n)):
            share = a[i, band + k - i] / a[k, band]
            a[i, band + k - i] = share
            if share != 0.0:
                for j in range(k + 1, min(k + band + 1, n)):
                    a[i, band + j - i] -= share * a[k, band + j - k]
    return True


@kernel
def solve(a, band, b):
    """b <- A^-1 b, b : (n, d)."""
    n, width = b.shape
    for i in range(n):
        for j in range(max(i - band, 0), i):
            for d in range(width):
                b[i, d] -= a[i, band + j - i] * b[j, d]
    for i in range(n - 1, -1, -1):
        for d in range(width):
            for j in range(i + 1, min(i + band + 1, n)):
                b[i, d] -= a[i, band + j - i] * b[j, d]
            b[i, d] /= a[i, band]


@kernel
def solve_transposed(a, band, b):
    """b <- A^-T b, b : (n, d)."""
    n, width = b.shape
    for i in range(n):
        for d in range(width):
            b[i, d] /= a[i, band]
            for j in range(i + 1, min(i + band + 1, n)):
                b[j, d] -= a[i, band + j - i] * b[i, d]
    for i in range(n - 1, -1, -1):
        for j in range(max(i - band, 0), i):
            for d in range(width):
                b[j, d] -= a[i, band + j - i] * b[i, d]


@kernel
def by_durations(ends, order, c, g, found):
    """found <- found - sum of g (dA/dT c): the derivative of the end of each piece in the rows that hold it, one higher."""
    count, size = ends.shape[0], 2 * order
    for m in range(count):
        last = m == count - 1
        for r in range(order if last else size):
            k = r if last else order + r if r < order - 1 else max(r - order, 0)
            row = m * size + order + r
            for d in range(c.shape[2]):
                faster = 0.0
                for j in range(k + 1, size):
                    faster += ends[m, k + 1, j] * c[m, j, d]
                found[m] -= g[row, d] * faster
