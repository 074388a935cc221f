"""Tables of a catalogue's parts as numbers, and the figures of many craft from them."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from controllers.signals import rows
from quadsim.config.airframe_estimate import BLUFF, SHELTER
from quadsim.config.contest_schema import Contest
from quadsim.config.parts_schema import (
    Catalogue,
    CatalogueBattery,
    CatalogueEsc,
    CatalogueMotor,
    CataloguePropeller,
)
from quadsim.config.resolve_drive import (
    COPPER_HEAT,
    COPPER_PER_K,
    COPPER_SHARE,
    INSIDE,
    NOMINAL_CELL,
    PACK_HEAT,
    STEEL_HEAT,
    VENTILATED,
    cylinder_cooling,
    no_load,
)
from quadsim.config.slipstream_estimate import WAKE_SPEED
from quadsim.contest.dash_prediction import TILT_MAX
from quadsim.contest.lap_limits import EMPTIEST, FLIGHT_S, LapRule
from quadsim.contest.rules import LABEL_SHARE, LOADED_CELL_V, DashRule
from quadsim.dynamics.battery import ROOM
from quadsim.dynamics.rotor_map import AXIAL_MIN, AXIAL_STEP, rotor_map
from quadsim.environment.atmosphere import Site, speed_of_sound
from quadsim.parts.build import UNLISTED_PCT, carried_g
from quadsim.parts.choice import EVENTS
from quadsim.parts.course_line import line_over_point_mass
from quadsim.parts.figure_records import MADE, REFERENCE_FLOW, RULES
from quadsim.units import CELSIUS, DEG, GRAM, INCH, MAH, MILLI, MM, RPM, torque_constant

Array = NDArray[np.float64]

WINDING_C = 50.0
"""Winding temperature of all motors in a choice [deg C]; assumed. Flights and inspections work it out."""
FAST = 2.0
"""Rotor speed of the dash over the reference speed of the maps, at which their grids are taken; assumed."""
DASH_CHARGE, LAP_CHARGE = 0.95, 0.7
"""State of charge [-] after the run-up, and in the middle of a slalom for the day's sheet; assumed."""
LEAST_CHARGE = 0.2
"""What must be left of the charge after a lift [-]; common practice, no source."""
LONG_SHARE = 0.6
"""Share of the current limit of motor and ESC that counts for the time of a lift; a limit is for seconds; assumed."""
MOST_MACH = 0.65
"""Tip speed over the speed of sound at which rotors are held: the maps know no shocks; assumed."""
CUT = 0.3
"""How far inside a gate's corner the line may pass, over the gate's opening; assumed: half of it less half a craft."""
HOVER = round(-AXIAL_MIN / AXIAL_STEP)


@dataclass(frozen=True)
class Tables:
    """One row for each part; SI. Masses are of all pieces on the craft, drag areas with their coefficients.

    frames : mass, drag area forward, down, side area of an arm with its coefficient, length of an arm
    motors : mass, kt, warm resistance, no-load current, the same per speed, current limit, drag area forward, down, side of one,
        resistance at room temperature, heat capacities of winding and case, conductances to the case and to the air,
        greatest winding temperature
    propellers : mass, diameter, CT, its trend, CP, its trend, 1 over the reference speed, share of thrust lost on a craft,
        greatest speed
    grids : (p, 24, 24, 3) CT, CP, CH over axial and in-plane advance ratio, at FAST times the reference speed
    escs : mass, resistance, current limit, side area of one in a wake
    packs : mass, cells, cells' resistance, that of the slow drop, leads', charge, drag area forward, down, full cell voltage,
        greatest current, half its label, heat capacity, change of resistance with temperature
    boards : mass, current; radios : mass
    """

    frames: Array
    motors: Array
    propellers: Array
    grids: Array
    escs: Array
    packs: Array
    boards: Array
    radios: Array


def tables(catalogue: Catalogue, site: Site) -> Tables:
    """Tables of a whole catalogue. Rotor maps that were never made take a fifth of a second each."""
    frames = [
        [
            (one.body_mass_g + 4.0 * (one.arm_mass_g + one.leg_mass_g)) * GRAM,
            one.drag_area_cm2[0] * 1e-4,
            one.drag_area_cm2[2] * 1e-4,
            BLUFF * 0.5 * (one.arm_mm[0] + one.arm_mm[1]) * one.arm_mm[2] * MM * MM,
            one.arm_mm[0] * MM,
        ]
        for one in catalogue.frame
    ]
    made = [_propeller_row(one) for one in catalogue.propeller]
    return Tables(
        np.array(frames),
        np.array([_motor_row(one, site) for one in catalogue.motor]),
        np.array([row for row, _ in made]),
        np.array([grid for _, grid in made]),
        np.array([_esc_row(one) for one in catalogue.esc]),
        np.array([_pack_row(one, site) for one in catalogue.battery]),
        np.array([[one.mass_g * GRAM, float(one.pack_current_A)] for one in catalogue.flight_controller]),
        np.array([[one.mass_g * GRAM] for one in catalogue.radio]),
    )


