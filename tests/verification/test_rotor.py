"""Rotor aerodynamics against closed forms and published measurements."""

import math

import numpy as np
import pytest

from quadsim.dynamics import inflow, rotor_coefficients
from quadsim.dynamics.blade_element import Blade, Section, _Wind, coefficients, stations
from quadsim.dynamics.flapping import flap, flap_hinge
from quadsim.dynamics.rotor_map import rotor_map


def test_momentum_theory_in_hover() -> None:
    """T = 3 N, D = 0.254 m, rho = 1.225 kg/m3; values: closed form, Leishman ch. 2; Glauert in Durand IV
    (1935). 0.05 %."""
    area = math.pi * 0.127**2
    v_h = inflow.hover_induced_velocity(3.0, 1.225, area)
    assert v_h == pytest.approx(4.915853455982358, rel=5e-4)
    assert inflow.ideal_hover_power(3.0, 1.225, area) == pytest.approx(14.747560367947074, rel=5e-4)


@pytest.mark.parametrize(
    ("speed", "induced", "power"),
    [
        (0.5, 0.7807764064044151, 1.2807764064044151),
        (1.0, 0.6180339887498949, 1.618033988749895),
        (2.0, 0.41421356237309515, 2.414213562373095),
        (-2.5, 0.5, -2.0),
        (-3.0, 0.3819660112501051, -2.618033988749895),
    ],
)
def test_axial_climb_and_windmill_brake(speed: float, induced: float, power: float) -> None:
    """v_i/v_h and P/P_h over V/v_h; closed form, Leishman ch. 2. 1e-3."""
    assert inflow.axial_induced_ratio(speed) == pytest.approx(induced, abs=1e-3)
    assert inflow.axial_power_ratio(speed) == pytest.approx(power, abs=1e-3)


@pytest.mark.parametrize(
    ("speed", "induced"), [(-0.5, 1.3933125), (-1.0, 1.816), (-1.5, 2.0828125), (-2.0, 1.026)]
)
def test_descent_quartic(speed: float, induced: float) -> None:
    """Leishman ch. 2 quartic with hover factor 1, coefficients read second-hand from public codes that agree.
    0.01."""
    assert inflow.descent_induced_ratio(speed) == pytest.approx(induced, abs=0.01)


@pytest.mark.parametrize(
    ("inplane", "axial", "induced"),
    [
        (0.5, 0.0, 0.9395649091669594),
        (1.0, 0.0, 0.7861513777574225),
        (2.0, 0.0, 0.48586827175664565),
        (3.0, 0.0, 0.33131892286201164),
        (5.0, 0.0, 0.19984044631768738),
        (2.0 * math.cos(math.radians(10.0)), 2.0 * math.sin(math.radians(10.0)), 0.46902547769471303),
    ],
)
def test_forward_flight(inplane: float, axial: float, induced: float) -> None:
    """Glauert, ARC R&M 1111 (1926); Leishman ch. 2; closed form. 1e-3."""
    assert inflow.forward_induced_ratio(inplane, axial) == pytest.approx(induced, abs=1e-3)


def test_coefficient_conventions() -> None:
    """Selig and Ananda, UIUC AE 15-01 (2015), eqs. 1-4; Leishman ch. 2. 1e-6."""
    assert rotor_coefficients.helicopter_thrust(1.0) == pytest.approx(0.12900613773279798, abs=1e-6)
    assert rotor_coefficients.helicopter_power(1.0) == pytest.approx(0.04106392901873735, abs=1e-6)
    assert rotor_coefficients.torque_coefficient(1.0) == pytest.approx(0.15915494309189535, abs=1e-6)
    assert rotor_coefficients.tip_speed_ratio(1.0) == pytest.approx(0.3183098861837907, abs=1e-6)
    assert rotor_coefficients.figure_of_merit(1.0, 1.0) == pytest.approx(0.7978845608028654, abs=1e-6)
    assert rotor_coefficients.propulsive_efficiency(0.5, 0.06, 0.04) == pytest.approx(0.75)


