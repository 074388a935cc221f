"""Closed forms of the planner's limits and splines hold on the source, and fail on copies of it with one thing wrong."""

import importlib
import inspect
import math
import types
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
import pytest

G, RHO = 9.80665, 1.225


def near(value: Any, expected: Any, rtol: float = 1e-6) -> None:
    np.testing.assert_allclose(value, expected, rtol=rtol, atol=1e-9)


def speeds_by_drag(limits: Any) -> None:
    """m = 0.65 kg, n = 4, CdA = 0.012 m2: climb 51.00749 m/s at full thrust; tilt 14.54412 deg at 15 m/s (statics)."""
    own = limits.Limits(G, 4.0 * G, 0.0, 0.0, math.inf, math.pi, 0.0, RHO * 0.012 / 1.3, 0.1)
    f = own.force(np.array([[0.0, 0.0, -51.00749], [15.0, 0.0, 0.0]]), np.zeros((2, 3)))
    near(np.linalg.norm(f[0]), 4.0 * G)
    near(math.degrees(math.atan2(f[1, 0], -f[1, 2])), 14.54412)


def linear_drag(limits: Any) -> None:
    """0.5 1/s at 10 m/s takes 5 m/s2."""
    own = limits.Limits(G, 40.0, 0.0, 0.0, math.inf, math.pi, 0.5, 0.0, 0.1)
    near(own.force(np.array([[10.0, 0.0, 0.0]]), np.zeros((1, 3)))[0], (5.0, 0.0, -G))


def slower_by_a_factor(spline: Any) -> None:
    """In k times the time the n-th derivative falls by k^n (closed form)."""
    own = spline.minimum_control(np.array([[0.0], [12.0]]), np.array([3.0]), 4)
    slower = own.stretched(1.5)
    near(slower.knots[-1], 4.5)
    near(slower.at(np.array([1.8]), 2)[0, 0], own.at(np.array([1.2]), 2)[0, 0] / 1.5**2)


def middle_of_minimum_jerk(spline: Any) -> None:
    """x = L/2 and 1.875 L/T in the middle of the way (T. Flash, N. Hogan, J. Neuroscience 5 (1985))."""
    own = spline.minimum_control(np.array([[0.0], [12.0]]), np.array([3.0]), 3)
    near([own.at(np.array([1.5]), k)[0, 0] for k in (0, 1)], (6.0, 7.5))


CHECKS = {
    "quadsim.planning.limits": (speeds_by_drag, linear_drag),
    "quadsim.planning.spline": (slower_by_a_factor, middle_of_minimum_jerk),
}


@dataclass(frozen=True)
class Mutant:
    """What is wrong, where, and the check that must notice."""

    wrong: str
    old: str
    new: str
    check: Callable[[Any], None]

    def module(self) -> types.ModuleType:
        name = next(one for one, checks in CHECKS.items() if self.check in checks)
        text = inspect.getsource(importlib.import_module(name))
        assert text.count(self.old) == 1, (
            f"{name} has {text.count(self.old)} times {self.old!r}; renew this mutant"
        )
        made = types.ModuleType(name)
        exec(compile(text.replace(self.old, self.new), name, "exec"), made.__dict__)
        return made


MUTANTS = (
    Mutant("drag grows with speed only once", "self.drag_squared * speed) * velocity", "self.drag_squared) * velocity",
           speeds_by_drag),
    Mutant("linear drag dropped", "acceleration + (self.drag + self", "acceleration + (self", linear_drag),
    Mutant("gravity of the wrong sign", "pushed - np.array", "pushed + np.array", linear_drag),
    Mutant("stretched the wrong way", "scale = factor ** -np.arange", "scale = factor ** np.arange", slower_by_a_factor),
    Mutant("time of a stretched line kept", "Spline(self.durations * factor,", "Spline(self.durations,", slower_by_a_factor),
    Mutant("powers of a derivative taken too high", "t ** (j - derivative)", "t ** j", middle_of_minimum_jerk),
)  # fmt: skip


@pytest.mark.parametrize(
    ("name", "check"), [(name, check) for name, checks in CHECKS.items() for check in checks]
)
def test_check_passes_on_the_source(name: str, check: Callable) -> None:
    check(importlib.import_module(name))


@pytest.mark.parametrize("mutant", MUTANTS, ids=lambda mutant: mutant.wrong)
def test_mutant_is_noticed(mutant: Mutant) -> None:
    with pytest.raises(AssertionError, match="Not equal to tolerance"):
        mutant.check(mutant.module())
