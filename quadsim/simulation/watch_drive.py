"""What the flight loop notices of the drive: warm motors, fast propellers, and the winding that ends a flight."""

from __future__ import annotations

from quadsim.dynamics.state import X
from quadsim.jit import inner, kernel
from quadsim.simulation.carried import Note, Status
from quadsim.simulation.notes import note

CASE_WARM, CASE_HOT = 338.15, 353.15
"""Case temperatures of 65 and 80 deg C [K]: to keep an eye on, and to land and let cool; common practice, no source."""


@inner
def _note_once(happens, kind, i, carried):
    """Note a kind the first time that it happens, with the rotor `i` that it happens to."""
    if happens and carried.said[kind - Note.CASE_WARM] == 0:
        carried.said[kind - Note.CASE_WARM] = 1
        note(carried, kind, float(i))


@kernel
def greatest(a):
    """The greatest of four numbers."""
    return max(max(a[0], a[1]), max(a[2], a[3]))


@kernel
def watch_drive(x, held, plant, carried):
    """Notice warm cases and magnets, loud tips, propellers beyond their limit; a winding beyond its limit ends the flight."""
    if plant.winding_heat <= 0.0:
        return
    if greatest(held.winding_temperature) > plant.winding_limit:
        for i in range(4):
            if held.winding_temperature[i] > plant.winding_limit:
                carried.status, carried.value = Status.OVERHEATED, float(i)
    warm = greatest(held.case_temperature) > min(CASE_WARM, plant.magnet_limit)
    fastest = max(max(x[X.ROTORS], x[X.ROTORS + 1]), max(x[X.ROTORS + 2], x[X.ROTORS + 3]))
    if warm or fastest > min(plant.loud_speed, plant.propeller_limit):
        _note_drive(x, held, plant, carried)


@inner
def _note_drive(x, held, plant, carried):
    for i in range(4):
        case, speed = held.case_temperature[i], x[X.ROTORS + i]
        _note_once(case > CASE_WARM, Note.CASE_WARM, i, carried)
        _note_once(case > CASE_HOT, Note.CASE_HOT, i, carried)
        _note_once(case > plant.magnet_limit, Note.MAGNETS_HOT, i, carried)
        _note_once(speed > plant.loud_speed, Note.TIP_LOUD, i, carried)
        _note_once(speed > plant.propeller_limit, Note.PROPELLER_FAST, i, carried)
