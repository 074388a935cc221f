"""A load that moves on its own: on a line below the craft, or let go."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from quadsim.config.airframe_estimate import BLUFF
from quadsim.config.flight_schema import AttachSection
from quadsim.config.mass_properties import Load
from quadsim.constants import G0
from quadsim.units import GRAM, MM

Array = NDArray[np.float64]
REST_DEPTH = 0.5e-3
"""Depth to which a load sinks into the ground it stands on [m]; assumed, as for the feet."""
GROUND_DAMPING = 0.7
"""Damping ratio of a load on the ground; assumed: a box hardly bounces."""
ACROSS = 1.2
"""Drag coefficient of a line across the wind, on its diameter [-]: a cylinder below the critical Reynolds number.
S. F. Hoerner, Fluid-Dynamic Drag (1965), ch. 3 (from memory)."""
FIXED_AT = (0.0, 0.0, 60.0)
"""Where a fixed load sits when nothing is said, from the frame's origin [mm]."""
CM2 = 1e-4


@dataclass(frozen=True)
class Line:
    """A line: hook (3,) from the frame's origin and length [m], [N/m], [N s/m], drag coefficient times area [m2]."""

    hook_m: Array
    length_m: float
    stiffness_N_m: float
    damping_N_s_m: float
    drag_area_m2: float


@dataclass(frozen=True)
class LooseLoad:
    """Mass [kg] with half its line, half the height of its box [m], drag area [m2], and its line if it hangs on one."""

    mass_kg: float
    half_height_m: float
    drag_area_m2: float
    line: Line | None = None


def fixed_load(attach: AttachSection) -> Load:
    """The rigid box of a payload that is fixed to the craft."""
    area, download = attach.drag_area_cm2, attach.download_pct
    return Load(
        mass_kg=attach.mass_g * GRAM,
        size_m=np.array(attach.size_mm) * MM,
        at_m=np.array(FIXED_AT if attach.at_mm is None else attach.at_mm) * MM,
        drag_area_m2=None if area is None else area * CM2,
        download=None if download is None else download / 100.0,
    )


def payload_of(mass_kg: float) -> list[Load]:
    """The fixed payload that a bare mass stands for, in the default box of a flight file; none for 0."""
    return [fixed_load(AttachSection(mass_g=mass_kg / GRAM))] if mass_kg > 0.0 else []


def upper_end(attach: AttachSection) -> Load:
    """What a line puts on the craft itself: whatever is at its upper end, and half of its own mass."""
    mass = (attach.hook_mass_g + attach.line_mass_g / 2.0) * GRAM
    download = (attach.download_pct or 0.0) / 100.0
    return Load(mass, np.zeros(3), np.array(attach.hook_mm) * MM, 0.0, download)


def loose_load(attach: AttachSection) -> LooseLoad:
    """The load of a payload on a line, or of one let go (then it has no line).

    The line stretches by `stretch_pct` under the weight: k = m g/(share L), c = 2 zeta sqrt(k m). At the default of
    0.05 % a pendulum's period is 0.025 % longer than on a rigid line, and the load bounces at sqrt(g/(share L)), 140 rad/s
    on one metre, 0.035 of a turn's radian in a step of 1/4000 s (classical Runge-Kutta is stable up to 2.8).
    """
    x, y, z = np.array(attach.size_mm) * MM
    area = BLUFF * (x * y + y * z + z * x) / 3.0  # the mean face: nobody knows how it turns
    mass = (attach.mass_g + attach.line_mass_g / 2.0) * GRAM
    if attach.drag_area_cm2 is not None:
        area = attach.drag_area_cm2 * CM2
    if attach.line_m is None:
        return LooseLoad(mass, z / 2.0, area)
    stiffness = mass * G0 / (attach.stretch_pct / 100.0 * attach.line_m)
    damping = 2.0 * attach.line_damping_ratio * float(np.sqrt(stiffness * mass))
    across = ACROSS * attach.line_diameter_mm * MM * attach.line_m
    line = Line(np.array(attach.hook_mm) * MM, attach.line_m, stiffness, damping, across)
    return LooseLoad(mass, z / 2.0, area, line)


def fill_loose_load(plant: Any, load: LooseLoad | None) -> None:
    """The load's rows of a PLANT record."""
    if load is None:
        return
    plant.load_mass, plant.load_half_height = load.mass_kg, load.half_height_m
    plant.load_drag_area = load.drag_area_m2
    plant.load_stiffness = load.mass_kg * G0 / REST_DEPTH
    plant.load_damping = 2.0 * GROUND_DAMPING * load.mass_kg * float(np.sqrt(G0 / REST_DEPTH))
    if load.line is not None:
        plant.hook[:] = load.line.hook_m - np.asarray(plant.centre_of_mass)
        plant.line_length, plant.line_stiffness = load.line.length_m, load.line.stiffness_N_m
        plant.line_damping, plant.line_drag_area = load.line.damping_N_s_m, load.line.drag_area_m2
