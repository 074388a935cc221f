"""What sensor noise does to the motors: two hovers, with the sensors' noise and without."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from quadsim.analysis.response_bench import Bench, Flown
from quadsim.config.equilibrium import plain
from quadsim.dynamics.motor_heat import case_to_air, winding_resistance
from quadsim.dynamics.state import X
from quadsim.simulation.control_metrics import NOISE_S, about_own_mean, rms_of_vectors

HOVER_S = 1.0
"""Length of either hover [s]: twenty times the window about whose mean noise is counted."""
_case_to_air, _winding_resistance = plain(case_to_air), plain(winding_resistance)


@dataclass(frozen=True)
class MotorNoise:
    """Noise on its way to the motors, mean of the four, about the mean over 0.05 s (`control_metrics.NOISE_S`).

    command_pct : rms of the motor commands [%]; current_A : rms of the motor currents [A]
    heat_W : what that current makes in windings and ESCs, 4 R I^2 with warm windings
    power_W : that heat and what rotors take more while their speed w swings: at the same mean thrust, with thrust in w^2 and
        power in w^3, 1.5 P (rms of w/w0)^2 of the shaft power P. (The plain difference of the pack's power over a second says
        nothing: how the craft rises and sinks on the barometer's noise is watts.)
    winding_C : by how much the windings are warmer in a long hover, R I^2 through winding and case to the air [deg C]
    limited_pct : time with a motor command at its least or greatest [%]
    """

    command_pct: float
    current_A: float
    heat_W: float
    power_W: float
    winding_C: float
    limited_pct: float
    trouble: str = ""


def motor_noise(quiet: Bench, noisy: Bench) -> MotorNoise:
    """Noise of a craft in hover: the difference of squares of two flights, so that what is not sensor noise drops out."""
    still, shaken = (bench.fly(HOVER_S, lambda session: None) for bench in (quiet, noisy))
    trouble = still.trouble or shaken.trouble
    if trouble or len(still.t_s) < 2:
        nothing = math.nan
        return MotorNoise(nothing, nothing, nothing, nothing, nothing, nothing, trouble)
    command = _excess(shaken, still, lambda flown: flown.motor)
    current = _excess(shaken, still, lambda flown: flown.motor_current)
    speed = _excess(shaken, still, lambda flown: flown.rotor_speed)
    mean_speed = float(np.mean(still.rotor_speed))
    plant = noisy.session.plant
    warm = float(_winding_resistance(float(plant.working_temperature), plant))
    winding_W, heat_W = (warm - float(plant.esc_resistance)) * current**2, 4.0 * warm * current**2
    return MotorNoise(
        command_pct=100.0 * command,
        current_A=current,
        heat_W=heat_W,
        power_W=heat_W + 1.5 * _shaft_power(quiet) * (speed / mean_speed) ** 2,
        winding_C=winding_W * _to_air(plant),
        limited_pct=shaken.limited_pct,
    )


def _excess(shaken: Flown, still: Flown, column: Any) -> float:
    """Rms over one motor of what `shaken` has beyond `still`."""
    squares = [
        rms_of_vectors(about_own_mean(column(flown), flown.t_s, NOISE_S)) ** 2 / 4.0
        for flown in (shaken, still)
    ]
    return math.sqrt(max(squares[0] - squares[1], 0.0))


def _shaft_power(bench: Bench) -> float:
    """Power that the air takes from the four rotors where a flight ended [W]."""
    session = bench.session
    return float(np.sum(session.held.rotor_torque * session.x[X.ROTORS : X.ROTORS + 4]))


def _to_air(plant: Any) -> float:
    """Resistance from a winding to the air in hover [K/W]; zero for a plant that keeps its temperatures."""
    if plant.winding_heat <= 0.0:
        return 0.0
    return 1.0 / float(plant.winding_to_case) + 1.0 / float(
        _case_to_air(float(plant.hover_flow_squared), plant)
    )
