"""Hand-made plants: the shipped records with only one thing switched on, flown by the shipped kernels."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import numpy as np
from scipy.integrate import solve_ivp

from controllers.contract import SLOTS, chain
from controllers.registry import DEFAULTS, load_block
from controllers.signals import BUILDER, SIGNALS, rows
from quadsim.dynamics.records import GUSTS, HELD, PLANT, WIND
from quadsim.dynamics.rotor_map import axes
from quadsim.dynamics.state import SIZE, X
from quadsim.sensors.records import SENSORS
from quadsim.simulation.carried import CARRIED, CLOCK, MOTION, Status
from quadsim.simulation.columns import TRUTH
from quadsim.simulation.loop import fly_ticks

G0 = 9.80665
"""Standard acceleration of gravity [m/s2], 3rd CGPM (1901)."""
NEVER = 2**40
OFF = -1.0
"""Duty of a motor that is disconnected."""
SPINS = (1.0, -1.0, 1.0, -1.0)
X_ARMS = np.array([[0.16, 0.16, -0.02], [-0.16, 0.16, -0.02], [-0.16, -0.16, -0.02], [0.16, -0.16, -0.02]])
"""Hubs front right, rear right, rear left, front left, above the centre of mass [m]."""


def body(mass: float = 1.0, inertia: Any = (0.01, 0.015, 0.022), rotor_inertia: float = 0.0) -> Any:
    """PLANT of a rigid body in vacuum-like calm: no rotor force, no drag, stiff lossless battery, gravity on."""
    plant = rows(PLANT)[0]
    plant.mass, plant.gravity, plant.air_density = mass, G0, 1.225
    set_inertia(plant, inertia, rotor_inertia)
    plant.rotor_position[:], plant.rotor_radius, plant.spin[:] = X_ARMS, 0.1, SPINS
    plant.beside = plant.across = 1e6  # each rotor feels the ground as if alone
    plant.torque_constant, plant.motor_resistance, plant.current_limit = 0.01, 0.1, 1e9
    plant.cells, plant.full_cell_voltage, plant.capacity = 4.0, 4.1029, 1e12
    plant.relaxation_resistance, plant.relaxation_capacitance = 1.0, 1e12
    plant.feet[:] = X_ARMS + np.array([0.0, 0.0, 0.12])
    plant.crash_speed = 1e9
    return plant


def set_inertia(plant: Any, inertia: Any, rotor_inertia: float) -> None:
    """Tensor with the rotors locked, and its inverse without their axial inertia; 1e-15 kg m2 stands for none."""
    tensor = np.diag(inertia) if np.ndim(inertia) == 1 else np.asarray(inertia)
    plant.inertia[:] = tensor
    plant.inertia_inverse[:] = np.linalg.inv(tensor - np.diag([0.0, 0.0, 4.0 * rotor_inertia]))
    plant.rotor_inertia = rotor_inertia or 1e-15


def smooth_map(
    plant: Any, ct: Sequence[float], cp: Sequence[float], ch_slope: float = 0.0, hub_slopes: Any = (0.0, 0.0)
) -> None:
    """Fill the map with c0 + c1 J + c2 Jp + c3 J Jp for CT and CP, and CH, CMR, CMP = slope Jp: bilinear, so exact everywhere."""
    axial, inplane = np.meshgrid(*axes(), indexing="ij")
    for k, c in enumerate((ct, cp)):
        plant.rotor_map[:, :, k] = c[0] + c[1] * axial + c[2] * inplane + c[3] * axial * inplane
    for k, slope in enumerate((ch_slope, *hub_slopes)):
        plant.rotor_map[:, :, 2 + k] = slope * inplane


def calm(duty: Any = OFF, wind: Any = (0.0, 0.0, 0.0)) -> Any:
    """HELD of healthy rotors at given duties, in given wind (north-east-down) [m/s]."""
    held = rows(HELD)[0]
    held.thrust_factor[:] = held.torque_factor[:] = 1.0
    held.turning[:] = SPINS
    held.duty[:], held.wind[:] = duty, wind
    return held


def state(
    position: Any = (0.0, 0.0, -1000.0), velocity: Any = (0.0, 0.0, 0.0), quaternion: Any = (1.0, 0.0, 0.0, 0.0),
    rates: Any = (0.0, 0.0, 0.0), rotors: Any = 0.0, charge: float = 1.0,
) -> np.ndarray:  # fmt: skip
    """State vector, high above the ground unless said otherwise."""
    x = np.zeros(SIZE)
    x[0:3], x[3:6], x[6:10], x[10:13], x[X.ROTORS : X.ROTORS + 4], x[X.CHARGE] = (
        position,
        velocity,
        quaternion,
        rates,
        rotors,
        charge,
    )
    return x


def rate(f: Callable, x: np.ndarray, plant: Any, held: Any) -> np.ndarray:
    """dx/dt by derivative function `f`."""
    dx = np.zeros(SIZE)
    f(0.0, x, held, plant, dx)
    return dx


def travel(
    f: Callable,
    x: np.ndarray,
    plant: Any,
    held: Any,
    times: Any,
    push: Callable | None = None,
    tight: float = 1e-10,
) -> np.ndarray:
    """States (n, SIZE) at `times` by scipy's DOP853 on derivative function `f`; `push(x)` is added to its result."""

    def rhs(_t: float, y: np.ndarray) -> np.ndarray:
        dx = rate(f, y, plant, held)
        return dx if push is None else dx + push(y)

    times = np.atleast_1d(times)
    found = solve_ivp(rhs, (0.0, times[-1]), x, "DOP853", times, rtol=tight, atol=tight)
    assert found.success
    return found.y.T


