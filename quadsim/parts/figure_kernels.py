"""What one craft achieves in three events, by equilibrium alone: numbers of its parts in, three figures out.

Circuit as in quadsim.config.equilibrium, at one winding temperature; rotors from their maps. A million craft in seconds.
"""

from __future__ import annotations

import math

from quadsim.dynamics.battery import cell_voltage
from quadsim.dynamics.rotor_map import AXIAL_MIN, AXIAL_STEP, INPLANE_STEP, N_AXIAL, N_INPLANE
from quadsim.jit import inner, kernel

G = 9.80665
"""Standard gravity [m/s2]."""
SPEED_STEPS, LIFT_STEPS, SETTLE = 12, 10, 3
"""Halvings of the range of a speed and of a load, passes for rotor speed and tilt."""
FASTEST = 90.0
"""Upper end of the range of speeds [m/s]; 12 halvings leave 0.02."""
LIFT, DASH, LAP, MASS = range(4)
"""Columns of the answer: load [kg], mean speed over the timed distance [m/s], lap [s], mass without pack and load [kg]."""


@inner
def full_throttle(
    source, pack_ohms, motor_ohms, kt, i00, i01, limit, cap, avionics, q, q_trend, per_reference
):
    """Rotor speed [rad/s] of each of four motors at full command on one pack, held at `cap`.

    V = E - Rp (4 i + Ia), V = i R + kt w, kt (i - i00 - i01 w) = q w^2: a quadratic in w; the limit holds i.
    """
    ohms = motor_ohms + 4.0 * pack_ohms
    volts = source - pack_ohms * avionics
    omega = 1.0 / per_reference
    for _ in range(SETTLE):
        torque = q + q_trend * math.log(max(omega * per_reference, 0.25))
        drive = kt * (volts / ohms - i00)
        if drive <= 0.0:
            return 0.0
        omega = root(torque, kt * (kt / ohms + i01), drive)
        if (volts - kt * omega) / ohms > limit:
            omega = root(torque, kt * i01, kt * max(limit - i00, 1e-9))
    return min(omega, cap)


@inner
def root(a, b, c):
    """Positive root of a w^2 + b w = c."""
    return 2.0 * c / (b + math.sqrt(b * b + 4.0 * a * c))


@inner
def hover(
    thrust, source, pack_ohms, motor_ohms, kt, i00, i01, avionics, f, f_trend, q, q_trend, per_reference
):
    """Pack current [A], pack voltage [V] and motor current [A] with each rotor giving a thrust [N]; 0 where the pack cannot.

    V = E - Rp (Ia + 4 u i / V), as `quadsim.config.equilibrium.hover_balance`.
    """
    omega = 1.0 / per_reference
    for _ in range(SETTLE):
        trend = math.log(max(omega * per_reference, 0.25))
        omega = math.sqrt(thrust / (f + f_trend * trend))
    torque = q + q_trend * math.log(max(omega * per_reference, 0.25))
    current = i00 + i01 * omega + torque * omega * omega / kt
    across = current * motor_ohms + kt * omega
    open_side = source - pack_ohms * avionics
    square = open_side * open_side - 16.0 * pack_ohms * across * current
    if square < 0.0:
        return 0.0, 0.0, 0.0
    volts = 0.5 * (open_side + math.sqrt(square))
    if across > volts:
        return 0.0, 0.0, 0.0
    return avionics + 4.0 * across * current / volts, volts, current


@inner
def look_up(grid, channel, axial, inplane):
    """Bilinear value of one coefficient of a rotor map; outside its axes that of the edge."""
    u = min(max((axial - AXIAL_MIN) / AXIAL_STEP, 0.0), N_AXIAL - 1.0)
    v = min(max(inplane / INPLANE_STEP, 0.0), N_INPLANE - 1.0)
    i, j = min(int(u), N_AXIAL - 2), min(int(v), N_INPLANE - 2)
    a, b = u - i, v - j
    low = grid[i, j, channel] * (1.0 - b) + grid[i, j + 1, channel] * b
    high = grid[i + 1, j, channel] * (1.0 - b) + grid[i + 1, j + 1, channel] * b
    return low * (1.0 - a) + high * a


