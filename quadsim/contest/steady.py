"""Steady level or climbing flight of a crowd of craft: tilt, rotor speed, what the heaviest loaded rotor needs.

One mean rotor carries a quarter. In body axes, nose down by alpha at airspeeds V ahead and c up,
    u = V cos a - c sin a,  w = V sin a + c cos a,   m g sin a = X(u, w),   4 T = m g cos a + Z(u, w)
with X the drag of airframe, rotors and slipstreams in the rotors' plane and Z that along the shafts. The same map, loss and
drag as the flight (quadsim.dynamics.propulsion); the craft's trim moment is shared out between front and rear rotors.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from quadsim.contest.crossing import last_kept
from quadsim.contest.crowd import Crowd
from quadsim.dynamics.interference import LOSS_SWEPT_AWAY

Array = NDArray[np.float64]

LEVEL = 3e-3
"""Greatest force along the discs that may be left, over the weight: more is no steady flight."""
STEEPEST = math.radians(89.0)
"""Greatest tilt that is looked at."""
HALVINGS = 30
"""Of the range of the tilt: 1.4e-9 rad are left, so that what rests on it is smooth in what it depends on."""
EARLY = 6
"""The first tilts that are tried lie so far apart that the rotor speed takes more steps to follow."""
COUPLED = 3
"""Rounds in which acceleration and rotor speed find each other; the last changes the acceleration by less than 1 %."""
FOUND = 1e-9
"""Change of a rotor speed, as a share, at which its search ends."""
LEAST_LIFT = 0.05
"""Least thrust over weight for which the rotors' drag is looked up; assumed."""


@dataclass(frozen=True)
class Trim:
    """Steady flight, one row per craft; NaN where there is none.

    tilt : nose down [rad]; thrust : of the mean rotor [N]; rotor_speed : [rad/s]; torque : of the mean rotor [N m]
    worst_speed, worst_torque : of the rotor that carries most; least_share : thrust of the one that carries least over the mean
    flow_squared : of the air past a motor, induced and own [m2/s2]
    """

    tilt: Array
    thrust: Array
    rotor_speed: Array
    torque: Array
    worst_speed: Array
    worst_torque: Array
    least_share: Array
    flow_squared: Array


def trim(crowd: Crowd, mass: Array, forward: Array | float = 0.0, climb: Array | float = 0.0) -> Trim:
    """Steady flight at masses [kg] with airspeeds ahead and up [m/s]."""
    v, c = np.broadcast_to(forward, mass.shape), np.broadcast_to(climb, mass.shape)
    weight = mass * crowd.gravity
    speed = np.sqrt(weight / 4.0 / _static(crowd))
    tilt = np.zeros_like(mass)
    if np.any(v != 0.0):
        tilt, speed = _lean(crowd, weight, v, c, speed)
    u, w = v * np.cos(tilt) - c * np.sin(tilt), v * np.sin(tilt) + c * np.cos(tilt)
    thrust = (weight * np.cos(tilt) + _along(crowd, u, w)) / 4.0
    speed = _speed_for(crowd, thrust, w, u, speed, 8)
    return _trim(crowd, weight, tilt, thrust, speed, u, w)


def _lean(crowd: Crowd, weight: Array, v: Array, c: Array, speed: Array) -> tuple[Array, Array]:
    """Tilt [rad] at which the weight's share along the discs outweighs the drag, and the rotor speed there [rad/s]."""
    spun, tried = speed, 0

    def dragged(tilt: Array) -> Array:
        nonlocal spun, tried
        u, w = v * np.cos(tilt) - c * np.sin(tilt), v * np.sin(tilt) + c * np.cos(tilt)
        wanted = weight * np.cos(tilt) + _along(crowd, u, w)
        spun = _speed_for(crowd, wanted / 4.0, w, u, spun, 6 if tried < EARLY else 3)
        tried += 1
        return np.asarray(_across(crowd, spun, u, w) / weight - np.sin(tilt))

    tilt = last_kept(dragged, np.zeros_like(weight), np.full_like(weight, STEEPEST), HALVINGS)
    return tilt, spun


