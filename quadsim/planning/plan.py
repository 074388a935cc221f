"""A course planned: the fastest line within a craft's limits, the point mass beside it, and why a course cannot be flown."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from quadsim.errors import InputError, Problem
from quadsim.planning.guess import first_guess
from quadsim.planning.limits import NAMES, Limits
from quadsim.planning.line import Line, Search
from quadsim.planning.line import Problem as LineProblem
from quadsim.planning.reachable import too_narrow
from quadsim.planning.samples import farthest, states
from quadsim.planning.space import depths

Array = NDArray[np.float64]

FEW = 8
"""Passages up to which a line has three pieces from gate to gate instead of two."""
MANY_STEPS = 400
POINT_MASS = (Search(2, 4, 4, (30.0, 300.0, 5000.0), 400, 1.0), Search(2, 8, 4, (5000.0,), 400, 1.0))
"""Searches for the point mass, each from the line before: the acceleration is linear in a piece, so few samples see all."""
POLISH = (24, 5000.0), (48, 20000.0), (80, 80000.0)
"""Samples a piece, and weight of what passes limits, with which a line is looked at once more for what it passes between samples;
the second and the third only where it does not keep its limits yet."""
POLISH_STEPS = 120
FREE_POINT_MASS = (Search(2, 5, 4, (300.0, 5000.0), 250, 1.0),)
"""The same where the thrust may point at the ground: for comparison, so a little less carefully."""
OVER = 1.04
"""Use of a limit that still counts as kept [-]: the search leaves some thousandths, between samples more."""
DEEP_M = 0.03
"""Depth in an obstacle that still counts as kept [m]; the declared clearance is far more."""
LOWEST_M = 0.3
"""A start on the ground is planned from a hover with this much air under the declared clearance [m]; assumed."""


@dataclass(frozen=True)
class Plan:
    """line : as planned; bound, free : the point mass with the craft's greatest tilt, and with none; used : share of each
    limit that is used at most (and `depth_m`); share : of the time to the last passage at which each limit is
    the tightest, and nearly passed."""

    course: Any
    limits: Limits
    line: Line
    bound: Line
    free: Line
    used: dict[str, float]
    share: dict[str, float]

    @property
    def above_bound(self) -> float:
        """Time to the last passage over that of the point mass, less one."""
        return self.line.total / self.bound.total - 1.0

    @property
    def above_free(self) -> float:
        """The same over the one whose thrust may point anywhere."""
        return self.line.total / self.free.total - 1.0

    @property
    def lap_times(self) -> Array:
        """Of each lap [s]: from the first gate to itself on a closed course, else from the start to the last gate."""
        return lap_times(self.course, self.line.times)

    @property
    def start(self) -> Array:
        return start_of(self.course, self.limits)


def lap_times(course: Any, times: Array) -> Array:
    """Times of the laps from those of the passages [s]."""
    if course.closed:
        return np.diff(times[:: len(course.gates)])
    return np.diff(np.concatenate([[0.0], times[len(course.gates) - 1 :: len(course.gates)]]))


def start_of(course: Any, limits: Limits) -> Array:
    """Where the flight begins, hovering [m]: the start place, lifted off the ground."""
    place = np.array(course.start.place, float)
    place[2] = min(place[2], -(limits.radius + float(course.clearance) + LOWEST_M))
    return place


def plan(course: Any, limits: Limits, margin: float = 0.0, effort: float = 1.0) -> Plan:
    """The fastest line of a craft through a course, with the point mass beside it.

    margin : kept beside the declared clearance in the gates [m]; effort : share of the usual steps of the searches

    Raises
    ------
    InputError
        when a gate is too small or a stretch cannot be flown; it says which, and why.
    """
    return compared(plan_line(course, limits, margin, effort), margin, effort)


def plan_line(
    course: Any, limits: Limits, margin: float = 0.0, effort: float = 1.0, near: Line | None = None
) -> Plan:
    """`plan` without the point mass: its two lines are the craft's own until `compared`. near : a line to begin with, where one
    is known."""
    _check_gates(course, limits, margin)
    start = start_of(course, limits)
    count = len(LineProblem(course, limits, Search(), start).gates)
    search = Search(3, 3 if count <= FEW else 2, 12, steps=round(effort * MANY_STEPS))
    problem = LineProblem(course, limits, search, start, margin)
    x = problem.solve(first_guess(problem) if near is None else resampled(problem, near))
    for samples, weight in POLISH:
        problem.search = replace(search, samples=samples, steps=round(effort * POLISH_STEPS))
        x = problem.solve(x, (weight,))
        line = problem.line(x)
        used = farthest(line.spline, limits, course)
        if _kept(line, used):
            break
    else:
        raise _not_flown(course, limits, line)
    return Plan(course, limits, line, line, line, used, _shares(line, limits))


def compared(plan: Plan, margin: float = 0.0, effort: float = 1.0) -> Plan:
    """A plan with the point mass beside it."""
    course, limits, line = plan.course, plan.limits, plan.line
    bound = point_mass(course, limits.of_point_mass, line, margin, _eased(POINT_MASS, effort))
    free = point_mass(course, limits.of_free_point_mass, bound, margin, _eased(FREE_POINT_MASS, effort))
    free = (
        free if free.total < bound.total else bound
    )  # what keeps the narrower limits keeps the wider ones too
    return replace(plan, bound=bound, free=free)


def point_mass(
    course: Any, limits: Limits, line: Line, margin: float = 0.0, searches: tuple[Search, ...] = POINT_MASS
) -> Line:
    """The line of a point mass through the same openings and obstacles, found from another line."""
    for search in searches:
        problem = LineProblem(course, limits, search, start_of(course, limits), margin)
        line = problem.line(problem.solve(resampled(problem, line)))
    return line


def resampled(problem: LineProblem, line: Line) -> Array:
    """The vector of a problem nearest to a line that was found with other pieces."""
    k = problem.search.pieces
    knots = line.spline.knots
    ends = np.concatenate([[0.0], knots[list(line.passages)], knots[-1:]])
    t = np.concatenate([np.linspace(a, b, k + 1)[:-1] for a, b in pairwise(ends.tolist())])
    t = np.append(t, ends[-1])
    return problem.packed(line.spline.at(t[1:-1]), line.spline.at(t[-1:])[0], np.diff(t))


def _eased(searches: tuple[Search, ...], effort: float) -> tuple[Search, ...]:
    return tuple(replace(one, steps=round(effort * one.steps)) for one in searches)


def _check_gates(course: Any, limits: Limits, margin: float) -> None:
    found = [too_narrow(gate, limits.radius, float(course.clearance), margin) for gate in course.gates]
    problems = [one for one in dict.fromkeys(found) if one is not None]
    if problems:
        raise InputError(problems, str(course.name))


def _kept(line: Line, used: dict[str, float]) -> bool:
    """Whether a line keeps to the limits, near enough, and passes its gates."""
    late = any(used[name] > OVER for name in ("thrust", "least", "rate", "tilt"))
    return not late and used["depth_m"] <= DEEP_M and _crosses(line)


def _not_flown(course: Any, limits: Limits, line: Line) -> InputError:
    """What says where a line passes its limits most."""
    where, what = _worst(course, limits, line)
    hint = "Move or widen the gate, or allow more (--margin-m, --rate-deg-s, --reserve-pct)"
    return InputError([Problem(where, "no line was found that can be flown", what, hint)], str(course.name))


def _crosses(line: Line) -> bool:
    v = line.spline.at(line.times, 1)
    return all(float(v[k] @ gate.forward) > 0.0 for k, gate in enumerate(line.gates))


def _worst(course: Any, limits: Limits, line: Line) -> tuple[str, str]:
    """Before which gate the line is worst, and what it passes there."""
    p, v, a, j = states(line.spline, 40, 3)
    found = [
        (np.maximum(g, 0.0), name)
        for (g, _), name in zip(limits.passed(v, a, j), _names(limits), strict=True)
    ]
    found += [(np.maximum(depth, 0.0), name) for name, depth in depths(course, limits.radius, p)]
    wrong = [
        (1.0, k)
        for k, gate in enumerate(line.gates)
        if line.spline.at(line.times[k : k + 1], 1)[0] @ gate.forward <= 0.0
    ]
    if wrong:
        return f"gate {line.gates[wrong[0][1]].name}", "it is only reached from the wrong side"
    over, name = max(found, key=lambda one: float(np.max(one[0])))
    piece = int(np.argmax(over)) // 41
    index = int(np.searchsorted(np.array(line.passages) - 1, piece))
    where = f"gate {line.gates[index].name}" if index < len(line.gates) else "run-out after the last gate"
    amount = float(np.max(over))
    return where, f"on the way to it the line passes {_WORDS.get(name, name)} by {amount:.2f}"


_WORDS = {
    "thrust": "the greatest thrust (share)",
    "least": "the least thrust (share)",
    "rate": "the greatest rate (share, squared)",
    "tilt": "the greatest tilt (share)",
}


def _names(limits: Limits) -> list[str]:
    return [NAMES[k] for k in limits.live]


def _shares(line: Line, limits: Limits) -> dict[str, float]:
    """Share of the time to the last passage in which each limit is within 3 % of being passed; `none` of them the rest."""
    times = np.linspace(0.0, line.total, 800)
    v, a, j = (line.spline.at(times, k) for k in (1, 2, 3))
    used = np.array([g for g, _ in limits.passed(v, a, j)])
    first, near = np.argmax(used, axis=0), np.max(used, axis=0) > -0.03
    names = _names(limits)
    shares = {name: float(np.mean(near & (first == k))) for k, name in enumerate(names)}
    return shares | {"none": float(np.mean(~near))}
