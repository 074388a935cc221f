"""The estimator in a real flight, and the flight's bookkeeping of charge."""

from __future__ import annotations

import numpy as np
import pytest

from quadsim.config.flight_loader import parse_flight
from quadsim.dynamics.battery import cell_voltage
from quadsim.dynamics.state import X
from quadsim.simulation.fly import snapshot, start
from quadsim.simulation.run import Run
from quadsim.simulation.session import Session

SIDE_STEP = """
title = "Side step without sensor errors"
craft = "siskin"
duration_s = 4
log_rate_Hz = 1000
[start]
height_m = 20
[[at]]
t_s = 0.5
roll_deg = 25
pitch_deg = -10
[[at]]
t_s = 2.0
roll_deg = -20
heading_deg = 30
"""


def flown(sensor_errors: bool) -> tuple[Session, Run]:
    session = start(parse_flight(SIDE_STEP))
    if not sensor_errors:
        for name in (
            "gyro_noise",
            "gyro_walk",
            "gyro_step",
            "accel_noise",
            "accel_walk",
            "accel_step",
            "baro_noise",
            "gyro_kick",
            "accel_kick",
            "gyro_g",
            "baro_step",
            "baro_walk",
            "baro_port",
        ):
            session.sensors[name] = 0.0
        session.sensors.gyro_matrix[:] = session.sensors.accel_matrix[:] = session.sensors.mounting_believed.T
        session.carried.gyro_bias[:] = session.carried.accel_bias[:] = 0.0
    session.advance(10**6)
    return session, snapshot(session)


def angles(a: np.ndarray, b: np.ndarray) -> np.ndarray:
    """2 acos|a.b| [deg] (Shuster 1993)."""
    return np.degrees(2.0 * np.arccos(np.clip(np.abs(np.sum(a * b, axis=1)), 0.0, 1.0)))


@pytest.mark.jit
def test_perfect_sensors_give_the_attitude_although_the_accelerometer_shows_level() -> None:
    """In flight the accelerometer sees thrust and drag only: taken for gravity it would read level at any bank, 25 deg wrong
    (R. Leishman et al., IEEE CSM 34(1), 2014). The estimate may be pulled by it for a moment, by its gain and no more:
    TILT_P 0.15 1/s at full trust for 1.5 s and 27 deg is 6 deg; 2 deg asked."""
    _, run = flown(sensor_errors=False)
    banked = (run.t_s > 0.9) & (run.t_s < 1.9)
    specific = run["signals/accel_m_s2"][banked]
    shown = np.degrees(np.arctan2(np.hypot(specific[:, 0], specific[:, 1]), -specific[:, 2]))
    assert np.mean(shown) < 12.0
    assert np.max(angles(run["attitude"], run["signals/attitude"])) < 2.0
    assert np.max(angles(run["attitude"], np.tile((1.0, 0.0, 0.0, 0.0), (len(run), 1)))) > 20.0


@pytest.mark.jit
def test_shipped_sensor_errors_stay_within_their_budget() -> None:
    """Bias of 6 mg tilts by 0.34 deg, the rest of the gyro's bias and the noise by less: 3 deg in all with the pull above."""
    _, run = flown(sensor_errors=True)
    assert np.max(angles(run["attitude"], run["signals/attitude"])) < 3.0


@pytest.mark.jit
def test_charge_and_voltage_add_up() -> None:
    """Charge used is the integral of the pack current; at the end V = E(charge) - v_RC - R I (circuit laws)."""
    session, run = flown(sensor_errors=True)
    warm = 1.0 - 0.006 * 5.0  # the shipped share of the capacity per kelvin, 15 instead of 20 deg C
    used = (run["charge"][0] - run["charge"][-1]) * float(session.plant.capacity) * warm
    assert used == pytest.approx(np.trapezoid(run["battery_current_A"], run.t_s), rel=2e-3)
    x, plant = session.x, session.plant
    law = plant.cells * cell_voltage(x[X.CHARGE], plant.full_cell_voltage) - x[X.RELAXATION]
    last = run["battery_voltage_V"][-1] + session.held.pack_resistance * run["battery_current_A"][-1]
    assert last == pytest.approx(law, abs=2e-3)
    assert x[X.RELAXATION] > 0.0
