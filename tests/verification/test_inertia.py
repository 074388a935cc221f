"""Mass properties against handbooks, a published measurement and the model compiler of MuJoCo."""

import math

import mujoco
import numpy as np
import pytest
from scipy.integrate import solve_ivp

from quadsim.analysis.bifilar import bifilar_inertia
from quadsim.config.solids import Solid, combine

ORIGIN = (0.0, 0.0, 0.0)
DOWN, FORWARD, RIGHT = 2, 0, 1


def test_bifilar_pendulum_of_a_published_measurement():
    # B. Slinger, Measuring the moment of inertia of a UAV (2025): 0.98 kg, wires 0.35 m apart, 1.55 m long, 1.83 s -> 0.0161;
    # method of M. Jardin & E. Mueller, AIAA 2007-6822
    assert bifilar_inertia(0.98, 0.35, 1.55, 1.83, 9.80665) == pytest.approx(0.0161, rel=3e-3)


def test_bifilar_formula_against_the_full_pendulum():
    # Energy: I p'^2/2 + m z'^2/2 + m g z with wires of constant length: z = L - sqrt(L^2 - b^2 sin^2(p/2)); swings of 2 deg
    mass, spacing, length, gravity = 0.98, 0.35, 1.55, 9.80665
    inertia = bifilar_inertia(mass, spacing, length, 1.83, gravity)

    def motion(_t, y):
        angle, rate = y
        half = spacing**2 * math.sin(angle / 2.0) ** 2
        height = math.sqrt(length**2 - half)
        slope = spacing**2 * math.sin(angle) / (4.0 * height)
        bend = (
            spacing**2 * math.cos(angle) / (4.0 * height)
            + (spacing**2 * math.sin(angle) / 4.0) ** 2 / height**3
        )
        return rate, -(mass * gravity * slope + mass * slope * bend * rate**2) / (inertia + mass * slope**2)

    def through_zero(_t, y):
        return y[0]

    swing = solve_ivp(
        motion, (0.0, 6.0), (math.radians(2.0), 0.0), events=through_zero, rtol=1e-10, atol=1e-12
    )
    crossings = swing.t_events[0]
    assert 2.0 * float(np.diff(crossings).mean()) == pytest.approx(1.83, rel=1e-3)


@pytest.mark.parametrize(
    ("shape", "mass", "size", "axis", "element", "expected"),
    [
        # J. L. Meriam & L. G. Kraige, Engineering Mechanics: Dynamics, table D/4
        ("cylinder", 0.055, (0.028, 0.030), "down", DOWN, 5.39e-6),
        ("cylinder", 0.055, (0.028, 0.030), "down", FORWARD, 6.82e-6),
        ("cylinder", 0.055, (0.028, 0.030), "right", RIGHT, 5.39e-6),
        ("box", 0.25, (0.105, 0.035, 0.025), "down", FORWARD, 3.854166666666667e-5),
        ("rod", 0.04, (0.16,), "forward", DOWN, 8.533333333333335e-5),
        ("rod", 0.04, (0.16,), "forward", FORWARD, 0.0),
        ("disc", 0.012, (0.254,), "down", DOWN, 9.6774e-5),
        ("disc", 0.012, (0.254,), "down", RIGHT, 4.8387e-5),
        ("rod", 0.012, (0.254,), "right", DOWN, 6.4516e-5),
        ("point", 1.0, (), "down", DOWN, 0.0),
        # hollow cylinder: m (R^2 + r^2)/2 along, m (3 (R^2 + r^2) + L^2)/12 across; R 10 mm, r 8 mm, L 200 mm
        ("tube", 0.02, (0.020, 0.016, 0.200), "forward", FORWARD, 0.02 * (1e-4 + 6.4e-5) / 2.0),
        ("tube", 0.02, (0.020, 0.016, 0.200), "forward", DOWN, 0.02 * (3.0 * (1e-4 + 6.4e-5) + 0.04) / 12.0),
    ],
)
def test_handbook_solids(shape, mass, size, axis, element, expected):
    tensor = Solid("", shape, mass, size, ORIGIN, axis=axis).inertia()
    assert tensor[element, element] == pytest.approx(expected, abs=1e-12)
    assert np.count_nonzero(tensor - np.diag(np.diag(tensor))) == 0


