"""Control laws beside the default one, against closed forms, matrix formulas and scipy."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from scipy.linalg import expm, solve_continuous_are, solve_discrete_are
from scipy.spatial.transform import Rotation

from controllers import MEMORY_SIZE, SIGNALS, example_craft, load_block, rows
from controllers.check import cost_ns
from controllers.geometric import GeometricGain, geometric
from controllers.incremental import IncrementalGain, incremental
from controllers.lqr import LqrGain, Memory, authority, design_axis, lqr, motor_chain
from controllers.rate import RateGain, pid
from controllers.riccati import WORK, solve_riccati
from controllers.rotation import turn


def solved(a: np.ndarray, b: np.ndarray, q: np.ndarray, r: float) -> np.ndarray:
    """P by the shipped solver."""
    m = np.zeros(WORK + 7)
    m[7:23], m[23:39], m[39:55] = a.ravel(), (b @ b.T / r).ravel(), q.ravel()
    assert solve_riccati(m, 7) < 40
    assert np.all(m[:7] == 0.0)
    return m[39:55].reshape(4, 4)


def test_riccati_against_scipy() -> None:
    """Random stabilisable systems of four states; scipy.linalg.solve_discrete_are."""
    generator = np.random.default_rng(5)
    for _ in range(20):
        a, b = generator.normal(size=(4, 4)), generator.normal(size=(4, 1))
        half = generator.normal(size=(4, 4))
        q, r = half @ half.T, float(generator.uniform(0.1, 3.0))
        assert solved(a, b, q, r) == pytest.approx(solve_discrete_are(a, b, q, [[r]]), rel=1e-7)


@pytest.mark.parametrize(
    ("q1", "q2", "wanted"), [(1.0, 0.0, (1.0, math.sqrt(2.0))), (4.0, 3.0, (2.0, math.sqrt(7.0)))]
)
def test_double_integrator(q1: float, q2: float, wanted: tuple[float, float]) -> None:
    """K = (sqrt q1, sqrt(q2 + 2 sqrt q1)) in the limit of short steps; A. E. Bryson, Y.-C. Ho, Applied Optimal Control, ch. 5."""
    dt = 1e-4
    a, b = np.zeros((4, 4)), np.zeros((4, 1))
    a[:2, :2], b[:2, 0] = [[1.0, dt], [0.0, 1.0]], (0.5 * dt * dt, dt)
    q, r = np.diag([q1 * dt, q2 * dt, 0.0, 0.0]), dt
    p = solved(a, b, q, r)
    k = (b.T @ p @ a / (r + b.T @ p @ b))[0, :2]
    assert k == pytest.approx(wanted, rel=3e-4)


def test_motor_chain_is_the_matrix_exponential() -> None:
    """scipy.linalg.expm of the chain with the held command as a fifth state."""
    lag, dt = 0.031, 0.004
    whole = np.zeros((5, 5))
    whole[0, 1] = whole[1, 2] = whole[2, 3] = 1.0
    whole[3, 3], whole[3, 4] = -1.0 / lag, 1.0 / lag
    moved = expm(whole * dt)
    a, b = motor_chain(dt, lag)
    assert np.reshape(a, (4, 4)) == pytest.approx(moved[:4, :4], abs=1e-13)
    assert b == pytest.approx(moved[:4, 4], abs=1e-13)


def test_feedback_of_one_axis_against_the_continuous_regulator() -> None:
    """With short steps the feedback is that of scipy.linalg.solve_continuous_are on the chain in continuous time."""
    lag, dt, weights, most = 0.02, 1e-4, (0.25, 0.35, 4.0), 120.0
    a, b = np.zeros((4, 4)), np.zeros((4, 1))
    a[0, 1] = a[1, 2] = a[2, 3] = 1.0
    a[3, 3], b[3, 0] = -1.0 / lag, 1.0 / lag
    q = np.diag([*(1.0 / np.square(weights)), 0.0])
    p = solve_continuous_are(a, b, q, [[1.0 / most**2]])
    wanted = (b.T @ p * most**2)[0]
    memory = np.zeros(MEMORY_SIZE)
    assert design_axis(memory, 1, dt, lag, *weights, most)
    assert memory[Memory.FEEDBACK + 4 : Memory.FEEDBACK + 8] == pytest.approx(wanted, rel=0.01)


def test_authority_in_hover() -> None:
    """An X of equal arms d can give the moment d T at a collective T below half of the greatest: the sum over all rotors."""
    craft = example_craft()
    d, t0 = 0.09, 0.6 * 9.80665
    assert authority(craft, 0) == pytest.approx(d * t0 / 3.0e-3, rel=1e-9)


class Body:
    """The example craft in space: rigid, its rotors behind a lag, under a law that asks for angular accelerations."""

    def __init__(
        self, law: Any, start: Rotation, lag: float = 0.0, push: Any = (0.0, 0.0, 0.0), **gains: float
    ):
        self.law, self.craft = law, example_craft()
        self.craft.inertia[:] = np.diag(
            [1e-3, 1e-3, 1e-3]
        )  # equal: no gyroscopic moment in this little plant
        self.craft.motor_lag[:] = lag
        self.s, self.memory, self.gains = rows(SIGNALS)[0], np.zeros(MEMORY_SIZE), law.default_gains()
        names = type(next(iter(law.gains)))
        for name, value in gains.items():
            self.gains[names[name]] = value
        self.s.dt, self.s.airborne, self.s.attitude_weight = 1e-3, 1.0, 1.0
        self.s.attitude[:] = np.roll(start.as_quat(), 1)
        self.s.attitude_wanted[0] = 1.0
        self.lag, self.force, self.push = lag, np.zeros(3), np.asarray(push)

    def fly(self, seconds: float) -> np.ndarray:
        """Angle to the wanted attitude over time [rad]."""
        angles = []
        for _ in range(round(seconds / 1e-3)):
            self.law(self.s, self.craft, self.gains, self.memory)
            asked = np.asarray(self.s.angular_acceleration_wanted)
            share = 1.0 if self.lag == 0.0 else 1.0 - math.exp(-1e-3 / self.lag)
            self.force = self.force + share * (asked - self.force)
            self.s.rates[:] = np.asarray(self.s.rates) + 1e-3 * (self.force + self.push)
            self.s.attitude[:] = turn(*self.s.attitude, *self.s.rates, 1e-3)
            angles.append(2.0 * math.acos(min(1.0, abs(float(self.s.attitude[0])))))
        return np.array(angles)


def test_geometric_error_is_that_of_the_matrices() -> None:
    """e_R = vee(R_d^T R - R^T R_d)/2, e_w = w - R^T R_d w_d (Lee, Leok, McClamroch 2010, eqs. 10, 11), by scipy's Rotation."""
    generator = np.random.default_rng(8)
    for _ in range(20):
        own, wanted = Rotation.random(random_state=generator), Rotation.random(random_state=generator)
        body = Body(geometric, own, TILT_K_I=0.0, YAW_K_I=0.0, FEED_FORWARD=0.0)
        s = body.s
        s.attitude_wanted[:] = np.roll(wanted.as_quat(), 1)
        s.rates[:], s.rates_fed_forward[:] = generator.normal(size=3), generator.normal(size=3)
        w, wd = np.array(s.rates), np.array(s.rates_fed_forward)
        geometric(s, body.craft, body.gains, body.memory)
        r, rd = own.as_matrix(), wanted.as_matrix()
        skew = rd.T @ r - r.T @ rd
        e_r = 0.5 * np.array([skew[2, 1], skew[0, 2], skew[1, 0]])
        turned = r.T @ rd @ wd
        k_r = np.array([144.0, 144.0, 20.0])
        k_w = np.array([22.0, 22.0, 8.0])
        asked = -k_r * e_r - k_w * (w - turned) - np.cross(w, turned)
        assert s.angular_acceleration_wanted == pytest.approx(asked, abs=1e-9)


