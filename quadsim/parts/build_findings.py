"""Questions about how a craft is put together: room for the propellers, balance, mass, price."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from quadsim.config import mass_properties
from quadsim.config.craft_solids import rotor_places
from quadsim.config.equilibrium import motor_load, speed_for
from quadsim.config.resolve_builder import allocation_of, effectiveness
from quadsim.parts.bench import Bench
from quadsim.parts.clearance import disc_gap, frame_gap
from quadsim.parts.finding import Finding, at_least, at_most
from quadsim.units import GRAM, INCH, MM

DISC_GAP_SHARE = 0.03
"""Gap between two discs over their diameter; common practice, no source."""
FRAME_GAP_MM = 3.0
"""Gap between a disc and the frame [mm]: blades bend under load; common practice, no source."""
LOST_THROTTLE_PCT = 3.0
"""Throttle that the most loaded rotor may need over the mean in hover [% of full]. With a centre of mass 5 % of the arm ahead
(common practice, no source) a square craft loads its front rotors by 7 %, which takes 1.5 to 3 % of throttle; the upper end."""


def between_discs(bench: Bench) -> Finding:
    """Room between two propellers."""
    gap, which = disc_gap(bench.craft)
    limit = DISC_GAP_SHARE * float(bench.craft.propeller.diameter_in) * INCH
    message = f"{which} propellers; {100 * DISC_GAP_SHARE:g} % of a diameter is usual"
    return at_least("disc_gap", gap / MM, limit / MM, "mm", message)


def to_the_frame(bench: Bench) -> Finding:
    """Room between a propeller and everything else."""
    gap, which = frame_gap(bench.craft)
    message = f"{which}; blades bend under load"
    return at_least("frame_gap", gap / MM, FRAME_GAP_MM, "mm", message, "caution" if gap > 0.0 else "misfit")


def control_axes(bench: Bench) -> Finding:
    """Whether four rotors where they stand can serve all four axes."""
    mass = mass_properties(bench.craft)
    _, lost = allocation_of(effectiveness(bench.plant, mass, rotor_places(bench.craft)))
    message = "of roll, pitch, yaw and thrust that four rotors where they stand, turning as they do, can serve apart"
    if lost:
        message = f"{' and '.join(lost)} cannot be controlled"
    return at_least("control_axes", 4.0 - len(lost), 4.0, "-", message, "misfit")


def hover_shares(bench: Bench) -> NDArray[np.float64]:
    """Thrust of each rotor in hover over the mean of the four, (4,) [-]: no moment about the centre of mass.

    Least squares where the rotors cannot serve all axes.
    """
    arm = rotor_places(bench.craft) - mass_properties(bench.craft).centre_of_mass_m
    rows = np.vstack([np.ones(4), arm[:, 0], arm[:, 1], 0.01 * np.asarray(bench.plant.spin)])
    return np.linalg.lstsq(rows, np.array([4.0, 0.0, 0.0, 0.0]), rcond=None)[0]


def lost_throttle_pct(bench: Bench) -> float:
    """Throttle of the most loaded rotor in hover at half charge over that of a balanced craft [% of full].

    The greatest of four shares is at least their mean, 1; only rotors that cannot serve all axes give less.
    """
    volts = (bench.late_hover or bench.full).pack_voltage
    mean = bench.weight / 4.0
    loaded, even = (
        motor_load(bench.plant, speed_for(bench.plant, mean * share))[1] / volts
        for share in (max(float(np.max(hover_shares(bench))), 1.0), 1.0)
    )
    return 100.0 * (loaded - even)


def centre_of_mass(bench: Bench) -> Finding:
    """An offset centre of mass, as the throttle that it costs."""
    hubs = rotor_places(bench.craft)
    offset = (mass_properties(bench.craft).centre_of_mass_m - hubs.mean(axis=0))[:2] / MM
    where = f"{offset[0]:+.1f} mm forward, {offset[1]:+.1f} mm right of the rotors' middle"
    message = f"throttle that the most loaded rotor needs over the mean in hover, half charge; {where}"
    return at_most("centre_of_mass", lost_throttle_pct(bench), LOST_THROTTLE_PCT, "% throttle", message)


def mass_list(bench: Bench) -> Finding:
    """The scales against the list of parts."""
    properties = mass_properties(bench.craft)
    spread = properties.listed_mass_kg * bench.craft.mass.unlisted_pct.sigma / 100.0
    difference = (properties.weighed_difference_kg or 0.0) / GRAM
    message = f"scales {difference:+.0f} g against list and allowance; twice the allowance's uncertainty"
    return at_most("mass_list", abs(difference), 2.0 * spread / GRAM, "g", message)


def price(bench: Bench, budget: float) -> Finding:
    """All parts against a budget [EUR]."""
    return at_most("price", bench.craft.price, budget, "EUR", "all parts, against the budget")
