"""What a line passes, looked at in samples: limits, obstacles and openings, with their partial derivatives, as kernels.

A state is (derivative, axis): place, velocity, acceleration, jerk and snap, north-east-down. The formulas of the limits stand in
`limits`; `numbers` are the fields of a `Limits` in their order, with the cosine of the greatest tilt in the place of the tilt.
"""

from __future__ import annotations

import math

from quadsim.jit import kernel

TINY = 1e-9
DEPTH_M = 0.5
"""Depth in an obstacle that counts as much as a limit passed twofold [m]."""
GRAVITY, THRUST, FALL, LEAST, RATE, UPRIGHT, DRAG, DRAG_SQUARED, PUSH = range(9)
EDGE, POST, BOX = range(3)
"""Kinds of obstacles: (axis, sign, place of the edge), (north, east, height, radius), (low corner, high corner)."""


@kernel
def force_at(state, numbers, f, unit):
    """Thrust over mass (3,) and its direction (3,); returns its size [m/s2] and the speed [m/s]."""
    v, a = state[1], state[2]
    speed = math.sqrt(v[0] ** 2 + v[1] ** 2 + v[2] ** 2 + TINY)
    push = numbers[DRAG] + numbers[DRAG_SQUARED] * speed
    for i in range(3):
        f[i] = a[i] + push * v[i]
    f[2] -= numbers[GRAVITY]
    size = math.sqrt(f[0] ** 2 + f[1] ** 2 + f[2] ** 2 + TINY)
    for i in range(3):
        unit[i] = f[i] / size
    return size, speed


@kernel
def thrust_limit(state, numbers, unit, size, speed, above, by):
    """|f|/(f0 - (k + p |V|) w) - 1; by : (velocity, force, jerk; axis), filled where the limit is passed by more than `above`."""
    v = state[1]
    climb = v[0] * unit[0] + v[1] * unit[1] + v[2] * unit[2]
    floor = 0.1 * numbers[THRUST]  # `limits.LEAST_THRUST`
    given, fall, push = numbers[THRUST], 0.0, 0.0
    if climb > 0.0:
        fall, push = numbers[FALL] + numbers[PUSH] * speed, numbers[PUSH]
        given -= fall * climb
    if given <= floor:
        given, fall, push = floor, 0.0, 0.0
    over = size / given - 1.0
    if over > above:
        by_climb, by_speed = size / given**2 * fall, size / given**2 * push * climb
        for i in range(3):
            by[0, i] = by_climb * unit[i] + by_speed * v[i] / speed
            by[1, i] = unit[i] / given + by_climb * (v[i] - climb * unit[i]) / size
            by[2, i] = 0.0
    return over


@kernel
def least_limit(numbers, unit, size, above, by):
    """1 - |f|/f_least; -1 where there is none."""
    least = numbers[LEAST]
    if least <= 0.0:
        return -1.0
    over = 1.0 - size / least
    if over > above:
        for i in range(3):
            by[0, i] = by[2, i] = 0.0
            by[1, i] = -unit[i] / least
    return over


@kernel
def turning_limit(state, numbers, f, size, above, by):
    """w^2/w_max^2 - 1 with w = |j across f|/|f|; -1 where there is none."""
    if not math.isfinite(numbers[RATE]):
        return -1.0
    j, square, scale = state[3], size * size, 1.0 / numbers[RATE] ** 2
    both = (f[0] * j[0] + f[1] * j[1] + f[2] * j[2]) / square
    jerks = (j[0] ** 2 + j[1] ** 2 + j[2] ** 2) / square
    over = (jerks - both**2) * scale - 1.0
    if over > above:
        for i in range(3):
            by[0, i] = 0.0
            by[1, i] = 2.0 * scale * ((2.0 * both**2 - jerks) * f[i] - both * j[i]) / square
            by[2, i] = 2.0 * scale * (j[i] - both * f[i]) / square
    return over


@kernel
def tilt_limit(numbers, unit, size, above, by):
    """(cos(tilt_max) - cos(tilt))/(1 - cos(tilt_max)); -1 where there is none."""
    least = numbers[UPRIGHT]
    if least <= -1.0:
        return -1.0
    scale, upright = 1.0 / (1.0 - least), -unit[2]
    over = (least - upright) * scale
    if over > above:
        for i in range(3):
            by[0, i] = by[2, i] = 0.0
            by[1, i] = scale * upright * unit[i] / size
        by[1, 2] += scale / size
    return over


@kernel
def limits_at(state, numbers, above, g, by):
    """The limits (4,) of `limits.NAMES` at a state, and where they exceed `above` their partial derivatives by velocity,
    acceleration and jerk, by : (limit, derivative, axis) with two rows more to work in."""
    f, unit, v = by[4, 0], by[4, 1], state[1]
    size, speed = force_at(state, numbers, f, unit)
    g[0] = thrust_limit(state, numbers, unit, size, speed, above, by[0])
    g[1] = least_limit(numbers, unit, size, above, by[1])
    g[2] = turning_limit(state, numbers, f, size, above, by[2])
    g[3] = tilt_limit(numbers, unit, size, above, by[3])
    push = numbers[DRAG] + numbers[DRAG_SQUARED] * speed
    for k in range(4):
        if g[k] > above:
            along = (v[0] * by[k, 1, 0] + v[1] * by[k, 1, 1] + v[2] * by[k, 1, 2]) / speed
            for i in range(3):  # the force asks for what drag takes
                by[k, 0, i] += push * by[k, 1, i] + numbers[DRAG_SQUARED] * along * v[i]


