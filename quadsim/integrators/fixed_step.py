"""Fixed-step steppers for dx/dt = f(t, x, u, params), writing in place and without allocation.

The first derivative `k1` comes from outside: the flight loop has it already, because the sensors read it.
A stepper is made for one derivative (`make_rk4(f)`): a compiled function handed over at run time could not be cached.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from quadsim.jit import kernel


def make_rk4(f: Callable) -> Callable:
    """A step(t, x, u, params, h, k1, k, y, total) of the classical Runge-Kutta method, order 4.

    Parameters
    ----------
    f : kernel f(t, x, u, params, dx) that writes the derivative into dx

    Of the step: t, h time and step [s]; x the state, advanced in place; k1 the derivative at (t, x), given;
    k, y, total scratch, each like x. They are separate arrays and no slices: a slice would be counted by reference.

    Reference: W. Kutta, Z. Math. Phys. 46 (1901) 435-453; Hairer, Norsett & Wanner, Solving ODEs I, table 1.2.
    """

    @kernel(forceinline=True)
    def rk4_step(t, x, u, params, h, k1, k, y, total):
        for i in range(x.size):
            total[i] = k1[i]
            y[i] = x[i] + 0.5 * h * k1[i]
        for stage in range(3):
            f(t + (h if stage == 2 else 0.5 * h), y, u, params, k)
            if stage < 2:
                ahead = 0.5 * h if stage == 0 else h
                for i in range(x.size):
                    total[i] += 2.0 * k[i]
                    y[i] = x[i] + ahead * k[i]
        for i in range(x.size):
            x[i] += h / 6.0 * (total[i] + k[i])

    return rk4_step


def make_semi_implicit(f: Callable, places: np.ndarray) -> Callable:
    """A step(t, x, u, params, h, k1, k, y, total) of the semi-implicit (symplectic) Euler method, order 1.

    The rates go first, then the places with the new rates.

    Parameters
    ----------
    f : as for `make_rk4`
    places : bool array, True for the elements of x that are places (position, attitude); the others are rates

    Reference: Hairer, Lubich & Wanner, Geometric Numerical Integration (2006), sec. I.1.2.
    """

    @kernel
    def semi_implicit_step(t, x, u, params, h, k1, k, y, total):
        for i in range(x.size):
            y[i] = x[i] if places[i] else x[i] + h * k1[i]
        f(t, y, u, params, k)
        for i in range(x.size):
            x[i] = x[i] + h * k[i] if places[i] else y[i]

    return semi_implicit_step
