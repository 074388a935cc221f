"""Records that the kernels of the fast figures read: one craft put together, and the rules of a contest."""

from __future__ import annotations

import numpy as np

REFERENCE_FLOW = 10.0
"""Airspeed at which a motor's cooling is tabulated [m/s]; it goes with the square root of it."""
MADE = np.dtype(
    [
        (name, np.float64)
        for name in (
            "mass",  # ready to fly, without what an event puts on board [kg]
            "kt",  # torque constant [N m/A]
            "still_current",  # no-load current at any speed [A]
            "slope_current",  # and what it gains per rotor speed [A s/rad]
            "ohms",  # winding and ESC [ohm]
            "cold_ohms",  # winding at room temperature [ohm]
            "esc_ohms",  # [ohm]
            "winding_heat",  # heat capacities [J/K]
            "case_heat",
            "winding_to_case",  # conductances [W/K]
            "case_to_air",  # at REFERENCE_FLOW
            "winding_limit",  # [K]
            "limit",  # greatest current of one motor: its own and the ESC's [A]
            "pack_limit",  # greatest current of the pack for the motors, half its label [A]
            "cap",  # greatest rotor speed [rad/s]
            "avionics",  # current of everything but the motors [A]
            "thrust",  # N s2/rad2 of one rotor at the reference speed, as mounted
            "thrust_trend",  # its change per unit of ln(speed/reference)
            "torque",  # N m s2/rad2
            "torque_trend",
            "per_reference",  # 1 over the reference speed [s/rad]
            "diameter",  # [m]
            "force",  # rho D^4/(4 pi^2) [kg m]: thrust over CT and speed squared
            "loss",  # share of the free rotor's thrust that is lost on a craft in hover [-]
            "ahead",  # drag area along forward over 2 D^2: its drag over rho n^2 D^4 and (V/(n D))^2 [-]
            "below",  # and along down
            "blown",  # drag of what lies in one wake over rho n^2 D^4, sqrt(CT) and V/(n D) [-]
            "cells",  # in series [-]
            "full_cell",  # open-circuit voltage of a full cell [V]
            "pack_ohms",  # cells and leads [ohm]
            "cell_ohms",  # cells alone
            "slow_ohms",  # what the slow voltage drop adds after minutes [ohm]
            "charge",  # [C]
            "pack_heat",  # [J/K]
            "cold",  # by which resistance grows in the cold: exp(cold (1/T - 1/T0)) [K]
        )
    ]
)
"""One craft, four rotors alike; SI."""

RULES = np.dtype(
    [
        (name, np.float64)
        for name in (
            "density",  # of the air [kg/m3]
            "air",  # its temperature [K]
            "pack",  # temperature of a pack at the start [K]
            "copper",  # change of resistance [1/K]
            "unlisted",  # mass over listed mass [-]
            "tips",  # greatest tip speed [m/s]
            "slalom_carried",  # what the events put on board, listed [kg]
            "lift_carried",
            "dash_carried",
            "lift_ratio",  # thrust over weight at the end of a lift [-]
            "lift_time",  # [s]
            "lift_charge",  # least charge then [-]
            "lift_cell",  # least loaded voltage of a cell then [V]
            "lift_share",  # share of the current limit that counts for that time [-]
            "wake",  # drag of a side area S in a wake over S/D^2, as `blown` [-]
            "dash_charge",  # state of charge after the run-up [-]
            "dash_reserve",  # motor command kept for attitude [-]
            "steepest",  # greatest tilt [rad]
            "asked_cell",  # voltage across a motor that a guide asks for at full thrust, per cell of the pack [V]
            "run_up",  # [m]
            "measured",  # [m]
            "wind",  # along the dash, where the mean of times counts [m/s]
            "slalom_reserve",  # motor command kept for attitude [-]
            "slalom_time",  # at the thrust that is left, before it counts [s]
            "slalom_charge",  # least charge at which it counts [-]
            "slalom_share",  # share of that thrust that a lap may use [-]
            "line",  # lap of the course's planned line over the point mass's [-]
        )
    ]
)
"""Rules and air."""