def level_acceleration(crowd: Crowd, tilt: Array, forward: Array) -> Array:
    """Acceleration ahead [m/s2] at a tilt nose down [rad] and an airspeed ahead [m/s], height held.

    In body axes, with X and Z as above: m a cos(tilt) = m g sin(tilt) - X(u, w), 4 T = m g cos(tilt) + m a sin(tilt) + Z(u, w).
    Where the rotors would have to pull down, a craft that brakes hard windmills and climbs instead: taken as LEAST_LIFT.
    """
    weight = crowd.mass * crowd.gravity
    u, w = forward * np.cos(tilt), forward * np.sin(tilt)
    speed = np.sqrt(weight / 4.0 / _static(crowd))
    ahead = np.zeros_like(weight)
    for _ in range(COUPLED):
        lift = weight * np.cos(tilt) + crowd.mass * ahead * np.sin(tilt) + _along(crowd, u, w)
        speed = _speed_for(crowd, np.maximum(lift, LEAST_LIFT * weight) / 4.0, w, u, speed, 6)
        ahead = (weight * np.sin(tilt) - _across(crowd, speed, u, w)) / (crowd.mass * np.cos(tilt))
    return np.asarray(ahead)


def _trim(crowd: Crowd, weight: Array, tilt: Array, thrust: Array, speed: Array, u: Array, w: Array) -> Trim:
    uneven = _uneven(crowd, thrust, speed, u, w)
    share = 1.0 + uneven
    worst = _speed_for(crowd, thrust * share, w, u, speed * np.sqrt(share), 4)
    off = np.abs(4.0 * _rotor_thrust(crowd, speed, w, u) - 4.0 * thrust) > 1e-3 * 4.0 * thrust
    level = weight * np.sin(tilt)
    off |= np.abs(_across(crowd, speed, u, w) - level) > LEVEL * weight
    lost = off | (thrust <= 0.0) | (tilt > STEEPEST - 1e-3)
    flow = thrust * crowd.per_disc_mass + u * u + w * w

    def kept(values: Array) -> Array:
        return np.where(lost, np.nan, values)

    torques = [_torque(crowd, one, w, u) for one in (speed, worst)]
    return Trim(*map(kept, (tilt, thrust, speed, torques[0], worst, torques[1], 1.0 - uneven, flow)))


def _static(crowd: Crowd) -> Array:
    """Thrust over speed squared of standing rotors [N s2], a start for the search."""
    still = np.zeros(len(crowd))
    ct = crowd.coefficient(0, crowd.map_speed, still, still)
    return ct * _force(crowd) * (1.0 - crowd.installed_loss) * (1.0 - crowd.download)


def _force(crowd: Crowd) -> Array:
    """rho D^4/(4 pi^2) [kg m]: force per coefficient and speed squared."""
    return np.asarray(4.0 * crowd.air_density * crowd.rotor_radius**4 / math.pi**2)


def _rotor_thrust(crowd: Crowd, speed: Array, axial: Array, inplane: Array) -> Array:
    """Thrust of one rotor [N] on the craft, loss by airframe and payload taken off."""
    free = _force(crowd) * crowd.coefficient(0, speed, axial, inplane) * speed**2
    hover = np.maximum(free, 0.0) * crowd.per_disc_mass
    half = 0.5 * inplane * inplane
    r = half + np.sqrt(half * half + hover * hover)
    along, up = inplane * inplane * r, np.maximum(axial, 0.0)
    left = 1.0 - LOSS_SWEPT_AWAY * along / np.maximum(along + up * up * r + hover * hover, 1e-9)
    return np.asarray(free * (1.0 - crowd.installed_loss * left) * (1.0 - crowd.download))


def _torque(crowd: Crowd, speed: Array, axial: Array, inplane: Array) -> Array:
    """Aerodynamic torque of one rotor [N m]."""
    cp = crowd.coefficient(1, speed, axial, inplane)
    return np.asarray(_force(crowd) * crowd.rotor_radius / math.pi * cp * speed**2)


