"""What a long hover does to motors and pack: two nodes of a motor, and the pack as one.

The nodes of quadsim.dynamics.motor_heat and battery at a constant load, as `quadsim.contest.feed` takes them.
"""

from __future__ import annotations

import math

from quadsim.dynamics.battery import ROOM
from quadsim.jit import inner
from quadsim.parts.drive_kernels import UNEVEN, hovering, motor_current
from quadsim.parts.figure_records import REFERENCE_FLOW

STEPS = 10
"""Implicit steps of a hover."""


@inner
def warm_winding(mean, seconds, rules, made):
    """Winding temperature [K] at the rotor that carries most, after some seconds in which the mean one gives a thrust [N]; motors
    start as warm as the air.

    Copper warms the winding, more when it is warm, iron and friction the case; the induced flow v = sqrt(T/(2 rho A)) cools it.
    """
    thrust = UNEVEN * mean
    omega, torque = hovering(thrust, made)
    current = motor_current(omega, torque, made)
    iron = made.kt * omega * (made.still_current + made.slope_current * omega)
    flow = math.sqrt(2.0 * thrust / (math.pi * rules.density)) / made.diameter
    h = seconds / STEPS
    out = h * made.case_to_air * math.sqrt(flow / REFERENCE_FLOW)
    through = h * made.winding_to_case
    copper = h * current * current * made.cold_ohms
    a, b = made.winding_heat + through - copper * rules.copper, made.case_heat + through + out
    if a * b <= through * through:
        return math.inf  # copper's growing resistance warms it faster than the case takes it
    share = 1.0 / (a * b - through * through)
    winding = case = rules.air
    for _ in range(STEPS):
        x = made.winding_heat * winding + copper * (1.0 - rules.copper * ROOM)
        y = made.case_heat * case + h * iron + out * rules.air
        winding, case = (b * x + through * y) * share, (a * y + through * x) * share
    return winding


@inner
def warm_share(drawn, seconds, rules, made):
    """Resistance of the cells over that at the start, after a current [A] for some time has warmed the pack.

    R = R0 exp(-c dT) with dT/dt = I^2 R/C integrates to R0/(1 + c I^2 R0 t/C); the air's cooling is left out.
    """
    kelvins = drawn * drawn * (made.cell_ohms + made.slow_ohms) * seconds / made.pack_heat
    falls = made.cold * kelvins / (rules.pack * rules.pack)
    return 1.0 / (1.0 + falls)