def _motor_row(motor: CatalogueMotor, site: Site) -> list[float]:
    still, slope = no_load(motor, float(motor.no_load_V))
    warm = 1.0 + COPPER_PER_K * (WINDING_C + CELSIUS - ROOM)
    d, h = motor.diameter_mm * MM, motor.height_mm * MM
    face = 4.0 * BLUFF * SHELTER
    return [
        4.0 * motor.mass_g * GRAM, torque_constant(motor.kv_rpm_per_V), motor.resistance_mohm * MILLI * warm, still, slope,
        float(motor.current_limit_A), face * d * h, face * d * d, BLUFF * d * h,
        motor.resistance_mohm * MILLI, *_heat(motor, site),
    ]  # fmt: skip


def _heat(motor: CatalogueMotor, site: Site) -> list[float]:
    """As `quadsim.config.resolve_drive.fill_heat` takes them, cooled by REFERENCE_FLOW."""
    d, h, mass = motor.diameter_mm * MM, motor.height_mm * MM, motor.mass_g * GRAM
    outside = math.pi * d * (h + d / 2.0)
    cooled = cylinder_cooling(d, REFERENCE_FLOW, site.density, site.temperature_C + CELSIUS)
    stated = (motor.winding_heat_J_K, motor.case_heat_J_K, motor.winding_to_case_W_K, motor.case_to_air_W_K)
    estimates = (COPPER_SHARE * mass * COPPER_HEAT, (1.0 - COPPER_SHARE) * mass * STEEL_HEAT, INSIDE * outside,
                 VENTILATED * cooled * outside)  # fmt: skip
    found = [float(own if given is None else given) for given, own in zip(stated, estimates, strict=True)]
    return [*found, motor.winding_limit_C + CELSIUS]


def _esc_row(esc: CatalogueEsc) -> list[float]:
    """One that hangs at each arm lies in the wake; see `quadsim.config.slipstream_estimate` for its side area."""
    each = esc.arrangement == "one per motor"
    x, y, z = (side * MM for side in esc.size_mm)
    blown = BLUFF * 0.5 * (x + y) * z if each else 0.0
    return [
        (4.0 if each else 1.0) * esc.mass_g * GRAM,
        esc.resistance_mohm * MILLI,
        float(esc.current_limit_A),
        blown,
    ]


def _propeller_row(propeller: CataloguePropeller) -> tuple[list[float], Array]:
    made = rotor_map(
        float(propeller.diameter_in),
        float(propeller.pitch_in),
        propeller.blades,
        flap_ratio=float(propeller.flap_ratio),
    )
    at, trend = made.grid[HOVER, 0], made.rpm_slope[HOVER, 0]
    scales = float(propeller.thrust_scale), float(propeller.torque_scale)
    row = [
        4.0 * propeller.mass_g * GRAM, propeller.diameter_in * INCH, at[0] * scales[0], trend[0] * scales[0],
        at[1] * scales[1], trend[1] * scales[1], 1.0 / (made.reference_rpm * RPM), propeller.installed_loss_pct / 100.0,
        math.inf if propeller.max_rpm is None else propeller.max_rpm * RPM,
    ]  # fmt: skip
    grid = made.grid_at(FAST * made.reference_rpm)[..., :3] * np.array([*scales, 1.0])
    return [float(one) for one in row], np.ascontiguousarray(grid)


def _pack_row(pack: CatalogueBattery, site: Site) -> list[float]:
    warm = site.pack_temperature_C + CELSIUS
    cold = math.exp(pack.cold_resistance_K * (1.0 / warm - 1.0 / ROOM))
    share = 1.0 - pack.cold_capacity_pct_K / 100.0 * max(ROOM - warm, 0.0)
    cells = pack.cells * pack.cell_resistance_mohm * MILLI * cold * (1.0 + pack.resistance_growth_pct / 100.0)
    x, y, z = (side * MM for side in pack.size_mm)
    face = BLUFF * SHELTER
    charge = pack.capacity_mAh * MAH * (1.0 - pack.capacity_fade_pct / 100.0) * share
    return [
        pack.mass_g * GRAM, float(pack.cells), cells, cells * pack.relaxation_ratio, pack.lead_resistance_mohm * MILLI,
        charge, face * y * z, face * x * y, float(pack.full_cell_V),
        LABEL_SHARE * pack.label_C_rating * pack.capacity_mAh / 1e3,
        float(pack.mass_g * GRAM * PACK_HEAT if pack.heat_J_K is None else pack.heat_J_K), float(pack.cold_resistance_K),
    ]  # fmt: skip


