"""Blade-element momentum theory of a rotor in axial and in-plane flow, vectorised over many flight points.

Speeds are in units of n D (revolutions per second times diameter), so a point is (axial, inplane) advance
ratio and the results are propeller coefficients. Rigid blades. The induced flow of each annulus is uniform
over the azimuth for thrust, power and in-plane force; the hub moments take its first harmonic in too.

References
----------
J. G. Leishman, Principles of Helicopter Aerodynamics, 2nd ed. (Cambridge, 2006), ch. 3 (blade element
momentum).
H. Glauert, A General Theory of the Autogyro, ARC R&M 1111 (1926): v_i = T / (2 rho A V') also in forward
flight.
First harmonic of the induced flow: J. M. Drees, J. Helicopter Assoc. of Great Britain 3 (1949) 79, as in
Leishman (2006), ch. 3 (form from memory).
Tip loss: L. Prandtl's factor as in Leishman (2006), ch. 3 (form from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from quadsim.dynamics.inflow import WAKE_KNOTS, wake_flow_ratio

Array = NDArray[np.float64]

AIR_KINEMATIC_VISCOSITY = 1.461e-5
"""Kinematic viscosity of air at sea level [m2/s]. ICAO Doc 7488 (1993)."""
REYNOLDS_REFERENCE = 1.0e5
"""Chord Reynolds number at which a Section is stated [-]. Our choice."""
ROOT = 0.15
"""Radius where the blade starts, as a fraction of the tip radius: where the measured geometries start."""
N_RADIUS = 14
"""Gauss-Legendre stations along the blade; 28 change the map by 0.2 % of static CT and CP (median), 0.4 % (95
%)."""
N_AZIMUTH = 8
"""Azimuth stations on half a turn (the halves fore and aft are alike); 16 change the map by under 0.1 % of
static CT."""
INFLOW_LIMIT = 1.5
"""Bracket of the induced velocity [n D]; beyond any state inside the map."""
_BISECTIONS = 16
_PROBE = 1e-4
"""Step of the induced velocity [n D] for the slope of the lift."""
_STILL = 1e-24
"""Keeps a division finite where an element meets no air; far below any value that matters."""

_WAKE_TABLE_END = WAKE_KNOTS[-1][0]


@dataclass(frozen=True)
class Section:
    """A thin blade section with soft stall and a Reynolds trend, angles from the zero-lift line.

    cl = cl_max x / sqrt(1 + x^2) * cos(alpha), x = lift_slope sin(alpha) / cl_max
    cd = drag_zero (1e5 / Re)^drag_reynolds + drag_angle sin(alpha)^2
    and the lift slope and cl_max scale with (Re / 1e5)^lift_reynolds. Sines make the section periodic, so
    reversed flow needs no case of its own and a plate at 90 deg has cd = drag_angle.
    """

    lift_slope: float
    cl_max: float
    drag_zero: float
    drag_angle: float
    lift_reynolds: float
    drag_reynolds: float


@dataclass(frozen=True)
class Blade:
    """Blade geometry at the radial stations.

    radius, chord : (n,) over the tip radius [-]; twist : (n,) from the plane of rotation to the zero-lift
    line [rad];
    weight : (n,) quadrature weights over radius; blades : count; diameter : [m].
    """

    radius: Array
    chord: Array
    twist: Array
    weight: Array
    blades: int
    diameter: float


def stations() -> tuple[Array, Array]:
    """Radius (n,) [-] and weight (n,) [-] of the Gauss-Legendre stations between the root and the tip."""
    x, w = np.polynomial.legendre.leggauss(N_RADIUS)
    half = 0.5 * (1.0 - ROOT)
    return ROOT + half * (x + 1.0), half * w


def coefficients(blade: Blade, section: Section, rpm: Array, axial: Array, inplane: Array) -> Array:
    """Thrust, power and in-plane coefficients (m, 3) at m flight points.

    rpm, axial, inplane : (m,) rotor speed [rpm] and advance ratios [-]. CT = T/(rho n^2 D^4), CP = P/(rho n^3
    D^5), CH = in-plane force against the in-plane air speed over rho n^2 D^4.
    """
    azimuth_sine = _azimuth_sines() if np.any(inplane != 0.0) else np.zeros(1)
    wind = _Wind(blade, section, rpm, axial, inplane, azimuth_sine)
    return wind.loads(wind.solve())


def loads_and_moments(blade: Blade, section: Section, rpm: Array, axial: Array, inplane: Array) -> Array:
    """CT, CP, CH and a rigid rotor's once-per-turn hub moments (m, 5) at m flight points.

    The moments are over rho n^2 D^5: N/2 times the amplitude of one blade's flap moment with the sine of the
    azimuth (advancing side up), then with the cosine (aft side up).
    """
    wind = _Wind(blade, section, rpm, axial, inplane, _azimuth_sines())
    induced = wind.solve()
    return np.concatenate([wind.loads(induced), wind.hub_moments(induced)], axis=1)


def _azimuth_sines() -> Array:
    psi = (np.arange(N_AZIMUTH) + 0.5) / N_AZIMUTH * np.pi - 0.5 * np.pi
    return np.sin(psi)


@cache
def _wake_table() -> tuple[Array, Array]:
    """s and wake_flow_ratio(s) from hover to where momentum theory holds again; fine enough to be linear."""
    s = np.linspace(0.0, _WAKE_TABLE_END, 1601)
    return s, np.array([wake_flow_ratio(float(value)) for value in s])


class _Wind:
    """The flow at m points: arrays are (m, radius) per annulus and (m, radius, azimuth) per blade element."""

    def __init__(
        self, blade: Blade, section: Section, rpm: Array, axial: Array, inplane: Array, azimuth_sine: Array
    ) -> None:
        self.blade, self.section = blade, section
        self.axial, self.inplane = axial[:, None], inplane[:, None]
        self.azimuth_sine = azimuth_sine
        self.spin = np.pi * blade.radius
        reynolds = _reynolds(blade, rpm) / REYNOLDS_REFERENCE
        lift = reynolds**section.lift_reynolds
        self.lift_slope = (section.lift_slope * lift)[:, :, None]
        self.cl_max = (section.cl_max * lift)[:, :, None]
        self.drag_zero = (section.drag_zero * reynolds**-section.drag_reynolds)[:, :, None]
        self.across = self.spin[None, :, None] + self.inplane[:, :, None] * azimuth_sine
        self.twist_sine, self.twist_cosine = np.sin(blade.twist)[:, None], np.cos(blade.twist)[:, None]
        self.solidity = blade.blades * blade.chord / 8.0

    def elements(self, induced: Array) -> tuple[Array, Array]:
        """Normal and tangential blade force (m, radius, azimuth) per unit radius, over rho n^2 D^4."""
        through = (self.axial + induced)[:, :, None]
        speed = np.sqrt(self.across * self.across + through * through + _STILL)
        sine = (self.twist_sine * self.across - self.twist_cosine * through) / speed
        cosine = (self.twist_cosine * self.across + self.twist_sine * through) / speed
        x = self.lift_slope * sine
        lift = speed * x * cosine / np.sqrt(1.0 + (x / self.cl_max) ** 2)
        drag = speed * (self.drag_zero + self.section.drag_angle * sine * sine)
        scale = self.solidity[:, None]
        return scale * (lift * self.across - drag * through), scale * (lift * through + drag * self.across)

    def wake(self, induced: Array) -> Array:
        """Thrust (m, radius) per unit radius that the momentum of the wake takes, over rho n^2 D^4."""
        through = np.abs(self.axial + induced)
        size = np.maximum(np.abs(induced), 1e-9)
        ratio = -self.axial * np.sign(induced) / size
        empirical = (ratio > 0.0) & (ratio < _WAKE_TABLE_END)
        flow = np.where(empirical, size * np.interp(ratio, *_wake_table()), through)
        return (
            np.pi
            * self.tip_loss(through)
            * induced
            * np.sqrt(self.inplane**2 + flow * flow)
            * self.blade.radius
        )

    def tip_loss(self, through: Array) -> Array:
        """Prandtl's tip-loss factor (m, radius) from the azimuth-averaged inflow angle."""
        sine = through / np.sqrt(self.spin**2 + through * through) + 1e-3
        exponent = 0.5 * self.blade.blades * (1.0 - self.blade.radius) / (self.blade.radius * sine)
        return np.asarray(2.0 / np.pi * np.arccos(np.exp(-np.minimum(exponent, 50.0))))

    def residual(self, induced: Array) -> Array:
        """Blade thrust less wake thrust (m, radius); falls as the induced velocity grows."""
        return self.elements(induced)[0].mean(axis=2) - self.wake(induced)

    def solve(self) -> Array:
        """Induced velocity (m, radius) [n D]: bisection, then one linear interpolation inside the bracket."""
        shape = (self.axial.shape[0], self.spin.size)
        low, high = np.full(shape, -INFLOW_LIMIT), np.full(shape, INFLOW_LIMIT)
        at_low, at_high = self.residual(low), self.residual(high)
        for _ in range(_BISECTIONS):
            middle = 0.5 * (low + high)
            value = self.residual(middle)
            up = value > 0.0
            low, at_low = np.where(up, middle, low), np.where(up, value, at_low)
            high, at_high = np.where(up, high, middle), np.where(up, at_high, value)
        span = at_low - at_high
        return low + (high - low) * np.clip(
            np.where(span > 0.0, at_low / np.maximum(span, _STILL), 0.5), 0.0, 1.0
        )

    def loads(self, induced: Array) -> Array:
        """CT, CP, CH (m, 3) from the blade elements at this induced velocity."""
        normal, tangential = self.elements(induced)
        radius, weight = self.blade.radius, self.blade.weight
        thrust = normal.mean(axis=2) @ weight
        power = np.pi * (tangential.mean(axis=2) @ (weight * radius))
        inplane = (tangential * self.azimuth_sine).mean(axis=2) @ weight
        return np.stack([thrust, power, inplane], axis=1)

    def hub_moments(self, induced: Array) -> Array:
        """Sine and cosine hub moment (m, 2) of rigid blades, over rho n^2 D^5, with the induced flow v_i (1 +
        k_c r cos psi + k_s r sin psi) taken to first order."""
        arm = 0.5 * self.blade.weight * self.blade.radius
        normal = self.elements(induced)[0]
        less = (self.elements(induced + _PROBE)[0] - normal) / _PROBE
        along, across = self._inflow_harmonics(induced)
        sine2 = self.azimuth_sine**2
        tilt = (induced * self.blade.radius)[:, :, None] * less
        sine = (normal * self.azimuth_sine + across[:, :, None] * tilt * sine2).mean(axis=2) @ arm
        cosine = (along[:, :, None] * tilt * (1.0 - sine2)).mean(axis=2) @ arm
        return np.stack([sine, cosine], axis=1)

    def _inflow_harmonics(self, induced: Array) -> tuple[Array, Array]:
        """k_c and k_s (m, 1) by Drees: 4/3 (1 - cos chi - 1.8 mu^2)/sin chi and -2 mu, with the wake's skew
        chi from the mean inflow."""
        mean = induced @ (self.blade.weight * self.blade.radius) / (self.blade.weight @ self.blade.radius)
        mu, through = self.inplane / np.pi, np.abs(self.axial + mean[:, None]) / np.pi
        speed = np.sqrt(mu * mu + through * through) + 1e-9
        sine, cosine = mu / speed, through / speed
        return 4.0 / 3.0 * (sine / (1.0 + cosine) - 1.8 * mu * speed), -2.0 * mu


def _reynolds(blade: Blade, rpm: Array) -> Array:
    """Chord Reynolds number (m, radius) of the rotation alone, at sea level."""
    tip_speed = np.pi * rpm / 60.0 * blade.diameter
    per_speed = blade.radius * blade.chord * 0.5 * blade.diameter / AIR_KINEMATIC_VISCOSITY
    return np.maximum(tip_speed[:, None] * per_speed, 1.0)
