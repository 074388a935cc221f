"""The estimator in a real flight, and the flight's bookkeeping of charge."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from quadsim.config.flight_loader import parse_flight
from quadsim.dynamics.battery import cell_voltage
from quadsim.dynamics.state import X
from quadsim.kinematics.quaternion import from_euler
from quadsim.simulation.fly import snapshot, start
from quadsim.simulation.metrics import angle_between, compute
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


ESTIMATED = """
title = "A flight for the estimate"
craft = "bonxie"
duration_s = {seconds}
log_rate_Hz = 100
[start]
height_m = 20
"""
HOVER_IN_WIND = """
[wind]
speed_m_s = 6
from_deg = 300
turbulence = { intensity = "light" }
"""
BANKED_TURN = "".join(
    f"[[at]]\nt_s = {1.0 + 0.5 * k}\nroll_deg = 25\nheading_deg = {20 * k % 360}\n" for k in range(60)
)
"""Half a minute with 25 degrees of bank while the heading goes round at 40 deg/s."""
RUN_UP = (
    "[[at]]\nt_s = 1\npitch_deg = -25\n[[at]]\nt_s = 11\npitch_deg = 25\n[[at]]\nt_s = 15\npitch_deg = 0\n"
)


def estimated(estimate: str, seconds: float, rest: str) -> Run:
    session = start(parse_flight(ESTIMATED.format(seconds=seconds) + rest), blocks={"estimate": estimate})
    session.advance(10**7)
    return snapshot(session)


def tilt_errors(run: Run) -> np.ndarray:
    """Angle between the true and the estimated down axis [deg]: heading left out."""

    def down(q: np.ndarray) -> np.ndarray:
        w, x, y, z = q.T
        return np.stack([2 * (x * z - w * y), 2 * (y * z + w * x), 1 - 2 * (x * x + y * y)], axis=1)

    cosine = np.sum(down(run["attitude"]) * down(run["signals/attitude"]), axis=1)
    return np.degrees(np.arccos(np.clip(cosine, -1.0, 1.0)))


@pytest.mark.jit
@pytest.mark.parametrize(
    ("seconds", "rest", "kalman_deg"),
    [(30, HOVER_IN_WIND, 1.0), (35, BANKED_TURN, 1.5), (25, RUN_UP, 2.0)],
    ids=["hover in wind", "banked turn", "run-up"],
)
def test_tilt_where_the_accelerometer_shows_no_gravity(seconds: float, rest: str, kalman_deg: float) -> None:
    """Measured: hover in wind 2.0 deg at worst with the complementary filter and 0.6 with the Kalman filter, long turn 5.1
    and 1.0, run-up 5.1 and 1.5: with a place a wrong tilt shows as a wrong velocity. Velocity within five times
    its spread of 0.05 m/s per axis and fix; the place within three of the fix's own, 2.1 m of circular error at 95 % and more."""
    runs = {name: estimated(name, seconds, rest) for name in ("complementary", "kalman")}
    late = runs["kalman"].t_s > 3.0
    tilt = {name: float(np.max(tilt_errors(run)[late])) for name, run in runs.items()}
    assert tilt["kalman"] < kalman_deg < tilt["complementary"] < 8.0
    for name, place_m, velocity_m_s in (("kalman", 3.8, 0.4), ("complementary", 3.8, 1.2)):
        run = runs[name]
        assert compute(run, "position_error_m", 3.0) < place_m
        assert compute(run, "velocity_error_m_s", 3.0) < velocity_m_s
        assert np.all(run["signals/position_known"][late] == 1.0)
        assert np.all(run["signals/heading_known"][late] == 1.0)


@pytest.mark.jit
def test_without_satellites_the_place_is_known_for_a_while() -> None:
    """Five seconds are bridged: the spread grows and the error with it, by far less than 5 m/s of drift would; for longer than
    FIX_AGE the place is unknown, and the next fix is taken as it is."""
    fault = '[[at]]\nt_s = 10\nfault = {{ kind = "gnss_lost", duration_s = {0:g} }}\n'
    short = estimated("kalman", 20, HOVER_IN_WIND + fault.format(5))
    at = {t: int(np.searchsorted(short.t_s, t)) for t in (9.9, 15.0, 19.0)}
    spread = short["signals/position_sigma_m"]
    assert spread[at[15.0]] > spread[at[9.9]] * 1.02
    assert spread[at[19.0]] < spread[at[15.0]]
    assert compute(short, "position_error_m", 10.0) < 4.5
    assert compute(short, "velocity_error_m_s", 10.0) < 1.0
    assert np.all(short["signals/position_known"][at[9.9] :] == 1.0)
    long = estimated("kalman", 28, HOVER_IN_WIND + fault.format(14))
    known = long["signals/position_known"]
    assert known[np.searchsorted(long.t_s, 18.0)] == 1.0
    assert known[np.searchsorted(long.t_s, 23.0)] == 0.0
    assert known[-1] == 1.0
    assert compute(long, "position_error_m", 25.0) < 4.5
    assert long.status == "done"


def test_error_of_an_attitude_is_the_geodesic_distance() -> None:
    """Euler angles (30, 20, 10) and (35, 18, 13) deg, heading first: 5.312617 deg (scipy's Rotation.magnitude)."""
    one, two = ((30, 20, 10), (35, 18, 13))
    q = [np.array([from_euler(*np.radians(a[::-1]))]) for a in (one, two)]
    assert angles(q[0], q[1])[0] == pytest.approx(5.312617, abs=1e-6)
    pair = [Rotation.from_euler("ZYX", a, degrees=True) for a in (one, two)]
    assert np.degrees((pair[0].inv() * pair[1]).magnitude()) == pytest.approx(5.312617, abs=1e-6)
    assert np.degrees(angle_between(q[0], q[1]))[0] == pytest.approx(5.312617, abs=1e-6)
