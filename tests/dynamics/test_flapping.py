"""Flapping: the balance it solves, its limits, the signs of the hub moments, and the map's fourth and fifth channel."""

from pathlib import Path

import numpy as np
import pytest

from quadsim.dynamics.blade_element import loads_and_moments
from quadsim.dynamics.flapping import FlapHinge, flap, flap_hinge, flapping_coefficients
from quadsim.dynamics.rotor_evidence import read_evidence
from quadsim.dynamics.rotor_map import AXIAL_MAX, AXIAL_MIN, INPLANE_MAX, RotorMap, rotor_map


@pytest.fixture(autouse=True)
def own_cache(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("QUADSIM_CACHE_DIR", str(tmp_path_factory.getbasetemp() / "rotor-cache"))


@pytest.mark.parametrize("nu", [1.0, 1.1, 1.5, 4.0])
def test_flap_angles_solve_the_equation_of_motion(nu: float) -> None:
    """b'' + gamma/8 b' + nu^2 b = m_c cos psi + m_s sin psi, integrated over psi until periodic."""
    hinge = FlapHinge(nu, 0.3, 16.0 / np.pi**2, 1)  # the moments are then over I_b Omega^2
    steps, turns = 2000, 40
    psi = np.linspace(0.0, 2.0 * np.pi * turns, steps * turns + 1)
    h = psi[1]
    angle = rate = 0.0
    for p in psi[:-1]:
        load = 0.02 * np.cos(p + 0.5 * h) - 0.03 * np.sin(p + 0.5 * h)
        middle, middle_rate = angle + 0.5 * h * rate, rate + 0.5 * h * (load - 0.3 * rate - nu**2 * angle)
        angle, rate = angle + h * middle_rate, rate + h * (load - 0.3 * middle_rate - nu**2 * middle)
    b_c, b_s = flap(hinge, np.array([0.02]), np.array([-0.03]))
    assert (angle, rate) == pytest.approx((b_c[0], b_s[0]), abs=2e-5)


def test_a_free_hinge_carries_no_moment_and_a_stiff_blade_does_not_flap() -> None:
    rigid = np.array([[0.1, 0.04, 0.005, 0.003, -0.002]])
    free = flapping_coefficients(FlapHinge(1.0, 0.3, 2.0, 2), rigid)[0]
    assert free[3] == free[4] == 0.0
    assert free[2] > rigid[0, 2], (
        "advancing side up: a free blade is highest in front and tilts the thrust aft"
    )
    stiff = flapping_coefficients(FlapHinge(1e3, 0.3, 2.0, 2), rigid)[0]
    assert stiff == pytest.approx([0.1, 0.04, 0.005, 0.003, 0.002], abs=1e-6)


def test_typical_blade_is_as_heavy_as_real_ones() -> None:
    """A 10 in two-blade propeller of 13 g with a radius of gyration of 45 % has 4.2e-5 kg m2 (common practice,
    no source); the assumed material and thickness must give that within a factor of 1.5."""
    hinge = flap_hinge(*read_evidence(10.0, 4.5, 2, None, None).rotor())
    both = 2.0 * hinge.inertia * 1.225 * 0.127**5
    assert both == pytest.approx(0.013 * (0.45 * 0.127) ** 2, rel=0.5)
    assert 1.0 < 8.0 * hinge.damping < 4.0


def test_hub_moments_of_a_map() -> None:
    """None at rest in the plane; in forward flight advancing side up and nose up, growing with speed."""
    built = rotor_map(10.0, 4.5)
    assert built.grid.shape == built.rpm_slope.shape == (24, 24, 5)
    assert np.allclose(built.hub_moments(6000.0, np.linspace(AXIAL_MIN, AXIAL_MAX, 9)), 0.0, atol=1e-12)
    roll, pitch = built.hub_moments(6000.0, 0.0, np.linspace(0.05, 0.6, 12))
    assert np.all(roll > 0.0) and np.all(np.diff(roll) > 0.0)
    assert np.all(pitch > 0.0)
    assert built.hub_moments(6000.0, 0.1, -0.3) == built.hub_moments(6000.0, 0.1, 0.3)


def test_map_holds_what_was_computed() -> None:
    """Inside the map the moments are those of the blade elements, to 1 % of their greatest value in climb and forward
    flight."""
    built = rotor_map(6.0, 4.0, 3, flap_ratio=1.3)
    rng = np.random.default_rng(4)
    axial, inplane = rng.uniform(0.0, AXIAL_MAX, 300), rng.uniform(0.0, INPLANE_MAX, 300)
    blade, section = read_evidence(6.0, 4.0, 3, None, None).rotor()
    rigid = loads_and_moments(blade, section, np.full(300, built.reference_rpm), axial, inplane)
    direct = flapping_coefficients(flap_hinge(blade, section, 1.3), rigid)
    for mapped, exact in zip(
        built.hub_moments(built.reference_rpm, axial, inplane), direct.T[3:], strict=True
    ):
        assert np.percentile(np.abs(mapped - exact), 95) < 0.01 * np.abs(exact).max()


def test_flap_ratio_is_part_of_the_cached_map(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("QUADSIM_CACHE_DIR", str(tmp_path))
    soft, stiff = (rotor_map(7.0, 4.0, flap_ratio=nu) for nu in (1.2, 2.5))
    assert isinstance(soft, RotorMap)
    assert soft.hub_moments(8000.0, 0.0, 0.2)[0] < 0.9 * stiff.hub_moments(8000.0, 0.0, 0.2)[0]
    assert soft.coefficients(8000.0, 0.0, 0.2)[2] > 1.1 * stiff.coefficients(8000.0, 0.0, 0.2)[2]