@pytest.fixture(autouse=True)
def own_cache(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("QUADSIM_CACHE_DIR", str(tmp_path_factory.getbasetemp() / "rotor-cache"))


SLOPE, CL_MAX, DRAG, CHORD, BLADES, COLLECTIVE = 5.73, 1.6, 0.012, 0.1, 3, math.radians(6.0)
"""An untwisted rotor of constant chord like that of NACA TN 2474; plan form, collective and section are
assumed."""


def _mean_induced(ct: np.ndarray, axial: np.ndarray) -> np.ndarray:
    """Uniform induced velocity [n D] that gives this thrust by blade elements: how the report defines the
    mean.

    Soft-stall lift, integrated on 400 stations; bisected, since thrust falls with inflow.
    """
    r = np.linspace(0.15, 1.0, 400)
    low, high = np.full(ct.shape, -1.0), np.full(ct.shape, 1.0)
    for _ in range(40):
        middle = 0.5 * (low + high)
        through = (axial + middle)[:, None]
        angle = COLLECTIVE - np.arctan2(through, np.pi * r)
        speed_squared = (np.pi * r) ** 2 + through**2
        x = SLOPE * np.sin(angle) / CL_MAX
        lift, drag = CL_MAX * x / np.sqrt(1.0 + x**2) * np.cos(angle), DRAG + 1.2 * np.sin(angle) ** 2
        flow = np.arctan2(through, np.pi * r)
        load = BLADES * CHORD / 8.0 * speed_squared * (lift * np.cos(flow) - drag * np.sin(flow))
        more = np.trapezoid(load, r, axis=1) > ct
        low, high = np.where(more, middle, low), np.where(more, high, middle)
    return low


@pytest.fixture(scope="module")
def descent() -> tuple[np.ndarray, np.ndarray]:
    """Descent ratio V_d/v_h and mean v_i/v_h of the rotor in vertical descent."""
    radius, weight = stations()
    blade = Blade(
        radius, np.full(radius.size, CHORD), np.full(radius.size, COLLECTIVE), weight, BLADES, 1.8288
    )
    axial = np.linspace(0.0, -0.8, 201)
    section = Section(SLOPE, CL_MAX, DRAG, 1.2, 0.0, 0.0)
    ct = coefficients(blade, section, np.full(axial.size, 1200.0), axial, np.zeros(axial.size))[:, 0]
    v_h = np.sqrt(2.0 * ct / np.pi)
    return -axial / v_h, _mean_induced(ct, axial) / v_h


@pytest.mark.parametrize(
    ("speed", "induced"),
    [(0.0, 1.09), (0.4, 1.44), (0.8, 1.81), (1.2, 2.24), (1.5, 2.49), (2.0, 1.38), (2.4, 0.94)],
)
def test_measured_vertical_descent(
    descent: tuple[np.ndarray, np.ndarray], speed: float, induced: float
) -> None:
    """Castles and Gray, NACA TN 2474 (1951), fig. 12, p. 51, faired line of the constant-chord untwisted
    rotor. 0.15."""
    order = np.argsort(descent[0])
    assert np.interp(speed, descent[0][order], descent[1][order]) == pytest.approx(induced, abs=0.15)


def test_ideal_autorotation(descent: tuple[np.ndarray, np.ndarray]) -> None:
    """Descent ratio where the mean induced velocity equals the descent speed: 1.76 +- 0.05, NACA TN 2474,
    fig. 12."""
    speed, induced = descent
    crossing = speed[np.argmax(induced - speed < 0.0)]
    assert crossing == pytest.approx(1.76, abs=0.05)


def test_wake_function_has_one_solution_and_meets_momentum_theory() -> None:
    """Thrust at given descent speed goes with m(s)/s^2: it must fall. m = 1 - s in climb, s - 1 deep in
    the windmill brake (v_i (V + v_i) = v_h^2 and v_i (-V - v_i) = v_h^2, Leishman ch. 2), slope -1 in
    hover."""
    s = np.linspace(0.01, 12.0, 2400)
    m = np.array([inflow.wake_flow_ratio(float(value)) for value in s])
    assert np.all(np.diff(m / s**2) < 0.0)
    assert inflow.wake_flow_ratio(-0.7) == pytest.approx(1.7)
    assert inflow.wake_flow_ratio(9.0) == pytest.approx(8.0)
    assert (inflow.wake_flow_ratio(1e-5) - 1.0) / 1e-5 == pytest.approx(-1.0, abs=1e-3)


@pytest.mark.parametrize(("rpm", "thrust", "torque"), [(3000.0, 1.1387, 0.0197), (7000.0, 6.441, 0.1009)])
def test_one_bench_point_predicts_other_speeds(rpm: float, thrust: float, torque: float) -> None:
    """Isolated two-blade rotor, D 0.2388 m, 1.221 kg/m3, from its point at 5000 rpm (3.3228 N, 0.0531 N m).
    Russell, Jung, Willink and Glasner, NASA/TM-2018-219758, run 22.
    Pitch 5 in assumed. Reynolds trend: 6 % and 10 %; thrust at 7000 rpm comes 5 % high, since its growth levels off."""
    diameter, density, n = 0.2388, 1.221, rpm / 60.0
    point = {"rpm": 5000.0, "thrust_N": 3.3228, "torque_Nm": 0.0531, "density": density}
    ct, cp, _ = rotor_map(diameter / 0.0254, 5.0, table=point).coefficients(rpm)
    assert ct * density * n**2 * diameter**4 == pytest.approx(thrust, rel=0.06)
    assert rotor_coefficients.torque_coefficient(cp) * density * n**2 * diameter**5 == pytest.approx(
        torque, rel=0.1
    )


@pytest.mark.parametrize("mu", [0.0375, 0.075, 0.15])
def test_backward_tilt_of_a_free_hinge(mu: float) -> None:
    """a1 = (8/3 mu theta - 2 mu lambda)/(1 - mu^2/2), untwisted blade, theta 12 deg, lambda 0.08: 1.72 deg at mu = 0.075.
    Bramwell / Leishman ch. 4 (formula from memory). 5 %, for the root cut-out and sines; the source is an order of
    magnitude (x/ 2)."""
    radius, weight = stations()
    theta, inflow_ratio = math.radians(12.0), 0.08
    blade = Blade(radius, np.full(radius.size, 0.15), np.full(radius.size, theta), weight, 2, 0.254)
    section = Section(5.7, 1e3, 0.0, 0.0, 0.0, 0.0)
    sines = np.sin(2.0 * np.pi * (np.arange(32) + 0.5) / 32)
    one = np.ones(1)
    wind = _Wind(blade, section, 6000.0 * one, 0.0 * one, math.pi * mu * one, sines)
    normal = wind.elements(np.full((1, radius.size), math.pi * inflow_ratio))[0]
    moment = (normal * sines).mean(axis=2) @ (0.5 * weight * radius)
    b_c, b_s = flap(flap_hinge(blade, section, 1.0), np.zeros(1), moment)
    a1 = (8.0 / 3.0 * mu * theta - 2.0 * mu * inflow_ratio) / (1.0 - 0.5 * mu * mu)
    assert -b_c[0] == pytest.approx(a1, rel=0.05)
    assert b_s[0] == 0.0