@pytest.mark.jit
def test_geometric_comes_back_from_any_attitude_but_one() -> None:
    """Almost global: from 20 random attitudes, from 178 deg about any axis; then exponential decay (same paper, prop. 1)."""
    generator = np.random.default_rng(9)
    starts = [Rotation.random(random_state=generator) for _ in range(6)]
    starts += [Rotation.from_rotvec(math.radians(178.0) * axis) for axis in np.eye(3)]
    for start in starts:
        angles = Body(geometric, start, TILT_K_I=0.0, YAW_K_I=0.0).fly(8.0)
        assert angles[-1] < 1e-3
        assert np.max(angles) < math.radians(180.0)


def test_geometric_near_the_wanted_attitude_is_a_spring() -> None:
    """Second-order closed form: w_n = 12 rad/s, damping 22/(2 w_n), from 3 degrees of roll at rest."""
    angles = Body(geometric, Rotation.from_rotvec([math.radians(3.0), 0.0, 0.0]), TILT_K_I=0.0).fly(0.3)
    wn, zeta = 12.0, 22.0 / 24.0
    wd, t = wn * math.sqrt(1.0 - zeta**2), 0.15
    wanted = math.exp(-zeta * wn * t) * (math.cos(wd * t) + zeta * wn / wd * math.sin(wd * t))
    assert angles[149] / math.radians(3.0) == pytest.approx(wanted, rel=0.02)


