"""A point mass along a dash and around a slalom, in closed forms."""

from __future__ import annotations

import math

from quadsim.jit import inner, kernel


@kernel
def timed_speed(top, push, run_up, measured):
    """Mean speed [m/s] over a timed distance [m] after a run-up [m], from rest, pushed by a0 (1 - v^2/top^2)."""
    if top <= 0.0 or push <= 0.0:
        return 0.0
    return measured / (time_from_rest(top, push, run_up + measured) - time_from_rest(top, push, run_up))


@inner
def time_from_rest(top, push, distance):
    """Time [s] over a distance [m] from rest: t = (V/a0) acosh(exp(y)), y = a0 x/V^2, as y + ln(1 + sqrt(1 - exp(-2 y)))."""
    y = push * distance / (top * top)
    return top / push * (y + math.log(1.0 + math.sqrt(1.0 - math.exp(-2.0 * y))))


@kernel
def straight_time(length, first, last, push, top):
    """Shortest time [s] along a straight of a length [m] between two speeds [m/s] with |a| <= push and v <= top."""
    peak = math.sqrt(0.5 * (first * first + last * last) + push * length)
    if peak <= top:
        return (2.0 * peak - first - last) / push
    rest = length - (2.0 * top * top - first * first - last * last) / (2.0 * push)
    return (2.0 * top - first - last) / push + rest / top


@kernel
def lap_time(course, push, top, speeds):
    """Lap [s] of a point mass that can accelerate by `push` in any level direction, up to a speed `top`.

    course : rows of a corner's radius [m], its arc [m], and the straight from it to the next corner [m]
    speeds : room for the corner speeds (n,), filled here
    """
    n = course.shape[0]
    if push <= 0.0 or top <= 0.0:
        return math.inf
    for k in range(n):
        speeds[k] = min(math.sqrt(push * course[k, 0]), top)
    for k in range(2 * n):  # twice around, so that the last corner is felt by the first
        here, after = k % n, (k + 1) % n
        speeds[after] = min(speeds[after], math.sqrt(speeds[here] ** 2 + 2.0 * push * course[here, 2]))
    for k in range(2 * n, 0, -1):
        here, after = (k - 1) % n, k % n
        speeds[here] = min(speeds[here], math.sqrt(speeds[after] ** 2 + 2.0 * push * course[here, 2]))
    time = 0.0
    for k in range(n):
        time += course[k, 1] / speeds[k]
        time += straight_time(course[k, 2], speeds[k], speeds[(k + 1) % n], push, top)
    return time
