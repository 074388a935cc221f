"""Standing, sliding, dropping and lifting off on the shipped loop, against statics and energy."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from hand_made import G0, OpenLoop, body, smooth_map, state
from hypothesis import given
from hypothesis import strategies as st

from quadsim.dynamics.ground import CREEP, lowest_tip
from quadsim.kinematics.quaternion import from_euler, rotation_matrix
from quadsim.simulation.carried import Note, Status

MASS, STIFFNESS, FOOT = 1.5, 2000.0, 0.1
SAG = MASS * G0 / (4.0 * STIFFNESS)
H = 2.5e-4


def craft(damping: float = 0.0, friction: float = 0.6) -> Any:
    """1.5 kg on four feet 0.1 m below its centre; rotors high enough never to strike."""
    plant = body(mass=MASS)
    plant.contact_stiffness, plant.contact_damping, plant.friction = STIFFNESS, damping, friction
    return plant


def dropped(damping: float, height: float = 0.05) -> tuple[np.ndarray, OpenLoop]:
    """Heights of the feet and sink rates (n, 2) each millisecond of a drop, until well after the first bounce."""
    loop, seen = OpenLoop(state(position=(0.0, 0.0, -FOOT - height)), craft(damping), H), []
    for _ in range(270):
        x = loop.fly(1e-3)
        seen.append((-x[2] - FOOT, x[5]))
    return np.array(seen), loop


@pytest.mark.jit
def test_an_undamped_bounce_returns_all_energy() -> None:
    """Energy: the springs give back sqrt(2 g h), and the feet rise to where they fell from."""
    seen, _ = dropped(0.0)
    assert np.max(seen[:, 1]) == pytest.approx(math.sqrt(2.0 * G0 * 0.05), rel=0.03)
    energy = (
        MASS * G0 * seen[:, 0]
        + 0.5 * MASS * seen[:, 1] ** 2
        + 2.0 * STIFFNESS * np.minimum(seen[:, 0], 0.0) ** 2
    )
    assert energy == pytest.approx(np.full(270, MASS * G0 * 0.05), rel=1e-4)
    assert np.max(seen[180:, 0]) == pytest.approx(0.05, abs=5e-4)


@pytest.mark.jit
def test_a_damped_bounce_loses_energy_and_only_loses() -> None:
    """Linear damper of ratio z: what is left of the speed is exp(-pi z/sqrt(1-z^2)) at most lost (impact of a damped
    spring, gravity aside); the damper grows in over 1 mm, so a little more is left."""
    ratio = 0.2
    damping = ratio * 2.0 * math.sqrt(4.0 * STIFFNESS * MASS) / 4.0
    seen, _ = dropped(damping)
    energy = (
        MASS * G0 * seen[:, 0]
        + 0.5 * MASS * seen[:, 1] ** 2
        + 2.0 * STIFFNESS * np.minimum(seen[:, 0], 0.0) ** 2
    )
    assert np.max(np.diff(energy)) < 1e-6
    impact, rebound = np.max(seen[:, 1]), -np.min(seen[:, 1])
    assert math.exp(-math.pi * ratio / math.sqrt(1.0 - ratio**2)) < rebound / impact < 0.75


@pytest.mark.jit
def test_it_comes_to_rest_at_the_static_sag() -> None:
    """Statics: m g/(4 k), and the ground carries the weight."""
    loop = OpenLoop(state(position=(0.0, 0.0, -FOOT - 0.01)), craft(damping=30.0), H)
    x = loop.fly(3.0)
    assert x[2] + FOOT == pytest.approx(SAG, abs=1e-9)
    assert loop.held.contact_force == pytest.approx(MASS * G0, rel=1e-6)
    assert loop.status == Status.FLYING


def pushed(share: float) -> OpenLoop:
    """Standing in a wind from behind whose drag is `share` of the greatest friction."""
    plant, force = craft(damping=30.0), share * 0.6 * MASS * G0
    speed = 40.0
    plant.drag_area[0], plant.drag_centre[2] = (
        force / (0.5 * 1.225 * speed**2),
        FOOT,
    )  # at the feet: no tilting
    loop = OpenLoop(state(position=(0.0, 0.0, SAG - FOOT)), plant, H)
    loop.winds[0, 1] = speed
    return loop


@pytest.mark.jit
def test_friction_holds_a_push_below_its_limit() -> None:
    """Coulomb: below mu N it holds; the regularised law creeps at the same share of its creep speed."""
    x = pushed(0.5).fly(0.5)
    assert x[3] == pytest.approx(0.5 * CREEP, rel=0.01)
    assert x[0] < 0.5 * 0.5 * CREEP


@pytest.mark.jit
def test_a_push_beyond_friction_slides() -> None:
    """Newton: a = (F - mu N)/m with F = 1.5 mu N; the push shrinks by 2 v/V as the craft runs with the wind."""
    x = pushed(1.5).fly(0.2)
    assert x[3] == pytest.approx(0.5 * 0.6 * G0 * 0.2, rel=0.06)


@pytest.mark.jit
def test_touch_down_is_noticed_with_its_speed() -> None:
    """0.1 m of free fall: sqrt(2 g h) = 1.4004 m/s; noticed within a look of the first contact."""
    loop = OpenLoop(state(position=(0.0, 0.0, -FOOT - 0.1)), craft(damping=30.0), H)
    loop.carried.clear_looks = 1000
    loop.fly(0.16)
    assert loop.carried.notes == 1
    assert loop.carried.note_kind[0] == Note.TOUCH_DOWN
    assert loop.carried.note_value[0] == pytest.approx(math.sqrt(2.0 * G0 * 0.1), rel=2e-3)
    assert loop.carried.note_energy[0] == pytest.approx(MASS * G0 * 0.1, rel=4e-3)
    assert loop.carried.note_tick[0] * H == pytest.approx(math.sqrt(0.2 / G0), abs=2.0 * H)
    assert loop.status == Status.FLYING


@pytest.mark.jit
@pytest.mark.parametrize(("limit", "ends"), [(1.45, Status.FLYING), (1.35, Status.CRASHED)])
def test_a_crash_is_a_touch_down_faster_than_the_craft_bears(limit: float, ends: Status) -> None:
    """1.4004 m/s at the ground against limits on either side of it."""
    plant = craft(damping=30.0)
    plant.crash_speed = limit
    loop = OpenLoop(state(position=(0.0, 0.0, -FOOT - 0.1)), plant, H)
    loop.carried.clear_looks = 1000
    loop.fly(0.2)
    assert loop.status == ends


@pytest.mark.jit
def test_lift_off_is_noticed_once_clear_of_the_ground() -> None:
    """Thrust of 1.2 m g at once: up with 0.2 g after the springs and a little more from the ground; one note, no touch-down."""
    plant = craft(damping=30.0)
    smooth_map(plant, (0.1, 0.0, 0.0, 0.0), (0.0,) * 4)
    speed = 2.0 * math.pi * math.sqrt(1.2 * MASS * G0 / 4.0 / (0.1 * 1.225 * 0.2**4))
    loop = OpenLoop(state(position=(0.0, 0.0, SAG - FOOT), rotors=speed), plant, H)
    loop.carried.touching = 1
    x = loop.fly(0.4)
    assert 0.2 * G0 * 0.4 < -x[5] < 0.26 * G0 * 0.4
    assert loop.carried.notes == 1
    assert loop.carried.note_kind[0] == Note.LIFT_OFF


@given(st.floats(-3.1, 3.1), st.floats(-1.5, 1.5), st.floats(-3.1, 3.1))
def test_lowest_tip_of_the_rotor_discs(roll: float, pitch: float, yaw: float) -> None:
    """Against points all round the four rims, turned by numpy."""
    plant, place = craft(), np.array([1.0, 2.0, -0.5])
    q = from_euler(roll, pitch, yaw)
    turn = np.reshape(rotation_matrix(*q), (3, 3))
    angle = np.linspace(0.0, 2.0 * math.pi, 721)
    rim = 0.1 * np.stack([np.cos(angle), np.sin(angle), np.zeros(721)], axis=1)
    points = (np.asarray(plant.rotor_position)[:, None, :] + rim[None]) @ turn.T + place
    assert lowest_tip(state(position=place, quaternion=q), plant, 0.0) == pytest.approx(
        -np.max(points[:, :, 2]), abs=1e-5
    )