@pytest.mark.parametrize(("law", "lag"), [(geometric, 0.015), (lqr, 0.015), (lqr, 0.04)])
def test_laws_on_attitude_take_a_push_away(law: Any, lag: float) -> None:
    """A constant 5 rad/s2, as of a load beside the middle: the integral makes up for it."""
    angles = Body(law, Rotation.from_rotvec([0.2, -0.1, 0.3]), lag, push=(5.0, -3.0, 1.0)).fly(10.0)
    assert angles[-1] < math.radians(0.3)


@pytest.mark.parametrize("share", [1.0, 0.8])
def test_incremental_leaves_of_a_push_what_it_should(share: float) -> None:
    """At rest -P p + share (in force - measured) = in force = -push, measured 0: p = (1 - share) push/P, without an integral."""
    body = Body(incremental, Rotation.identity(), 0.02, push=(4.0, 0.0, 0.0), SHARE=share, RATE_LAG=0.0)
    body.fly(3.0)
    assert body.s.rates[0] == pytest.approx((1.0 - share) * 4.0 / 18.0, abs=2e-5)
    plain = Body(pid, Rotation.identity(), 0.02, push=(4.0, 0.0, 0.0), ROLL_I=0.0)
    plain.fly(3.0)
    assert plain.s.rates[0] == pytest.approx(4.0 / RateGain.ROLL_P.default, rel=1e-3)


def test_incremental_follows_its_first_order_form() -> None:
    """Rates wanted of 1 rad/s: with an ideal motor and nothing to add they rise as 1 - e^(-P t) (closed form)."""
    body = Body(incremental, Rotation.identity(), FEED_FORWARD=0.0)
    body.s.rates_wanted[0] = 1.0
    body.craft.motor_lag[:] = 1e-4
    body.fly(0.1)
    assert body.s.rates[0] == pytest.approx(1.0 - math.exp(-1.8), abs=0.02)


def test_gains_have_units_that_are_physical() -> None:
    units = {g.unit for gains in (GeometricGain, LqrGain, IncrementalGain) for g in gains}
    assert units <= {"1/s2", "1/s", "rad/s2", "rad", "rad/s", "rad s", "s", "Hz", "-"}


@pytest.mark.jit
def test_a_chain_with_another_law_costs_at_most_half_more() -> None:
    """Ratio of the sums over all five blocks, in one run; the best of three against a busy machine."""
    names = {
        "estimate": "complementary",
        "guide": "response",
        "attitude": "quaternion_p",
        "allocate": "priority",
    }
    rest = [load_block(name, slot).block for slot, name in names.items()]
    for law in ("geometric", "lqr", "incremental"):
        ratios = []
        for _ in range(3):
            others = sum(cost_ns(block, 5000, 3) for block in rest)
            mine, default = (cost_ns(load_block(name, "rate").block, 5000, 3) for name in (law, "pid"))
            ratios.append((others + mine) / (others + default))
        assert min(ratios) < 1.5, law