def _speed_for(crowd: Crowd, thrust: Array, axial: Array, inplane: Array, speed: Array, steps: int) -> Array:
    """Rotor speed [rad/s] of a thrust [N] in moving air, in logarithms: Newton, then secants, at most a factor 1.5 a step;
    ends early where every row is found."""
    wanted = np.log(np.maximum(thrust, 1e-6))

    def left(speed: Array) -> Array:
        return np.asarray(wanted - np.log(np.maximum(_rotor_thrust(crowd, speed, axial, inplane), 1e-9)))

    now = left(speed)
    slope = np.clip((now - left(speed * 1.01)) / math.log(1.01), 1.0, 50.0)
    for k in range(steps):
        step = np.minimum(np.maximum(now / slope, -0.4), 0.4)
        speed = speed * np.exp(step)
        far = np.abs(step) > FOUND
        if k == steps - 1 or not far.any():
            break
        before, now = now, left(speed)
        secant = np.minimum(np.maximum((before - now) / np.where(far, step, 1.0), 1.0), 50.0)
        slope = np.where(far, secant, slope)
    return speed


def _pressure(crowd: Crowd, u: Array, w: Array) -> Array:
    return np.asarray(0.5 * crowd.air_density * np.hypot(u, w))


def _along(crowd: Crowd, u: Array, w: Array) -> Array:
    """Drag of the airframe along the shafts [N], downward."""
    return np.asarray(_pressure(crowd, u, w) * crowd.drag_area[:, 2] * w)


def _in_plane(crowd: Crowd, speed: Array, u: Array, w: Array) -> Array:
    """Backward force of one rotor and its slipstream [N]."""
    moving = _force(crowd) * speed**2
    found = crowd.coefficients(speed, w, np.abs(u))
    blown = crowd.slipstream_drag * np.sqrt(np.maximum(moving * found[:, 0], 0.0))
    return np.asarray(np.sign(u) * moving * found[:, 2] + blown * u)


def _across(crowd: Crowd, speed: Array, u: Array, w: Array) -> Array:
    """All drag in the rotors' plane [N], backward."""
    return 4.0 * _in_plane(crowd, speed, u, w) + _pressure(crowd, u, w) * crowd.drag_area[:, 0] * u


def _uneven(crowd: Crowd, thrust: Array, speed: Array, u: Array, w: Array) -> Array:
    """By what share of the mean the most loaded rotor carries more: moments about the centre of mass and its offset."""
    hubs, drag = crowd.hubs, crowd.drag_centre
    arms = np.mean(np.abs(hubs - hubs.mean(axis=1, keepdims=True)), axis=1)
    pressure = _pressure(crowd, u, w)
    back, down = pressure * crowd.drag_area[:, 0] * u, pressure * crowd.drag_area[:, 2] * w
    found = crowd.coefficients(speed, w, np.abs(u))
    hub = _force(crowd) * 2.0 * crowd.rotor_radius * speed**2 * np.sign(u) * found[:, 4]
    pitch = 4.0 * hub - 4.0 * hubs[:, :, 2].mean(axis=1) * _in_plane(crowd, speed, u, w)
    pitch += 4.0 * thrust * hubs[:, :, 0].mean(axis=1) - drag[:, 2] * back - drag[:, 0] * down
    roll = 4.0 * thrust * hubs[:, :, 1].mean(axis=1)
    total = np.maximum(4.0 * thrust, 1e-9)
    return np.asarray(np.abs(pitch) / (total * arms[:, 0]) + np.abs(roll) / (total * arms[:, 1]))


def spinning(crowd: Crowd, speed: Array, axial: Array, inplane: Array) -> Trim:
    """Rotors at speeds [rad/s] in a flow along and across [m/s], all four alike, whatever the craft then does."""
    thrust, torque = _rotor_thrust(crowd, speed, axial, inplane), _torque(crowd, speed, axial, inplane)
    flow = np.maximum(thrust, 0.0) * crowd.per_disc_mass + axial * axial + inplane * inplane
    even = np.ones_like(speed)
    return Trim(0.0 * even, thrust, speed, torque, speed, torque, even, flow)