@inner
def spare_thrust(
    v, weight, ahead, below, volts, ohms, kt, i00, i01, limit, cap, grid, diameter, density, kept, omega
):
    """Thrust at full command beyond what level flight at v [m/s] asks for [N], and the rotor speed [rad/s].

    Body axes, drag per axis: X = m g sin(tilt), T - Z = m g cos(tilt), with X of body and rotors, Z of the body.

    ahead, below : half the density times drag area along forward and down [kg/m]
    """
    tilt = math.atan(min(ahead * v * v / weight, 20.0))
    force = density * diameter**4 / (4.0 * math.pi**2)
    thrust = 0.0
    for _ in range(SETTLE):
        s, c = math.sin(tilt), math.cos(tilt)
        per = 2.0 * math.pi / (max(omega, 50.0) * diameter)
        axial, inplane = v * s * per, v * c * per
        q = max(force * diameter * look_up(grid, 1, axial, inplane) / (2.0 * math.pi), 1e-12)
        omega = root(q, kt * (kt / ohms + i01), max(kt * (volts / ohms - i00), 1e-12))
        if (volts - kt * omega) / ohms > limit:
            omega = root(q, kt * i01, kt * max(limit - i00, 1e-9))
        omega = min(omega, cap)
        per = 2.0 * math.pi / (max(omega, 50.0) * diameter)
        axial, inplane = v * s * per, v * c * per
        four = 4.0 * force * omega * omega
        thrust = kept * four * look_up(grid, 0, axial, inplane)
        drag = ahead * v * v * c + four * look_up(grid, 2, axial, inplane)
        tilt = math.atan(drag / (c * weight))  # drag goes nearly with the cosine, so this settles at once
    return thrust - weight * math.cos(tilt) - below * v * v * math.sin(tilt), omega


@inner
def top_speed(
    weight, ahead, below, volts, ohms, kt, i00, i01, limit, cap, grid, diameter, density, kept, omega
):
    """Greatest level speed [m/s] at full command, by halving; 0 for a craft that cannot hover.

    No trim: where drag pitches a craft, two of its rotors come to full command first, up to a tenth before the mean.
    """
    low, high = 0.0, FASTEST
    for _ in range(SPEED_STEPS):
        v = 0.5 * (low + high)
        spare, omega = spare_thrust(
            v,
            weight,
            ahead,
            below,
            volts,
            ohms,
            kt,
            i00,
            i01,
            limit,
            cap,
            grid,
            diameter,
            density,
            kept,
            omega,
        )
        if spare >= 0.0:
            low = v
        else:
            high = v
    return low


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


