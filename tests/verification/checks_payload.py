"""Checks of a load on a line against values from outside; each takes the derivative function as its argument."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np
from checks import RATES, VELOCITY, near, rotation_of
from hand_made import G0, body, calm, rate, smooth_map, state, travel
from scipy.spatial.transform import Rotation

from quadsim.dynamics.state import X

LOAD, LOAD_VELOCITY = slice(X.LOAD_POSITION, X.LOAD_POSITION + 3), slice(X.LOAD_VELOCITY, X.LOAD_VELOCITY + 3)
STRETCH = 5e-4
"""Stretch under the load's weight, share of the length: the default of a flight file."""


def with_load(
    plant: Any, mass: float = 0.3, length: float = 1.0, hook: Any = (0.0, 0.0, 0.0), damping: float = 0.0
) -> Any:
    """Hang a load in still, weightless air below a plant: no drag, undamped unless said otherwise."""
    plant.load_mass, plant.line_length, plant.hook[:] = mass, length, hook
    plant.line_stiffness = mass * G0 / (STRETCH * length)
    plant.line_damping = 2.0 * damping * math.sqrt(plant.line_stiffness * mass)
    return plant


def hanging(x: np.ndarray, plant: Any, angle: float, pull: float) -> np.ndarray:
    """Put the load ahead (north) of a hook at the centre of mass, on a line at `angle` that is stretched by `pull` [N]."""
    length = plant.line_length + pull / plant.line_stiffness
    x[LOAD] = x[0:3] + length * np.array([math.sin(angle), 0.0, math.cos(angle)])
    return x


def swing_of(x: np.ndarray) -> np.ndarray:
    """Angle of the line, north positive [rad], rows of states with the hook at the centre of mass."""
    line = x[:, LOAD] - x[:, 0:3]
    return np.arctan2(line[:, 0], line[:, 2])


def period_of(times: np.ndarray, swing: np.ndarray) -> float:
    """Mean period from the downward crossings of zero, placed by a straight line between samples [s]."""
    k = np.flatnonzero((swing[:-1] > 0.0) & (swing[1:] <= 0.0))
    at = times[k] + (times[k + 1] - times[k]) * swing[k] / (swing[k] - swing[k + 1])
    return float(np.mean(np.diff(at)))


def swing(
    f: Callable, plant: Any, angle: float, lift: float, seconds: float
) -> tuple[np.ndarray, np.ndarray]:
    """Times and states of a swing from rest at `angle` with `lift` [N] straight up on the craft."""
    x = hanging(state(), plant, angle, plant.load_mass * G0 * math.cos(angle))

    def push(_x: np.ndarray) -> np.ndarray:
        added = np.zeros(x.size)
        added[X.VELOCITY + 2] = -lift / plant.mass
        return added

    times = np.linspace(0.0, seconds, 1 + round(seconds / 0.005))
    return times, travel(f, x, plant, calm(), times, push, tight=1e-7)


def swing_below_a_free_craft(f: Callable) -> None:
    """Period 2 pi sqrt(l/g / (1 + m/M)) = 1.8315928 s (1.5 kg craft, 0.3 kg load, 1 m); the craft moves m/(M+m) of the arc.

    Landau & Lifshitz, Mechanics, 3rd ed. (1976), sec. 5, problem 2 and sec. 14, problem 3. 0.1 % and 0.5 %: the line gives.
    """
    plant = with_load(body(mass=1.5))
    times, x = swing(f, plant, math.radians(1.0), 1.8 * G0, 2.5)
    near(period_of(times, swing_of(x)) / 1.8315927152316671, 1.0, 1e-3)
    ratio = np.ptp(x[:, 0]) / np.ptp(plant.line_length * swing_of(x))
    near(ratio / 0.16666666666666666, 1.0, 5e-3)
    momentum = 1.5 * x[:, X.VELOCITY] + 0.3 * x[:, X.LOAD_VELOCITY]
    near(momentum, np.zeros(len(x)), 1e-5)


def swing_below_a_fixed_point(f: Callable) -> None:
    """Small swing below a craft of 1e9 kg: 2 pi sqrt(l/g) = 2.0064093 s; from 30 deg: 4 sqrt(l/g) K(sin 15) = 2.0413385 s.

    Landau & Lifshitz, Mechanics, 3rd ed. (1976), sec. 11, problem 1. 0.05 %: half of it is the line's stretch.
    """
    plant = with_load(body(mass=1e9))
    for angle, period in ((1.0, 2.0064092925890407), (30.0, 2.0413384658583684)):
        times, x = swing(f, plant, math.radians(angle), 1e9 * G0, 2.7)
        near(period_of(times, swing_of(x)) / period, 1.0, 5e-4)