def composite() -> list[Solid]:
    """A quadrotor of plate, motors, turned arms, an offset battery and an offset payload."""
    solids = [
        Solid("plate", "box", 0.30, (0.10, 0.10, 0.04), ORIGIN),
        Solid("battery", "box", 0.25, (0.105, 0.035, 0.025), (0.01, 0.0, -0.03)),
        Solid("payload", "box", 0.06, (0.04, 0.04, 0.04), (0.05, 0.0, -0.02)),
    ]
    for x, y in ((0.16, 0.16), (-0.16, 0.16), (-0.16, -0.16), (0.16, -0.16)):
        outer, heading = math.hypot(x, y), math.atan2(y, x)
        middle, length = (outer + 0.05) / 2.0, outer - 0.05
        solids.append(Solid("motor", "cylinder", 0.055, (0.028, 0.030), (x, y, 0.015)))
        at = (middle * math.cos(heading), middle * math.sin(heading), 0.0)
        solids.append(Solid("arm", "box", 0.030, (length, 0.012, 0.012), at, heading))
    return solids


def test_composite_craft():
    # parallel-axis theorem; values from the model compiler of MuJoCo 4.0.0
    mass, centre, inertia = combine(composite())
    assert mass == pytest.approx(0.95, abs=1e-9)
    np.testing.assert_allclose(centre, [0.005789473684, 0.0, -0.005684210526], atol=1e-7)
    np.testing.assert_allclose(
        inertia,
        [
            [0.007574061100, 0.0, 0.000103736842],
            [0.0, 0.007921385661, 0.0],
            [0.000103736842, 0.0, 0.014801914568],
        ],
        atol=1e-8,
    )


def compiled(solids: list[Solid]) -> tuple[float, np.ndarray, np.ndarray]:
    """Mass, centre and tensor of the same solids from MuJoCo's model compiler."""
    geoms = []
    for solid in solids:
        half = math.degrees(solid.yaw_rad)
        place = f'pos="{solid.at_m[0]!r} {solid.at_m[1]!r} {solid.at_m[2]!r}" mass="{solid.mass_kg!r}"'
        if solid.shape == "box":
            size = " ".join(repr(edge / 2.0) for edge in solid.size_m)
            geoms.append(f'<geom type="box" size="{size}" euler="0 0 {half!r}" {place}/>')
        else:
            size = f"{solid.size_m[0] / 2.0!r} {solid.size_m[1] / 2.0!r}"
            geoms.append(f'<geom type="cylinder" size="{size}" {place}/>')
    text = '<mujoco><compiler angle="degree"/><worldbody><body><freejoint/>'
    text += "".join(geoms) + "</body></worldbody></mujoco>"
    model = mujoco.MjModel.from_xml_string(text)
    turn = np.zeros(9)
    mujoco.mju_quat2Mat(turn, model.body_iquat[1])
    turn = turn.reshape(3, 3)
    return (
        float(model.body_mass[1]),
        model.body_ipos[1].copy(),
        turn @ np.diag(model.body_inertia[1]) @ turn.T,
    )


def test_composites_against_mujoco():
    skewed = [Solid("box", "box", 0.2, (0.2, 0.05, 0.03), (0.03, -0.02, 0.05), 0.7), *composite()[3:6]]
    for solids in (composite(), skewed):
        mass, centre, inertia = combine(solids)
        their_mass, their_centre, their_inertia = compiled(solids)
        assert mass == pytest.approx(their_mass, rel=1e-12)
        np.testing.assert_allclose(centre, their_centre, atol=1e-12)
        np.testing.assert_allclose(inertia, their_inertia, atol=1e-9)
    assert abs(inertia[0, 1]) > 5e-5  # the skewed one has products of inertia to get wrong