@kernel(nogil=True)
def figures(
    craft, frames, motors, propellers, grids, escs, packs, boards, radios, course, rules, speeds, into
):
    """The three figures of many craft.

    craft : (n, 7) rows in the tables of frame, motor, propeller, ESC, pack, flight controller, receiver
    frames .. radios : the tables, see `quadsim.parts.figures.Tables`; grids (p, 24, 24, 3)
    course : see `lap_time`; rules : see `quadsim.parts.figures.rule_numbers`
    speeds : room (corners,); into : (n, 4) columns LIFT, DASH, LAP, MASS
    """
    density = rules[0]
    for k in range(craft.shape[0]):
        frame, motor, propeller = frames[craft[k, 0]], motors[craft[k, 1]], propellers[craft[k, 2]]
        esc, pack = escs[craft[k, 3]], packs[craft[k, 4]]
        grid = grids[craft[k, 2]]
        avionics = boards[craft[k, 5], 1]
        bare = rules[1] * (
            frame[0]
            + motor[0]
            + propeller[0]
            + esc[0]
            + pack[0]
            + boards[craft[k, 5], 0]
            + radios[craft[k, 6], 0]
        )
        kt, i00, i01 = motor[1], motor[3], motor[4]
        ohms, limit = motor[2] + esc[1], min(motor[5], esc[2], pack[9] - 0.25 * avionics)
        diameter, kept, per_reference = propeller[1], propeller[7], propeller[6]
        cap = min(2.0 * rules[3] / diameter, propeller[8])
        force = density * diameter**4 / (4.0 * math.pi**2)
        twist = force * diameter / (2.0 * math.pi)
        f, f_trend = kept * force * propeller[2], kept * force * propeller[3]
        q, q_trend = twist * propeller[4], twist * propeller[5]
        ahead = 0.5 * density * (frame[1] + motor[6] + pack[6])
        below = 0.5 * density * (frame[2] + motor[7] + pack[7])

        # lift: the heaviest load with thrust to spare when the time is over
        slow = pack[2] + pack[3] + pack[4]
        own = bare + rules[1] * rules[4]
        fresh = pack[1] * cell_voltage(1.0, pack[8])
        omega = full_throttle(
            fresh, slow, ohms, kt, i00, i01, limit, cap, avionics, q, q_trend, per_reference
        )
        trend = math.log(max(omega * per_reference, 0.25))
        low, high = 0.0, max(4.0 * (f + f_trend * trend) * omega * omega / (rules[2] * G) - own, 0.0)
        for _ in range(LIFT_STEPS):
            load = 0.5 * (low + high)
            thrust = (own + load) * G / 4.0
            middle = pack[1] * cell_voltage(0.7, pack[8])
            drawn, volts, current = hover(
                thrust, middle, slow, ohms, kt, i00, i01, avionics, f, f_trend, q, q_trend, per_reference
            )
            left = 1.0 - drawn * rules[5] / pack[5]
            good = drawn > 0.0 and left >= rules[6]
            if good:
                late = pack[1] * cell_voltage(left, pack[8])
                drawn, volts, current = hover(
                    thrust, late, slow, ohms, kt, i00, i01, avionics, f, f_trend, q, q_trend, per_reference
                )
                omega = full_throttle(
                    late, slow, ohms, kt, i00, i01, limit, cap, avionics, q, q_trend, per_reference
                )
                trend = math.log(max(omega * per_reference, 0.25))
                good = (f + f_trend * trend) * omega * omega >= rules[2] * thrust
                good = good and volts >= rules[7] * pack[1] and current <= rules[16] * limit
            if good:
                low = load
            else:
                high = load
        into[k, LIFT] = low

        # dash: a fresh pack
        total = pack[2] + pack[4]
        loaded = ohms + 4.0 * total
        volts = pack[1] * cell_voltage(rules[8], pack[8]) - total * avionics
        weight = (bare + rules[1] * rules[9]) * G
        omega = full_throttle(volts, total, ohms, kt, i00, i01, limit, cap, 0.0, q, q_trend, per_reference)
        trend = math.log(max(omega * per_reference, 0.25))
        ratio = 4.0 * (f + f_trend * trend) * omega * omega / weight
        top = push = 0.0
        if ratio > 1.0:
            push = G * math.sqrt(ratio * ratio - 1.0)
            top = top_speed(
                weight,
                ahead,
                below,
                volts,
                loaded,
                kt,
                i00,
                i01,
                limit,
                cap,
                grid,
                diameter,
                density,
                kept,
                omega,
            )
        mean = timed_speed(top, push, rules[10], rules[11])
        if rules[12] > 0.0 and mean > 0.0:  # mean of times in wind w: 2 / (1/(v - w) + 1/(v + w))
            mean = max(mean - rules[12] ** 2 / mean, 0.0)
        into[k, DASH] = mean

        # slalom: later on the pack, some thrust kept for control
        volts = pack[1] * cell_voltage(rules[13], pack[8]) - total * avionics
        weight = (bare + rules[1] * rules[14]) * G
        omega = full_throttle(volts, total, ohms, kt, i00, i01, limit, cap, 0.0, q, q_trend, per_reference)
        trend = math.log(max(omega * per_reference, 0.25))
        ratio = rules[15] * 4.0 * (f + f_trend * trend) * omega * omega / weight
        lap = math.inf
        if ratio > 1.0:
            top = top_speed(
                weight,
                ahead,
                below,
                volts,
                loaded,
                kt,
                i00,
                i01,
                limit,
                cap,
                grid,
                diameter,
                density,
                kept,
                omega,
            )
            lap = lap_time(course, G * math.sqrt(ratio * ratio - 1.0), top, speeds)
        into[k, LAP] = lap
        into[k, MASS] = bare - rules[1] * pack[0]