def towed_at_one_metre_per_second_squared(f: Callable) -> None:
    """Steady tow at 1 m/s2: the line trails at atan(a/g) = 5.8224183 deg with m sqrt(g^2 + a^2) = 2.9572512 N (Newton)."""
    plant, held = with_load(body(mass=1.5)), calm()
    angle, pull = math.radians(5.8224182741762585), 2.9572511864948163
    x = hanging(state(), plant, -angle, pull)

    def push(_x: np.ndarray) -> np.ndarray:
        added = np.zeros(x.size)
        added[X.VELOCITY], added[X.VELOCITY + 2] = 1.8 / 1.5, -1.8 * G0 / 1.5
        return added

    dx = rate(f, x, plant, held) + push(x)
    near(held.line_tension, pull, 1e-9)
    near(dx[VELOCITY], (1.0, 0.0, 0.0), 1e-9)
    near(dx[LOAD_VELOCITY], (1.0, 0.0, 0.0), 1e-9)
    later = travel(f, x, plant, held, (1.0, 2.0), push, tight=1e-8)
    near(np.degrees(swing_of(later)), np.full(2, -5.8224182741762585), 1e-3)


def line_pulls_at_its_hook(f: Callable) -> None:
    """All forces of a taut line on a turning, tilted craft, by numpy: N = k s + c ds/dt at the hook and, reversed, on the load.

    Newton's third law holds them together: M a + m b = (M + m) g.
    """
    hook, mass = np.array([0.04, -0.03, 0.05]), 0.3
    plant = with_load(body(mass=1.5), mass, 0.8, hook, damping=0.1)
    attitude, rates = Rotation.from_euler("zyx", (0.5, 0.3, -0.4)), np.array([1.0, 2.0, -1.5])
    velocity, moving = np.array([1.0, -2.0, 0.5]), np.array([1.4, -1.5, 1.5])
    x = state(velocity=velocity, quaternion=np.roll(attitude.as_quat(), 1), rates=rates)
    along = np.array([0.3, -0.2, 0.9])
    along /= np.linalg.norm(along)
    stretch = 0.002
    x[LOAD] = x[0:3] + attitude.apply(hook) + (0.8 + stretch) * along
    x[LOAD_VELOCITY] = moving
    at_hook = velocity + attitude.apply(np.cross(rates, hook))
    tension = plant.line_stiffness * stretch + plant.line_damping * along @ (moving - at_hook)
    held = calm()
    dx = rate(f, x, plant, held)
    gravity = np.array([0.0, 0.0, G0])
    near(held.line_tension, tension, 1e-9)
    near(dx[VELOCITY], gravity + tension * along / 1.5, 1e-8)
    near(dx[LOAD_VELOCITY], gravity - tension * along / mass, 1e-8)
    inertia = np.diag(plant.inertia)
    moment = np.cross(hook, attitude.inv().apply(tension * along)) - np.cross(rates, inertia * rates)
    near(dx[RATES], moment / inertia, 1e-7)
    near(dx[LOAD], moving, 1e-12)


def slack_line_pulls_nothing(f: Callable) -> None:
    """A line can only pull: nearer than its length, however it opens, or shortening fast, both fall freely (Newton)."""
    plant, held = with_load(body(mass=1.5), damping=0.1), calm()
    for stretch, opening in ((-0.3, 0.0), (-1e-5, 2.0), (1e-5, -2.0)):
        x = state()
        x[LOAD] = x[0:3] + np.array([0.0, 0.0, 1.0 + stretch])
        x[X.LOAD_VELOCITY + 2] = opening
        dx = rate(f, x, plant, held)
        near(held.line_tension, 0.0, 1e-12)
        near(dx[VELOCITY], (0.0, 0.0, G0), 1e-9)
        near(dx[LOAD_VELOCITY], (0.0, 0.0, G0), 1e-9)


def wind_on_line_and_load(f: Callable) -> None:
    """Drag -rho/2 A |V| V of the load, and of a line across the wind, half at each end; along the line there is none.

    Cross-flow principle: Hoerner, Fluid-Dynamic Drag (1965), ch. 3. In a crosswind w a light load trails at
    tan(angle) = drag/weight.
    """
    plant, held = with_load(body(mass=1.5)), calm(wind=(6.0, 0.0, 2.0))
    plant.load_drag_area, plant.line_drag_area = 0.005, 0.0024
    x = hanging(state(), plant, 0.0, 0.3 * G0)
    dx = rate(f, x, plant, held)
    through = np.array([-6.0, 0.0, -2.0])
    load = -0.5 * 1.225 * 0.005 * np.linalg.norm(through) * through
    line = np.array([0.5 * 1.225 * 0.0024 * 36.0, 0.0, 0.0])
    near(dx[LOAD_VELOCITY], (load + line / 2.0) / 0.3, 1e-9)
    near(dx[VELOCITY], (line / 2.0 + (0.0, 0.0, 0.3 * G0)) / 1.5 + (0.0, 0.0, G0), 1e-9)


