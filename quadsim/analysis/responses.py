"""How a craft answers: steps of rate, attitude and height, torques and a gust from outside, quickness, noise to the motors.

All of it is flown in the full simulation and judged by the truth, from one settled hover (`response_bench`). Sizes of steps and
disturbances are our choice.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from quadsim.analysis.gain_changes import changed_gains
from quadsim.analysis.motor_noise import MotorNoise, motor_noise
from quadsim.analysis.response_bench import AXES, EVERY_NOISE, START_M, Bench, Flown, angle_of
from quadsim.analysis.response_figures import (
    NOWHERE,
    Quickness,
    Rejection,
    Step,
    Trace,
    figures_of_step,
    quickness,
    rejection_figures,
)
from quadsim.config import Craft, Load
from quadsim.errors import InputError
from quadsim.units import DEG

Array = NDArray[np.float64]
RATE_DEG_S, RATE_HOLD_S, RATE_S = 100.0, 0.5, 0.8
"""Rate step [deg/s], how long it is asked for and how long it is flown [s]."""
ANGLES_DEG = (10.0, 30.0)
ANGLE_S = {"roll": 1.0, "pitch": 1.0, "yaw": 2.0}
"""Time flown after a step of attitude [s]. Longer, a bank held still shows the error of the attitude estimate, which takes the
craft's own acceleration for gravity."""
QUICK_DEG = (5.0, 10.0, 15.0, 20.0, 25.0, 30.0)
HEIGHT_M, HEIGHT_S = 1.0, 4.0
TORQUE_S = {"roll": 2.0, "pitch": 2.0, "yaw": 4.0}
TORQUE_WEIGHT, TORQUE_ARM = 0.05, 0.5
"""Torque about roll and pitch: that of a share of the weight at a share of the arm, as something that drops on one side makes."""
TORQUE_YAW = 0.1
"""Torque about yaw as a share of what the four rotors' torques in hover add up to when all push one way."""
GUST_M_S, GUST_S, GUST_FLIGHT_S = -3.0, 1.0, 4.0
"""Downdraught: peak [m/s] and length [s] of a 1-cosine gust, time flown [s]."""


@dataclass(frozen=True)
class Responses:
    """All answers of one craft with one set of gains; `trouble` says why there are none, `changes` which gains differ."""

    craft: str
    steps: tuple[Step, ...]
    rejections: tuple[Rejection, ...]
    quickness: tuple[Quickness, ...]
    noise: MotorNoise
    trouble: str = ""
    changes: tuple[str, ...] = ()

    def step(self, name: str) -> Step:
        """The step of this name, such as "roll rate", "yaw 30 deg" or "height"."""
        return next(one for one in self.steps if one.name == name)

    def rejection(self, name: str) -> Rejection:
        """The disturbance of this name: "roll torque", "pitch torque", "yaw torque" or "downdraught"."""
        return next(one for one in self.rejections if one.name == name)


def responses(
    craft: Craft,
    *,
    blocks: Mapping[str, str] | None = None,
    gains: Array | None = None,
    loads: Sequence[Load] = (),
    charge: float = 1.0,
    changes: Sequence[str] = (),
) -> Responses:
    """Fly every step and disturbance; arguments as for `Bench`, (5, GAINS_SIZE) gains in the order of SLOTS.

    changes : gains that are different, such as "rate.roll_p=26"; see `gain_changes`

    Raises
    ------
    InputError
        for files, gains or loads with which it cannot take off.
    """
    quiet = Bench(craft, blocks=blocks, gains=gains, loads=loads, charge=charge)
    if changes:
        gains = changed_gains(changes, quiet.session.blocks, quiet.craft_gains if gains is None else gains)
        quiet.tune(gains)
    noisy = Bench(craft, blocks=blocks, gains=gains, loads=loads, charge=charge, noise=EVERY_NOISE)
    return replace(fly_responses(quiet, noisy), changes=tuple(changes))


def fly_responses(quiet: Bench, noisy: Bench) -> Responses:
    """The same on benches that are there already."""
    turns = {(axis, size): _turn(quiet, axis, size) for axis in (0, 1) for size in QUICK_DEG}
    steps = [rate_step(quiet, axis) for axis in range(3)]
    for axis in range(3):
        for size in ANGLES_DEG:
            flown = turns.get((axis, size)) or _turn(quiet, axis, size)
            steps.append(_angle_step(axis, size, flown))
    steps.append(height_step(quiet))
    disturbed = [torque_step(quiet, axis) for axis in range(3)] + [downdraught(quiet)]
    quick = [
        quickness(AXES[axis], size, angle_of(flown.attitude, axis) / DEG, flown.rates[:, axis] / DEG)
        for (axis, size), flown in turns.items()
    ]
    noise = motor_noise(quiet, noisy)
    return Responses(
        quiet.session.craft.name, tuple(steps), tuple(disturbed), tuple(quick), noise, quiet.trouble
    )


