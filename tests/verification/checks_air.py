"""Checks of what craft and ground do to a rotor's thrust; each takes the derivative function as its argument."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
from checks import near
from hand_made import body, calm, rate, smooth_map, state

SPEED, RADIUS, DENSITY = 600.0, 0.1, 1.225
FREE = 0.1 * DENSITY * (SPEED / (2.0 * math.pi)) ** 2 * 0.2**4
"""Thrust of the free rotor [N]: CT = 0.1 everywhere."""


def _thrusts(f: Callable, height: float, ahead: float, up: float = 0.0) -> np.ndarray:
    """Thrusts over the free ones of four rotors 0.02 m above a centre of mass at a height [m], moving through still air."""
    plant = body()
    smooth_map(plant, (0.1, 0.0, 0.0, 0.0), (0.0,) * 4)
    plant.installed_loss, plant.per_disc_mass = 0.1, 1.0 / (2.0 * DENSITY * math.pi * RADIUS**2)
    plant.beside, plant.across = 0.32, 0.32 * math.sqrt(2.0)
    plant.feet[:, 2] = 0.0
    held = calm()
    x = state(position=(0.0, 0.0, -height), velocity=(ahead, 0.0, -up), rotors=SPEED)
    rate(f, x, plant, held)
    return np.asarray(held.thrust) / FREE


def installed_loss_fades(f: Callable) -> None:
    """10 % in hover and climb; in level wind 65 % of it goes with the square of the sine of the wake's skew, tan = V/v_i,
    v_i by Glauert, ARC R&M 1111 (1926). That share is fitted (see LOSS_SWEPT_AWAY)."""
    near(_thrusts(f, 500.0, 0.0), [0.9] * 4, 1e-9)
    near(_thrusts(f, 500.0, 0.0, up=5.0), [0.9] * 4, 1e-9)
    fourth = (FREE / (2.0 * DENSITY * math.pi * RADIUS**2)) ** 2
    induced = math.sqrt(-18.0 + math.sqrt(18.0**2 + fourth))
    skew = math.atan2(6.0, induced)
    near(_thrusts(f, 500.0, 6.0), [1.0 - 0.1 * (1.0 - 0.65 * math.sin(skew) ** 2)] * 4, 1e-9)


def loss_in_a_climb(f: Callable) -> None:
    """Climbing at 5 m/s and 6 m/s ahead the wake is swept back less: tan^2 of the skew = V^2/(Vc^2 + v_i^2), assumed."""
    fourth = (FREE / (2.0 * DENSITY * math.pi * RADIUS**2)) ** 2
    induced = math.sqrt(-18.0 + math.sqrt(18.0**2 + fourth))
    skew = math.atan2(6.0, math.hypot(5.0, induced))
    near(_thrusts(f, 500.0, 6.0, up=5.0), [1.0 - 0.1 * (1.0 - 0.65 * math.sin(skew) ** 2)] * 4, 1e-9)


def ground_lifts(f: Callable) -> None:
    """Hub two radii up: the formula of Sanchez-Cuevas, Heredia & Ollero (2017) in numpy, with K_b = 0.5; 0.3 % of the gain."""
    r, z, d, b = RADIUS, 0.2, 0.32, 0.32 * math.sqrt(2.0)
    share = (
        (r / (4 * z)) ** 2 + r**2 * z / (d**2 + 4 * z**2) ** 1.5 + r**2 / 2 * z / (2 * d**2 + 4 * z**2) ** 1.5
    )
    share += 2 * r**2 * z / (b**2 + 4 * z**2) ** 1.5 * 0.5
    near(_thrusts(f, 0.18, 0.0), [0.9 / (1.0 - share)] * 4, 3e-4)
