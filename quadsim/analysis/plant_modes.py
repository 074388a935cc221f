"""Modes of the craft with its motor commands held: what it does by itself."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from quadsim.analysis.linear_plant import L, LinearPlant

STILL = 1e-3
"""Below this an eigenvalue is a place or a heading that nothing moves back [1/s]."""

_PARTS = {
    "roll": (L.TURN,),
    "pitch": (L.TURN + 1,),
    "heading": (L.TURN + 2,),
    "roll rate": (L.RATES,),
    "pitch rate": (L.RATES + 1,),
    "yaw rate": (L.RATES + 2,),
    "speed ahead": (L.VELOCITY,),
    "speed sideways": (L.VELOCITY + 1,),
    "climb": (L.VELOCITY + 2,),
    "place": (L.POSITION, L.POSITION + 1, L.POSITION + 2),
    "rotor speeds": (L.ROTORS, L.ROTORS + 1, L.ROTORS + 2, L.ROTORS + 3),
}


@dataclass(frozen=True)
class PlantMode:
    """One mode.

    moves : what takes part most, in words
    time_s : time constant of its growth or decay [s], infinite for none
    frequency_Hz : of its oscillation, 0 for none
    grows : True for an unstable one
    """

    moves: str
    time_s: float
    frequency_Hz: float
    grows: bool


def plant_modes(plant: LinearPlant) -> list[PlantMode]:
    """Modes of the plant, fastest first, oscillations once; places and headings that just stay are left out.

    What takes part is told by participation factors, left times right eigenvector (I. J. Perez-Arriaga, G. C. Verghese,
    F. C. Schweppe, IEEE Trans. Power Apparatus and Systems PAS-101, 1982; from memory).
    """
    values, right = np.linalg.eig(plant.a)
    share = np.abs(right * np.linalg.pinv(right).T)
    found = []
    for k in np.argsort(-np.abs(values)):
        value = values[k]
        if abs(value) < STILL or value.imag < 0.0:
            continue
        parts = {name: float(sum(share[i, k] for i in index)) for name, index in _PARTS.items()}
        first, second = sorted(parts, key=lambda name: -parts[name])[:2]
        moves = first if parts[second] < 0.5 * parts[first] else f"{first}, {second}"
        time = math.inf if value.real == 0.0 else 1.0 / abs(value.real)
        found.append(PlantMode(moves, time, abs(value.imag) / (2.0 * math.pi), bool(value.real > STILL)))
    return found