class OpenLoop:
    """The shipped flight loop with constant motor commands and no block or sensor running."""

    def __init__(
        self, x: np.ndarray, plant: Any, h: float, motor: Any = None, semi_implicit: bool = False
    ) -> None:
        self.motion, self.plant, self.h = rows(MOTION)[0], plant, h
        self.x: np.ndarray = self.motion.x
        self.x[:] = x
        self.held, self.sensors, self.carried = calm(), rows(SENSORS)[0], rows(CARRIED)[0]
        self.clock, self.signals, self.gusts = rows(CLOCK)[0], rows(SIGNALS)[0], rows(GUSTS, 0)
        self.wind, self.winds = rows(WIND)[0], np.zeros((1, 4))
        self.carried.imu_due = self.carried.slow_due = NEVER
        self.sensors.motor_blend, self.sensors.motor_levels = 1.0, 1e9
        self.carried.wiring[:], self.carried.tick = np.arange(4), 1  # tick 0 would run every block
        if motor is None:
            self.carried.disconnected[:] = 1.0
        else:
            self.carried.motor_line[:] = self.carried.motor_smooth[:] = self.signals.motor[:] = motor
        clock = self.clock
        clock.h, clock.every[:], clock.log_every, clock.command_every = h, NEVER, NEVER, NEVER
        clock.refresh_every, clock.semi_implicit = 1, int(semi_implicit)
        self._chain = chain([load_block(DEFAULTS[slot], slot).block for slot in SLOTS])
        self.truth, self.heard = rows(TRUTH, 2), rows(SIGNALS, 2)

    @property
    def status(self) -> Status:
        """How the flight stands."""
        return Status(int(self.carried.status))

    def fly(self, seconds: float) -> np.ndarray:
        """Fly on for a time; returns the state."""
        fly_ticks(
            self.motion, self.held, self.plant, self.sensors, self.carried, self.clock, self.signals, rows(BUILDER)[0],
            self.wind, np.zeros((5, 32)), np.zeros((5, 64)), self._chain, np.zeros((1, 10)), self.winds, self.gusts,
            self.truth, self.heard, round(seconds / self.h), True,
        )  # fmt: skip
        return self.x
