"""Ground effect, installed loss and the vortex-ring state against published formulas and measurements."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from quadsim.dynamics import interference, vortex_ring
from quadsim.dynamics.interference import BODY_LIFT, ground_gain

FAR = 1e6
"""Rotors so far apart that they do not feel each other [m]."""


def plain(kernel: Any) -> Any:
    """The formula as plain Python."""
    return getattr(kernel, "py_func", kernel)


@pytest.mark.parametrize(
    ("height", "gain"), [(1.0, 16 / 15), (2.0, 1.0158730158730158), (4.0, 1.003921568627451)]
)
def test_ground_effect_of_one_rotor(height: float, gain: float) -> None:
    """T ratio 1/(1 - (R/4z)^2): Cheeseman & Bennett, ARC R&M 3021 (1955). 1.2 % of the gain,
    which is made to fade to nothing by 40 R."""
    assert ground_gain(height, 0.0, 1.0, FAR, FAR, 0.0) - 1.0 == pytest.approx(gain - 1.0, rel=0.012)


@pytest.mark.parametrize(
    ("height", "ratio", "gain"), [(1.0, 1.0, 1.032258064516129), (0.6, 2.0, 1.0359712230215827)]
)
def test_ground_effect_fades_with_forward_speed(height: float, ratio: float, gain: float) -> None:
    """T ratio 1/(1 - (R/4z)^2/(1 + (V/v_i)^2)): ARC R&M 3021, as in Kan et al., IEEE RA-L 4(4) 2019, eq. 4. 1e-4."""
    assert ground_gain(height, ratio, 1.0, FAR, FAR, 0.0) == pytest.approx(gain, abs=1e-4)


@pytest.mark.parametrize(
    ("height", "gain"),
    [
        (1.0, 1.2554048892857206),
        (2.0, 1.1245335036358646),
        (3.0, 1.0681769225251112),
        (5.0, 1.0277965751417406),
    ],
)
def test_ground_effect_of_four_rotors(height: float, gain: float) -> None:
    """R = 0.12 m, neighbours 0.25 m, opposite 0.354 m, K_b = 2: Sanchez-Cuevas, Heredia & Ollero, Int. J. Aerospace Eng.
    2017, 1823056, as in Kan et al. 2019, eq. 7. 0.5 %."""
    assert ground_gain(height * 0.12, 0.0, 0.12, 0.25, 0.354, 2.0) == pytest.approx(gain, rel=5e-3)


@pytest.mark.parametrize(("height", "needed"), [(0.5, 0.76), (1.0, 0.88), (2.0, 0.94), (4.0, 0.97)])
def test_thrust_needed_near_the_ground(height: float, needed: float) -> None:
    """Measured on two small quadrotors: Kan, Thomas, Teng, Tanner, Kumar & Karydis, IEEE RA-L 4(4) 2019, model 1, eq. 11.
    +-0.03. K_b was set by these values, so this is calibration. Rotor 0.1016 m and spacing 0.24 m assumed."""
    gain = ground_gain(height * 0.1016, 0.0, 0.1016, 0.24, 0.24 * math.sqrt(2.0), BODY_LIFT)
    assert 1.0 / gain == pytest.approx(needed, abs=0.03)


def test_ground_effect_has_no_jump() -> None:
    heights = np.linspace(0.0, 6.0, 60001)
    gains = np.array([ground_gain(float(z), 0.0, 0.12, 0.25, 0.354, BODY_LIFT) for z in heights])
    assert np.all(np.diff(gains) <= 0.0)
    assert np.max(np.abs(np.diff(gains))) < 1e-3
    assert gains[-1] == 1.0


@pytest.mark.parametrize(
    ("speed", "induced"), [(0.5, 0.9395649091669594), (1.0, 0.7861513777574225), (5.0, 0.19984044631768738)]
)
def test_edgewise_induced_velocity(speed: float, induced: float) -> None:
    """v_i/v_h over V/v_h, disc level. Glauert, ARC R&M 1111 (1926), without flow through the disc but v_i: the closed form
    v^4 + V^2 v^2 = v_h^4 is that of Leishman, Principles of Helicopter Aerodynamics, 2nd ed., ch. 2. 1e-3."""
    squared = 4.0**2 / interference.induced_squared_inverse(4.0, 2.0 * speed)
    assert math.sqrt(squared) == pytest.approx(2.0 * induced, abs=2e-3)


def test_loss_is_whole_in_hover_and_partly_gone_in_wind() -> None:
    assert interference.loss_left(25.0, 3.0, 0.0) == 1.0
    assert interference.loss_left(25.0, 0.0, 500.0) == pytest.approx(
        1.0 - interference.LOSS_SWEPT_AWAY, abs=1e-4
    )


def test_vortex_ring_state() -> None:
    """Onset at 0.5 v_h (0.4 to 0.7), worst at 1.0, none above a forward speed of v_h: Johnson, NASA/TP-2005-213477."""
    inside = plain(vortex_ring.in_vortex_ring)
    assert not inside(0.39, 0.0)
    assert inside(0.71, 0.0)
    assert inside(1.0, 0.79)
    assert not inside(1.0, 1.21)
    assert vortex_ring.greatest_safe_descent(6.0) == pytest.approx(3.0)
