"""What the flight loop notices once a millisecond: the ground, a load, the own wake, and what ends a flight."""

from __future__ import annotations

import math

from quadsim.dynamics.battery import weak_charge
from quadsim.dynamics.ground import body_upright, kinetic_energy, lowest_tip
from quadsim.dynamics.state import X
from quadsim.dynamics.vortex_ring import hold_descent_ratios, in_vortex_ring
from quadsim.jit import inner, kernel
from quadsim.simulation.carried import Note, Status
from quadsim.simulation.notes import note
from quadsim.simulation.watch_drive import watch_drive

NEAR_GROUND = 1.0
"""Height of the centre of mass below which strikes are looked for [m]."""
FAST = 1e4
"""Rate or speed beyond which a flight counts as diverged [rad/s, m/s]."""
RING_LOOKS = 100
"""Looks (one per millisecond) in a row inside the vortex-ring state that make it an event; assumed."""
BOUNCE_LOOKS = 100
"""Looks (one per millisecond) off the ground that make the next contact a new touch-down; assumed."""
LYING = math.cos(math.radians(65.0))
"""Cosine of the tilt beyond which a craft that touches the ground lies on its side or back; assumed."""
LYING_LOOKS = 300
"""Looks (one per millisecond) in which it must do so; assumed."""
STRIKING = 5.0
"""Speed of the blade tips below which a propeller that touches the ground only stops [m/s]; assumed."""


@inner
def watch_ground(x, held, plant, carried):
    """Notice lift-off, touch-down, crash, tip-over and propeller strike near the ground."""
    sink = x[X.VELOCITY + 2]
    energy = kinetic_energy(x, plant)
    if held.contact_force > 0.0:
        if carried.touching == 0 and carried.clear_looks > BOUNCE_LOOKS:
            impact = max(sink, carried.sink)  # the feet may have braked it since the last look
            energy = max(energy, carried.energy)
            note(carried, Note.TOUCH_DOWN, impact, energy)
            if impact > plant.crash_speed:
                carried.status, carried.value = Status.CRASHED, impact
        carried.touching, carried.clear_looks = 1, 0
    else:
        carried.clear_looks += 1
        if carried.touching == 1 and carried.clear_looks > BOUNCE_LOOKS:
            note(carried, Note.LIFT_OFF, 0.0)
            carried.touching = 0
    carried.sink, carried.energy = sink, energy
    upright = body_upright(x)
    carried.lying_looks = carried.lying_looks + 1 if carried.touching == 1 and upright < LYING else 0
    if carried.lying_looks > LYING_LOOKS:
        carried.status, carried.value = Status.TIPPED_OVER, math.acos(max(upright, -1.0))
    if lowest_tip(x, plant, STRIKING / plant.rotor_radius) < 0.0:
        speed = math.sqrt(x[X.VELOCITY] ** 2 + x[X.VELOCITY + 1] ** 2 + sink**2)
        carried.status, carried.value = Status.PROPELLER_STRIKE, speed


@inner
def watch_descent(x, held, plant, carried):
    """Notice that the craft has sunk in its own wake for a tenth of a second."""
    hold_descent_ratios(x, held, plant)
    inside = in_vortex_ring(held.descent_ratio, held.edgewise_ratio)
    carried.ring_looks = carried.ring_looks + 1 if inside else 0
    if carried.ring_looks == RING_LOOKS:
        note(carried, Note.VORTEX_RING, held.descent_ratio)


@inner
def watch_load(x, held, plant, carried):
    """Notice that a load leaves the ground or comes down on it, and that its line gets taut or slack."""
    sink = x[X.LOAD_VELOCITY + 2]
    if held.load_contact > 0.0:
        if carried.load_touching == 0:
            note(carried, Note.LOAD_TOUCH_DOWN, max(sink, carried.load_sink))
        carried.load_touching, carried.load_clear_looks = 1, 0
    else:
        carried.load_clear_looks += 1
        if carried.load_touching == 1 and carried.load_clear_looks > BOUNCE_LOOKS:
            note(carried, Note.LOAD_LIFT_OFF, 0.0)
            carried.load_touching = 0
    carried.load_sink = sink
    held.line_peak = max(held.line_peak, held.line_tension)
    if held.line_tension > 0.0:
        if carried.line_taut == 0:
            note(carried, Note.LINE_TAUT, 0.0)
        carried.line_taut, carried.line_slack_looks = 1, 0
    else:
        carried.line_slack_looks += 1
        if carried.line_taut == 1 and carried.line_slack_looks > BOUNCE_LOOKS:
            if plant.line_stiffness > 0.0:
                note(carried, Note.LINE_SLACK, 0.0)
            carried.line_taut = 0


@kernel
def watch(x, held, plant, carried):
    """Set the status when the flight must end."""
    watch_drive(x, held, plant, carried)
    size = 0.0
    for k in range(x.size):
        size += abs(x[k]) if (X.VELOCITY <= k < X.ROTORS) else 0.0 * x[k]
    if not size < FAST:
        carried.status = Status.DIVERGED
    elif min(x[X.CHARGE], weak_charge(x[X.CHARGE], held.cell_shortfall)) <= 0.0:
        carried.status = Status.BATTERY_EMPTY
    watch_descent(x, held, plant, carried)
    if plant.load_mass > 0.0:
        watch_load(x, held, plant, carried)
    if x[X.POSITION + 2] > -NEAR_GROUND:
        watch_ground(x, held, plant, carried)
    else:
        carried.touching, carried.clear_looks, carried.lying_looks = 0, carried.clear_looks + 1, 0
