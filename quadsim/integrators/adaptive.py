"""Adaptive steppers of scipy by name: the reference that the fixed-step ones are held against."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from quadsim.errors import InputError

ADAPTIVE = ("DOP853", "LSODA", "RK45", "RK23", "Radau", "BDF")


def make_adaptive(name: str, rtol: float = 1e-9, atol: float = 1e-10) -> Callable[..., np.ndarray]:
    """A function advance(f, t, x, h) -> new state, by scipy.integrate's solver `name`.

    Parameters
    ----------
    name : one of ADAPTIVE
    rtol, atol : relative and absolute tolerance of the solver

    Raises
    ------
    InputError
        for an unknown name, or (from `advance`) when the solver gives up.
    """
    if name not in ADAPTIVE:
        raise InputError(
            f"stepper {name!r} is unknown; must be rk4, semi_implicit or one of {', '.join(ADAPTIVE)}"
        )
    from scipy import integrate

    solver_class = getattr(integrate, name)

    def advance(f: Callable, t: float, x: np.ndarray, h: float) -> np.ndarray:
        solver = solver_class(f, t, x, t + h, rtol=rtol, atol=atol)
        while solver.status == "running":
            message = solver.step()
        if solver.status == "failed":
            raise InputError(f"{name} gave up at {t:.4f} s: {message}. Loosen rtol or take the rk4 stepper")
        return solver.y

    return advance