def load_stands_on_the_ground(f: Callable) -> None:
    """A load at rest on the ground is carried by it; one that slides is braked with mu m g (Coulomb), one that sinks, too."""
    plant, held = with_load(body(mass=1.5)), calm()
    plant.load_half_height, plant.load_stiffness, plant.load_damping, plant.friction = 0.05, 3000.0, 20.0, 0.6
    x = state(position=(0.0, 0.0, -0.6))
    depth = 0.3 * G0 / 3000.0
    x[LOAD] = (0.2, 0.0, depth - 0.05)
    dx = rate(f, x, plant, held)
    near(dx[LOAD_VELOCITY], np.zeros(3), 1e-9)
    near(held.load_contact, 0.3 * G0, 1e-9)
    x[LOAD], x[LOAD_VELOCITY] = (0.2, 0.0, 0.002 - 0.05), (3.0, -4.0, 0.1)
    normal = 3000.0 * 0.002 + 20.0 * 0.1
    dx = rate(f, x, plant, held)
    expected = np.array([-0.6 * 0.6 * normal, 0.8 * 0.6 * normal, 0.3 * G0 - normal]) / 0.3
    near(dx[LOAD_VELOCITY], expected, 1e-9)


def release_at_hover(f: Callable) -> None:
    """1.5 kg craft with 0.3 kg on a line in hover: let go, it accelerates upwards with m g/M = 1.96133 m/s2 (Newton).

    Before, a hook 0.04 m ahead of the centre of mass needs 0.1176798 N m of nose-up moment.
    """
    plant, held = with_load(body(mass=1.5), hook=(0.04, 0.0, 0.0)), calm()
    x = hanging(state(), plant, 0.0, 0.3 * G0)
    x[X.LOAD_POSITION] += 0.04
    hover = np.array([0.0, 0.0, -1.8 * G0 / 1.5])
    dx = rate(f, x, plant, held)
    near(dx[VELOCITY] + hover, np.zeros(3), 1e-9)
    near(dx[RATES] * np.diag(plant.inertia), (0.0, -0.1176798, 0.0), 1e-9)
    plant.line_stiffness = 0.0
    dx = rate(f, x, plant, held)
    near(dx[VELOCITY] + hover, (0.0, 0.0, -1.96133), 1e-9)
    near(dx[RATES], np.zeros(3), 1e-12)
    near(dx[LOAD_VELOCITY], (0.0, 0.0, G0), 1e-12)


def download_lowers_the_thrust(f: Callable) -> None:
    """A rotor that loses a share of its thrust to a box below it: T = (1 - share) CT rho n^2 D^4 (definition of the share)."""
    plant = body(mass=1.5)
    smooth_map(plant, (0.1, 0.0, 0.0, 0.0), (0.0,) * 4)
    plant.download[:] = (0.1, 0.0, 0.0, 0.2)
    dx = rate(f, state(rotors=500.0), plant, calm())
    thrust = 0.1 * 1.225 * (500.0 / (2.0 * math.pi)) ** 2 * 0.2**4
    near(dx[VELOCITY], (0.0, 0.0, G0 - 3.7 * thrust / 1.5), 1e-9)


def energy_of_a_bouncing_load_stays(f: Callable) -> None:
    """A load dropped 3 cm into an undamped line, past slack and taut, keeps energy, momentum and its fall (conservation laws)."""
    plant, held = with_load(body(mass=1.5)), calm()
    x = state(quaternion=(1.0, 0.0, 0.0, 0.0))
    x[LOAD] = x[0:3] + np.array([0.1, 0.05, 0.95])
    x[X.LOAD_VELOCITY + 2] = 0.4
    times = np.linspace(0.0, 0.6, 61)
    rows = travel(f, x, plant, held, times, tight=1e-11)
    stretch = np.maximum(np.linalg.norm(rows[:, LOAD] - rows[:, 0:3], axis=1) - 1.0, 0.0)
    assert np.any(stretch == 0.0)
    assert np.any(stretch > 1e-3)
    kinetic = 0.75 * np.sum(rows[:, VELOCITY] ** 2, axis=1) + 0.15 * np.sum(
        rows[:, LOAD_VELOCITY] ** 2, axis=1
    )
    height = 1.5 * rows[:, 2] + 0.3 * rows[:, X.LOAD_POSITION + 2]
    energy = kinetic + 0.5 * plant.line_stiffness * stretch**2 - G0 * (height - height[0])
    near(energy, np.full(len(times), energy[0]), 1e-5)
    momentum = 1.5 * rows[:, VELOCITY] + 0.3 * rows[:, LOAD_VELOCITY]
    near(momentum, momentum[0] + np.outer(times, (0.0, 0.0, 1.8 * G0)), 1e-7)
    near(rotation_of(rows[-1]).as_matrix(), np.eye(3), 1e-12)
