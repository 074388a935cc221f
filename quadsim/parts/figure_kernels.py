"""What one craft achieves in three events, by equilibrium alone. A million craft in seconds."""

from __future__ import annotations

import math

from quadsim.dynamics.battery import ROOM, cell_voltage
from quadsim.jit import inner, kernel
from quadsim.parts.course_kernels import lap_time, timed_speed
from quadsim.parts.drive_kernels import full_thrust, hover, pack_current
from quadsim.parts.heat_kernels import warm_share, warm_winding
from quadsim.parts.level_kernels import top_speed

G = 9.80665
"""Standard gravity [m/s2]."""
LIFT_STEPS = 10
"""Halvings of the range of a load, which ends where a fresh pack's thrust does: a thousandth of it is left."""
LIFT_MIDDLE = 0.7
"""State of charge at which a lift's mean current is taken [-]; assumed."""
LIFT, DASH, LAP, MASS = range(4)
"""Columns of the answer: load [kg], mean speed over the timed distance [m/s], lap [s], mass without pack and load [kg]."""


@kernel(nogil=True)
def figures(
    craft, frames, motors, propellers, grids, escs, packs, boards, radios, course, rules, made, speeds, into
):
    """The three figures of many craft.

    craft : (n, 7) rows in the tables of frame, motor, propeller, ESC, pack, flight controller, receiver
    frames .. radios : the tables, see `quadsim.parts.figures.Tables`; grids (p, 24, 24, 3)
    course : see `lap_time`; rules : RULES record
    made, speeds : room, a MADE record and (corners,); into : (n, 4) columns LIFT, DASH, LAP, MASS
    """
    for k in range(craft.shape[0]):
        pack, grid = packs[craft[k, 4]], grids[craft[k, 2]]
        put_together(
            frames[craft[k, 0]], motors[craft[k, 1]], propellers[craft[k, 2]], escs[craft[k, 3]], pack,
            boards[craft[k, 5]], radios[craft[k, 6]], rules, made,
        )  # fmt: skip
        into[k, LIFT] = greatest_load(made, rules)
        into[k, DASH], top = dash(grid, made, rules)
        into[k, LAP] = lap(course, top, speeds, made, rules)
        into[k, MASS] = made.mass - rules.unlisted * pack[0]


@inner
def put_together(frame, motor, propeller, esc, pack, board, radio, rules, made):
    """Fill a MADE record from one row of each table."""
    made.mass = rules.unlisted * (frame[0] + motor[0] + propeller[0] + esc[0] + pack[0] + board[0] + radio[0])
    made.avionics = board[1]
    made.kt, made.still_current, made.slope_current = motor[1], motor[3], motor[4]
    made.ohms, made.cold_ohms, made.esc_ohms = motor[2] + esc[1], motor[9], esc[1]
    made.winding_heat, made.case_heat, made.winding_to_case = motor[10], motor[11], motor[12]
    made.case_to_air, made.winding_limit = motor[13], motor[14]
    made.limit, made.pack_limit = min(motor[5], esc[2]), pack[9] - board[1]
    made.diameter, made.loss, made.per_reference = propeller[1], propeller[7], propeller[6]
    made.cap = min(2.0 * rules.tips / made.diameter, propeller[8])
    made.force = rules.density * made.diameter**4 / (4.0 * math.pi**2)
    twist = made.force * made.diameter / (2.0 * math.pi)
    held = (1.0 - made.loss) * made.force
    made.thrust, made.thrust_trend = held * propeller[2], held * propeller[3]
    made.torque, made.torque_trend = twist * propeller[4], twist * propeller[5]
    disc = 2.0 * made.diameter * made.diameter
    made.ahead = (frame[1] + motor[6] + pack[6]) / disc
    made.below = (frame[2] + motor[7] + pack[7]) / disc
    blown = frame[3] * min(0.5 * made.diameter / frame[4], 1.0) + motor[8] + esc[3]
    made.blown = rules.wake * blown / (made.diameter * made.diameter)
    made.cells, made.full_cell, made.charge = pack[1], pack[8], pack[5]
    made.pack_ohms, made.cell_ohms, made.slow_ohms = pack[2] + pack[4], pack[2], pack[3]
    made.pack_heat, made.cold = pack[10], pack[11]


@inner
def source_at(charge, made):
    """Open-circuit voltage of the pack [V]."""
    return made.cells * cell_voltage(charge, made.full_cell)