def rule_record(catalogue: Catalogue, contest: Contest, site: Site) -> Any:
    """RULES record of a contest and its air."""
    lift, dash, slalom = contest.lift, contest.dash, contest.slalom
    rules = rows(RULES)[0]
    rules.air, rules.pack, rules.copper = (
        site.temperature_C + CELSIUS,
        site.pack_temperature_C + CELSIUS,
        COPPER_PER_K,
    )
    rules.density, rules.unlisted = site.density, 1.0 + UNLISTED_PCT / 100.0
    rules.tips = MOST_MACH * float(speed_of_sound(site.temperature_C + CELSIUS))
    rules.slalom_carried, rules.lift_carried, rules.dash_carried = (
        carried_g(event, catalogue, contest) * GRAM for event in EVENTS
    )
    rules.lift_ratio, rules.lift_time = lift.thrust_over_weight, lift.time_s
    rules.lift_charge, rules.lift_cell, rules.lift_share = LEAST_CHARGE, LOADED_CELL_V, LONG_SHARE
    rules.wake, rules.dash_charge = WAKE_SPEED / math.sqrt(2.0 * math.pi), DASH_CHARGE
    rules.dash_reserve, rules.steepest = DashRule.moment_reserve, TILT_MAX * DEG
    rules.asked_cell = NOMINAL_CELL
    rules.run_up, rules.measured = 0.0 if dash.start == "standing" else dash.run_up_m, dash.measured_m
    rules.wind = contest.air.wind_m_s if dash.timing == "mean of times" else 0.0
    rules.slalom_reserve, rules.slalom_time, rules.slalom_charge = LapRule.reserve, FLIGHT_S, EMPTIEST
    rules.slalom_share = 1.0 - slalom.thrust_kept_pct / 100.0
    rules.line = line_over_point_mass(contest, course_rows(contest))
    return rules


def course_rows(contest: Contest, cut: float = CUT) -> Array:
    """Corners of the slalom: radius [m], arc [m], and the straight to the next [m] (n, 3).

    The arc that touches both legs and passes `cut` openings inside a gate's middle: R (1/cos(turn/2) - 1) = d, no larger
    than half of the shorter leg allows. A gate flown straight through is no corner: its radius is 1 km at most.
    """
    gates = contest.slalom.centres
    legs = np.roll(gates, -1, axis=0) - gates
    lengths = np.linalg.norm(legs, axis=1)
    ahead = legs / lengths[:, None]
    turns = np.arccos(np.clip(np.sum(np.roll(ahead, 1, axis=0) * ahead, axis=1), -1.0, 1.0))
    half = np.clip(turns / 2.0, 1e-6, math.radians(89.0))
    shorter = np.minimum(lengths, np.roll(lengths, 1))
    radius = np.minimum(cut * contest.slalom.opening / (1.0 / np.cos(half) - 1.0), 1000.0)
    radius = np.minimum(radius, 0.5 * shorter / np.tan(half))
    taken = radius * np.tan(half)
    straight = np.maximum(lengths - taken - np.roll(taken, -1), 0.0)
    return np.ascontiguousarray(np.column_stack([radius, radius * 2.0 * half, straight]))


def site_of(contest: Contest) -> Site:
    """The air of a contest file."""
    return Site.stated(float(contest.air.temperature_C), float(contest.air.pressure_hPa))


def craft_figures(craft: NDArray[np.int64], parts: Tables, rules: Any, course: Array) -> Array:
    """Figures (n, 4) of craft given by rows of the tables (n, 7); columns of `figure_kernels`: LIFT, DASH, LAP, MASS."""
    from quadsim.parts.figure_kernels import figures

    into = np.empty((craft.shape[0], 4))
    numbers = (
        parts.frames,
        parts.motors,
        parts.propellers,
        parts.grids,
        parts.escs,
        parts.packs,
        parts.boards,
        parts.radios,
    )
    figures(
        np.ascontiguousarray(craft), *numbers, course, rules, rows(MADE)[0], np.empty(course.shape[0]), into
    )
    return into
