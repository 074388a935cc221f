"""Order of accuracy of both steppers inside the shipped flight loop: a closed form, and the whole plant."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from checks import TUMBLE
from hand_made import OpenLoop, body, calm, smooth_map, state, travel

from quadsim.dynamics.derivative import full_derivative
from quadsim.dynamics.state import X

STEPPERS = pytest.mark.parametrize(
    ("semi_implicit", "order"), [(False, 4.0), (True, 1.0)], ids=["rk4", "semi_implicit"]
)


@STEPPERS
def test_order_on_a_tumbling_body(semi_implicit: bool, order: float) -> None:
    """Error against Jacobi's functions after 1 s (Landau & Lifshitz, sec. 37): divided by 2^order when the step is halved."""
    inertia, rates = TUMBLE
    errors = []
    for steps in (25, 50, 100):
        x = OpenLoop(state(rates=rates), body(inertia=inertia), 1.0 / steps, semi_implicit=semi_implicit).fly(
            1.0
        )
        errors.append(np.linalg.norm(x[10:13] - (-1.6980964560719056, -1.12958572728541, 4.963618664980111)))
    assert np.log2(np.divide(errors[:-1], errors[1:])) == pytest.approx([order] * 2, abs=0.25)


def whole_plant() -> Any:
    """Everything that moves in flight: rotors on a smooth map, motors, sagging pack with its RC pair, drag, offset centre."""
    plant = body(
        mass=0.8,
        inertia=[[0.004, 2e-4, -1e-4], [2e-4, 0.005, 1e-4], [-1e-4, 1e-4, 0.008]],
        rotor_inertia=8e-6,
    )
    smooth_map(plant, (0.12, -0.1, 0.03, 0.02), (0.06, 0.01, 0.02, 0.0), 0.04)
    plant.rotor_position[:] += (0.005, -0.003, 0.0)
    plant.drag_area[:], plant.drag_centre[:] = (0.01, 0.012, 0.02), (0.01, 0.0, -0.02)
    plant.torque_constant, plant.motor_resistance, plant.no_load_current = 0.01, 0.12, 0.6
    plant.pack_resistance, plant.relaxation_resistance, plant.relaxation_capacitance = 0.03, 0.02, 5.0
    plant.avionics_current, plant.braking, plant.installed_loss = 0.4, 1.0, 0.1
    return plant


START = state(
    velocity=(4.0, -2.0, 1.0), quaternion=np.array([0.9, 0.3, -0.2, 0.25]) / np.linalg.norm([0.9, 0.3, -0.2, 0.25]),
    rates=(3.0, -2.0, 1.0), rotors=(700.0, 650.0, 720.0, 690.0),
)  # fmt: skip
DUTY = (0.62, 0.55, 0.6, 0.58)
SIZES = np.array([1.0] * 6 + [0.1] * 4 + [1.0] * 3 + [100.0] * 4 + [1.0, 0.1] + [1.0] * 6)
"""What a unit of error means in each element of the state."""


@pytest.mark.jit
@STEPPERS
def test_order_on_the_whole_plant(semi_implicit: bool, order: float) -> None:
    """Against scipy's DOP853 at 1e-12, 0.4 s of a tumbling climb; the capacity is so large that nothing held changes."""
    plant = whole_plant()
    plant.installed_loss = 0.0  # its fading in forward flight is held for a step
    exact = travel(full_derivative, START, plant, calm(duty=DUTY), 0.4, tight=1e-12)[-1]
    errors = []
    for steps in (100, 200, 400):
        x = OpenLoop(START, plant, 0.4 / steps, DUTY, semi_implicit).fly(0.4)
        errors.append(np.linalg.norm((x - exact) / SIZES))
    assert np.log2(np.divide(errors[:-1], errors[1:])) == pytest.approx([order] * 2, abs=0.4)
    assert errors[-1] < (0.2 if semi_implicit else 1e-5)


def test_quaternion_stays_of_unit_length() -> None:
    x = OpenLoop(START, whole_plant(), 2e-3, DUTY).fly(0.2)
    assert np.linalg.norm(x[X.QUATERNION : X.QUATERNION + 4]) == pytest.approx(1.0, abs=1e-12)