@kernel
def limits_of(states, numbers, g, by):
    """`limits_at` of many states, with all partial derivatives: g (n, 4), by (n, 5, 3, 3)."""
    for row in range(len(states)):
        limits_at(states[row], numbers, -math.inf, g[row], by[row])


@kernel
def depth_at(kind, one, keep, p, by):
    """Depth of a place in an obstacle with `keep` around it [m], positive inside, and its gradient (3,)."""
    by[0] = by[1] = by[2] = 0.0
    if kind == EDGE:
        axis, sign = int(one[0]), one[1]
        by[axis] = sign
        return sign * (p[axis] - one[2]) + keep
    if kind == POST:
        north, east = p[0] - one[0], p[1] - one[1]
        distance = math.sqrt(north**2 + east**2 + TINY)
        side, top = one[3] + keep - distance, one[2] + keep + p[2]
        if top < side:
            by[2] = 1.0
            return top
        by[0], by[1] = -north / distance, -east / distance
        return side
    least, nearest, way = math.inf, 0, 1.0
    for axis in range(3):
        low, high = p[axis] - one[axis] + keep, one[3 + axis] + keep - p[axis]
        if low < least:
            least, nearest, way = low, axis, 1.0
        if high < least:
            least, nearest, way = high, axis, -1.0
    by[nearest] = way
    return least


@kernel
def powers_at(t, size, rows):
    """Derivatives 0 .. 4 of 1, t, t^2, ... at a time, rows : (derivative, power)."""
    for k in range(5):
        for j in range(size):
            if j < k:
                rows[k, j] = 0.0
            elif k > 0:
                rows[k, j] = j * rows[k - 1, j - 1]
            else:
                rows[0, j] = 1.0 if j == 0 else t * rows[0, j - 1]


@kernel
def cost_at(state, numbers, kinds, obstacles, keep, work, by):
    """What one state passes, squared and summed, and its partial derivatives by place, velocity, acceleration and jerk (4, 3)."""
    partials, g, gradient, cost = work[:5], work[5, 0], work[5, 1], 0.0
    by[:] = 0.0
    limits_at(state, numbers, 0.0, g, partials)
    for k in range(4):
        if g[k] > 0.0:
            cost += g[k] * g[k]
            for n in range(3):
                for i in range(3):
                    by[n + 1, i] += 2.0 * g[k] * partials[k, n, i]
    for k in range(len(kinds)):
        over = depth_at(kinds[k], obstacles[k], keep, state[0], gradient) / DEPTH_M
        if over > 0.0:
            cost += over * over
            for i in range(3):
                by[0, i] += 2.0 * over / DEPTH_M * gradient[i]
    return cost


@kernel(nogil=True)
def look(c, durations, count, numbers, kinds, obstacles, keep, work, by_c, by_t):
    """sum over pieces of T/count sum of w cost, by the trapezoid rule at count + 1 samples a piece, and its partial derivatives
    by coefficients c (piece, power, axis) and durations. work : (9, 5, 8) to work in."""
    by, state, rows = work[6], work[7], work[8]
    size, total = c.shape[1], 0.0
    by_c[:] = 0.0
    by_t[:] = 0.0
    for m in range(len(durations)):
        for n in range(count + 1):
            share, duration = n / count, durations[m]
            powers_at(share * duration, size, rows)
            for k in range(5):
                for i in range(3):
                    state[k, i] = 0.0
                    for j in range(k, size):
                        state[k, i] += rows[k, j] * c[m, j, i]
            cost = cost_at(state, numbers, kinds, obstacles, keep, work, by)
            if cost <= 0.0:
                continue
            weight = (0.5 if n == 0 or n == count else 1.0) * duration / count
            total += weight * cost
            by_t[m] += weight * cost / duration
            for k in range(4):
                for i in range(3):
                    by_t[m] += weight * share * by[k, i] * state[k + 1, i]
                    for j in range(k, size):
                        by_c[m, j, i] += weight * rows[k, j] * by[k, i]
    return total


@kernel
def openings(at, v, forward, right, half, keep, by_at, by_v):
    """What oblique passages lack of room, and its partial derivatives by passage points (G, 2) and velocities (G, 3).

    at : side and up from the middle; forward, right : (G, 3); half : of width and height (G, 2); keep : what must be free."""
    total = 0.0
    by_v[:] = 0.0
    for g in range(len(at)):
        ahead = v[g, 0] * forward[g, 0] + v[g, 1] * forward[g, 1]
        for k in range(2):
            side = v[g, 0] * right[g, 0] + v[g, 1] * right[g, 1] if k == 0 else -v[g, 2]
            size = math.sqrt(ahead**2 + side**2 + 1e-6)
            room, cosine = half[g, k] - abs(at[g, k]), ahead / size
            over = max(1.0 - room * cosine / keep, 0.0)
            total += 0.1 * over * over
            by_at[g, k] = math.copysign(0.2 * over * cosine / keep, at[g, k])
            push = -0.2 * over * room / keep / size**3
            for i in range(2):
                by_v[g, i] += push * side * (side * forward[g, i] - (ahead * right[g, i] if k == 0 else 0.0))
            if k == 1:
                by_v[g, 2] += push * side * ahead
    return total
