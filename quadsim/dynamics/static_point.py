"""One static thrust-and-torque point of the user's bench: what it says about the typical blade.

Three unknowns of the propeller (twist offset, lift, drag) have priors from the spread between measured
propellers; the point sets them by maximum a posteriori. Torque is matched loosely: forcing it spoils the
sweep over the advance ratio, where the section's drag is not the static one.

References
----------
Data of the priors: AIAA 2011-1255, AIAA 2014-2151 (see typical_blade). Method: C. M. Bishop, Pattern
Recognition and Machine Learning (Springer, 2006), sec. 3.3 (Gaussian prior), solved by Gauss-Newton.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from quadsim.dynamics.blade_element import Array, Blade, Section, coefficients

PRIOR = np.array([0.035, 0.18, 0.25])
"""Standard deviation between propellers of twist offset [rad], ln lift and ln drag [-], fitted to the data
above."""
THRUST_SIGMA, POWER_SIGMA = 0.02, 0.05
"""How tightly the point is matched, relative [-]; also the errors that remain. Chosen by left-out families:
medians of static CT 1.5 %, static CP 2.7 %, CT over the advance ratio 6 % of static
(tools/fit_typical_blade.py)."""
_ITERATIONS = 6
_PROBE = 1e-3


@dataclass(frozen=True)
class StaticPoint:
    """Bare rotor at rest: rpm [rpm], thrust_N [N], torque_Nm [N m], density [kg/m3]."""

    rpm: float
    thrust_N: float
    torque_Nm: float
    density: float

    def coefficients(self, diameter: float) -> tuple[float, float]:
        """CT and CP [-] of this point for a diameter [m]."""
        n = self.rpm / 60.0
        thrust = self.thrust_N / (self.density * n**2 * diameter**4)
        return thrust, 2.0 * math.pi * self.torque_Nm / (self.density * n**2 * diameter**5)


def adapt(blade: Blade, section: Section, point: StaticPoint) -> tuple[Blade, Section]:
    """The blade and section most likely to have given the point."""
    change = np.zeros(3)
    for _ in range(_ITERATIONS):
        now = _mismatch(blade, section, point, change)
        slope = np.empty((now.size, 3))
        for k in range(3):
            probe = change + _PROBE * np.eye(3)[k]
            slope[:, k] = (_mismatch(blade, section, point, probe) - now) / _PROBE
        change = change - np.linalg.lstsq(slope, now, rcond=None)[0]
    return _changed(blade, section, change)


def _mismatch(blade: Blade, section: Section, point: StaticPoint, change: Array) -> Array:
    """Residuals (5,) over their standard deviations: thrust, power, and the three priors."""
    rest = np.zeros(1)
    ct, cp, _ = coefficients(*_changed(blade, section, change), np.array([point.rpm]), rest, rest)[0]
    measured_ct, measured_cp = point.coefficients(blade.diameter)
    thrust = (ct / measured_ct - 1.0) / THRUST_SIGMA
    return np.array([thrust, (cp / measured_cp - 1.0) / POWER_SIGMA, *(change / PRIOR)])


def _changed(blade: Blade, section: Section, change: Array) -> tuple[Blade, Section]:
    twist, lift, drag = float(change[0]), math.exp(change[1]), math.exp(change[2])
    return replace(blade, twist=blade.twist + twist), replace(
        section,
        lift_slope=section.lift_slope * lift,
        cl_max=section.cl_max * lift,
        drag_zero=section.drag_zero * drag,
        drag_angle=section.drag_angle * drag,
    )
