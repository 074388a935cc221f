"""The steppers on problems with closed forms: order of accuracy, exactness, wrong names."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from quadsim.errors import InputError
from quadsim.integrators.adaptive import ADAPTIVE, make_adaptive
from quadsim.integrators.fixed_step import make_rk4, make_semi_implicit
from quadsim.jit import kernel


@kernel
def pendulum(t, x, u, params, dx):
    """Swinging with a push that grows: x'' = -w^2 x + u t; place, rate."""
    dx[0] = x[1]
    dx[1] = -params[0] * x[0] + u * t


RK4 = make_rk4(pendulum)
SEMI_IMPLICIT = make_semi_implicit(pendulum, np.array([True, False]))
W, PUSH = 3.0, 0.7


def exact(t: float) -> np.ndarray:
    """x = cos(w t) + u/w^2 (t - sin(w t)/w), from rest at 1: linear ordinary differential equation."""
    return np.array([
        math.cos(W * t) + PUSH / W**2 * (t - math.sin(W * t) / W),
        -W * math.sin(W * t) + PUSH / W**2 * (1.0 - math.cos(W * t)),
    ])  # fmt: skip


def error(step: Any, steps: int, seconds: float = 1.0) -> float:
    """Distance from the closed form after `seconds` in `steps` steps."""
    x, k1, work, h = np.array([1.0, 0.0]), np.zeros(2), np.zeros((3, 2)), seconds / steps
    params = np.array([W**2])
    for k in range(steps):
        pendulum(k * h, x, PUSH, params, k1)
        step(k * h, x, PUSH, params, h, k1, *work)
    return float(np.linalg.norm(x - exact(seconds)))


@pytest.mark.parametrize(("step", "order"), [(RK4, 4.0), (SEMI_IMPLICIT, 1.0)], ids=["rk4", "semi_implicit"])
def test_order_of_accuracy(step: Any, order: float) -> None:
    """Halving the step divides the error by 2^order: Hairer, Norsett & Wanner, Solving ODEs I, sec. II.3."""
    errors = [error(step, steps) for steps in (40, 80, 160)]
    assert np.log2(np.divide(errors[:-1], errors[1:])) == pytest.approx([order] * 2, abs=0.15)


def test_rk4_is_exact_for_cubics() -> None:
    """A method of order 4 integrates a polynomial of degree 3 exactly (Simpson's rule): x'' = u t with w = 0."""
    x, k1, work, params = np.array([2.0, -1.0]), np.zeros(2), np.zeros((3, 2)), np.zeros(1)
    pendulum(0.5, x, 6.0, params, k1)
    RK4(0.5, x, 6.0, params, 2.0, k1, *work)
    rate = -1.0 + 3.0 * (2.5**2 - 0.5**2)
    place = 2.0 - 2.0 + (2.5**3 - 0.5**3) - 3.0 * 0.5**2 * 2.0
    assert x == pytest.approx([place, rate], abs=1e-13)


def test_semi_implicit_keeps_the_energy_of_a_swing_bounded() -> None:
    """Symplectic: the modified energy w^2 x^2 + v^2 - h w^2 x v is kept; Hairer, Lubich & Wanner (2006), sec. I.1.2, IX.3."""
    x, k1, work, h, params = (
        np.array([1.0, 0.0]),
        np.zeros(2),
        np.zeros((3, 2)),
        0.02,
        np.array([W**2]),
    )
    for _ in range(3000):
        pendulum(0.0, x, 0.0, params, k1)
        SEMI_IMPLICIT(0.0, x, 0.0, params, h, k1, *work)
    # the rates went first: the kept form has the sign of v x for the state after a whole step
    kept = [W**2 * x[0] ** 2 + x[1] ** 2 + sign * h * W**2 * x[0] * x[1] for sign in (1.0, -1.0)]
    assert min(abs(value - W**2) for value in kept) < 1e-9 * W**2


@pytest.mark.parametrize("name", ADAPTIVE)
def test_adaptive_solvers_reach_their_tolerance(name: str) -> None:
    advance = make_adaptive(name, rtol=1e-8, atol=1e-9)
    x = np.array([1.0, 0.0])

    def f(t: float, y: np.ndarray) -> np.ndarray:
        return np.array([y[1], -(W**2) * y[0] + PUSH * t])

    for k in range(4):
        x = advance(f, 0.25 * k, x, 0.25)
    assert x == pytest.approx(exact(1.0), abs=3e-6)


def test_an_unknown_stepper_is_refused() -> None:
    with pytest.raises(InputError, match=r"'rk5' is unknown; must be rk4, semi_implicit or one of DOP853"):
        make_adaptive("rk5")


def test_a_solver_that_gives_up_says_so() -> None:
    """x' = x^2 from 1 is infinite at t = 1: no step is small enough."""
    advance = make_adaptive("RK45")
    with (
        np.errstate(all="ignore"),
        pytest.raises(InputError, match=r"RK45 gave up at 0\.0000 s: .*Loosen rtol"),
    ):
        advance(lambda _t, x: x**2, 0.0, np.array([1.0]), 2.0)