def rate_step(bench: Bench, axis: int, size: float = RATE_DEG_S) -> Step:
    """Answer to a rate [deg/s] asked for for RATE_HOLD_S; judged while it is asked for."""
    name = f"{AXES[axis]} rate"
    try:
        flown = bench.rate_step(axis, size * DEG, RATE_HOLD_S, RATE_S)
    except InputError as error:
        nothing = Trace(np.empty(0), np.empty(0), np.empty(0), "deg/s")
        return Step(name, AXES[axis], size, nothing, NOWHERE, math.nan, str(error))
    trace = Trace(flown.t_s, flown.rates_wanted[:, axis] / DEG, flown.rates[:, axis] / DEG, "deg/s")
    asked = flown.t_s < RATE_HOLD_S
    figures = figures_of_step(trace.t_s[asked], trace.flown[asked], size)
    return Step(name, AXES[axis], size, trace, figures, flown.limited_pct, flown.trouble)


def angle_step(bench: Bench, axis: int, size: float = ANGLES_DEG[0]) -> Step:
    """Answer to a step of roll, pitch or yaw [deg]."""
    return _angle_step(axis, size, _turn(bench, axis, size))


def _turn(bench: Bench, axis: int, size: float) -> Flown:
    return bench.target_step(AXES[axis], size * DEG, ANGLE_S[AXES[axis]])


def _angle_step(axis: int, size: float, flown: Flown) -> Step:
    trace = Trace(
        flown.t_s, angle_of(flown.attitude_wanted, axis) / DEG, angle_of(flown.attitude, axis) / DEG, "deg"
    )
    figures = figures_of_step(trace.t_s, trace.flown, size)
    return Step(
        f"{AXES[axis]} {size:g} deg", AXES[axis], size, trace, figures, flown.limited_pct, flown.trouble
    )


def height_step(bench: Bench, size: float = HEIGHT_M) -> Step:
    """Answer to a step of height [m]."""
    flown = bench.target_step("height", size, HEIGHT_S)
    trace = Trace(flown.t_s, flown.height_wanted - START_M, flown.height - START_M, "m")
    figures = figures_of_step(trace.t_s, trace.flown, size)
    return Step("height", "height", size, trace, figures, flown.limited_pct, flown.trouble)


def torque_of(bench: Bench, axis: int) -> float:
    """The torque that suits a craft [N m]: see TORQUE_WEIGHT, TORQUE_ARM, TORQUE_YAW."""
    plant, builder = bench.session.plant, bench.session.builder
    weight = float(plant.mass * plant.gravity)
    if axis == 2:
        return TORQUE_YAW * weight * float(builder.torque_per_thrust)
    arm = float(np.mean(np.hypot(plant.rotor_position[:, 0], plant.rotor_position[:, 1])))
    return TORQUE_WEIGHT * weight * TORQUE_ARM * arm


def torque_step(bench: Bench, axis: int, torque: float | None = None) -> Rejection:
    """Answer to a torque [N m] that comes and stays, attitude held level."""
    size = torque_of(bench, axis) if torque is None else torque
    flown = bench.torque_step(axis, size, TORQUE_S[AXES[axis]])
    angle = angle_of(flown.attitude, axis) / DEG
    trace = Trace(flown.t_s, angle_of(flown.attitude_wanted, axis) / DEG, angle, "deg")
    error = angle - angle[:1].sum()
    figures = rejection_figures(flown.t_s, error, flown.rates[:, axis] / DEG)
    return Rejection(
        f"{AXES[axis]} torque", AXES[axis], size, "N m", trace, *figures, flown.limited_pct, flown.trouble
    )


def downdraught(bench: Bench, peak: float = GUST_M_S) -> Rejection:
    """Answer to a vertical gust (up positive) [m/s], height held."""
    flown = bench.gust(peak, GUST_S, GUST_FLIGHT_S)
    height = flown.height
    trace = Trace(flown.t_s, flown.height_wanted - START_M, height - START_M, "m")
    error = height - height[:1].sum()
    figures = rejection_figures(flown.t_s, error, flown.climb)
    return Rejection("downdraught", "height", peak, "m/s", trace, *figures, flown.limited_pct, flown.trouble)


__all__ = ["Quickness", "Rejection", "Responses", "Step", "angle_step", "downdraught", "fly_responses", "height_step",
           "rate_step", "responses", "torque_of", "torque_step"]  # fmt: skip