@inner
def greatest_load(made, rules):
    """Heaviest load [kg] with thrust, charge, voltage and current to spare when the time is over."""
    own = made.mass + rules.unlisted * rules.lift_carried
    fresh, _ = full_thrust(source_at(1.0, made), made.pack_ohms, 1.0, math.inf, made)
    low, high, ohms = 0.0, max(4.0 * fresh / (rules.lift_ratio * G) - own, 0.0), made.ohms
    for _ in range(LIFT_STEPS):
        load = 0.5 * (low + high)
        if holds((own + load) * G / 4.0, made, rules):
            low = load
        else:
            high = load
    made.ohms = ohms  # the last load's windings were warmer or colder
    return low


@inner
def holds(thrust, made, rules):
    """True when each rotor can give a thrust [N] for the time of a lift, with all that the rules keep in hand, on a pack and with
    windings that their own currents warm."""
    winding = warm_winding(thrust, rules.lift_time, rules, made)
    if winding > made.winding_limit:
        return False
    made.ohms = made.esc_ohms + made.cold_ohms * (1.0 + rules.copper * (winding - ROOM))
    middle, leads = source_at(LIFT_MIDDLE, made), made.pack_ohms - made.cell_ohms
    cells = made.cell_ohms + made.slow_ohms
    drawn, _, _ = hover(thrust, middle, leads + cells, made)
    if drawn <= 0.0:
        return False
    half = warm_share(drawn, 0.5 * rules.lift_time, rules, made)
    drawn, _, _ = hover(thrust, middle, leads + half * cells, made)
    left = 1.0 - drawn * rules.lift_time / made.charge
    if left < rules.lift_charge:
        return False
    late, warm = source_at(left, made), warm_share(drawn, rules.lift_time, rules, made)
    drawn, volts, current = hover(thrust, late, leads + warm * cells, made)
    if drawn > made.pack_limit + made.avionics or current > rules.lift_share * made.limit:
        return False
    burst = (
        late - warm * made.slow_ohms * drawn
    )  # full throttle for a moment: the slow drop is still that of the hover
    full, _ = full_thrust(burst, leads + warm * made.cell_ohms, 1.0, math.inf, made)
    return full >= rules.lift_ratio * thrust and volts >= rules.lift_cell * made.cells


@inner
def dash(grid, made, rules):
    """Mean speed over the timed distance, and the top speed it approaches [m/s], on a fresh pack."""
    source, weight = source_at(rules.dash_charge, made), (made.mass + rules.unlisted * rules.dash_carried) * G
    full, _ = full_thrust(source, made.pack_ohms, 1.0 - rules.dash_reserve, made.pack_limit, made)
    ratio = 4.0 * full / weight
    if ratio <= 1.0:
        return 0.0, 0.0
    asked = rules.asked_cell * made.cells
    top = top_speed(weight, source, asked, rules.steepest, rules.dash_reserve, grid, made)
    mean = timed_speed(top, G * math.sqrt(ratio * ratio - 1.0), rules.run_up, rules.measured)
    if rules.wind > 0.0 and mean > 0.0:  # mean of times in wind w: 2 / (1/(v - w) + 1/(v + w))
        mean = max(mean - rules.wind**2 / mean, 0.0)
    return mean, top


@inner
def lap(course, top, speeds, made, rules):
    """Lap [s] at the motor command that a lap is planned with, after some time of that; infinite for a craft that cannot hover.

    The point mass's, scaled as this course's planned line is to it. top : level speed in the dash, a bound for straights [m/s]
    """
    weight = (made.mass + rules.unlisted * rules.slalom_carried) * G
    fresh, command = source_at(1.0, made), 1.0 - rules.slalom_reserve
    _, power = full_thrust(fresh, made.pack_ohms, command, made.pack_limit, made)
    drawn = pack_current(power, fresh, made.pack_ohms, made)
    left = max(1.0 - drawn * rules.slalom_time / made.charge, rules.slalom_charge)
    full, _ = full_thrust(source_at(left, made), made.pack_ohms, command, made.pack_limit, made)
    ratio = rules.slalom_share * 4.0 * full / weight
    if ratio <= 1.0:
        return math.inf
    return rules.line * lap_time(course, G * math.sqrt(ratio * ratio - 1.0), top, speeds)
