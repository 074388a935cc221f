"""Figures on control against closed forms and against the slow way of computing them."""

import math

import numpy as np
import pytest

from quadsim.simulation import control_metrics as control
from quadsim.simulation.columns import columns
from quadsim.simulation.run import Run

T = np.arange(4001) / 1000.0


def made_run(**data):
    """Four seconds at 1 kHz, level and at rest, with these columns instead."""
    values = {name: np.zeros((T.size, *signal.shape)) for name, signal in columns().items()}
    values["t_s"] = T
    values["attitude"][:, 0] = values["signals/attitude_wanted"][:, 0] = 1.0
    values["signals/attitude_weight"][:] = 1.0
    values.update({name.replace("__", "/"): column for name, column in data.items()})
    return Run("f", "c", "done", "", values, meta={"motor_path_ohm": 0.05})


def rolled(angle, yaw=0.0):
    """Attitudes (n, 4): heading `yaw`, then roll `angle` [rad]."""
    a, b, _ = np.broadcast_arrays(np.asarray(angle, float) / 2, np.asarray(yaw, float) / 2, T)
    return np.stack(
        [np.cos(a) * np.cos(b), np.sin(a) * np.cos(b), np.sin(a) * np.sin(b), np.cos(a) * np.sin(b)], -1
    )


ALL = np.ones(T.size, bool)


@pytest.mark.parametrize("frequency", [2.0, 15.0, 20.0, 29.0, 100.0, 333.0])
def test_noise_keeps_the_share_of_a_frequency_that_a_moving_mean_leaves(frequency):
    currents = np.zeros((T.size, 4))
    currents[:, 2] = 8.0 + 3.0 * np.sin(2 * math.pi * frequency * T)
    x = math.pi * frequency * control.NOISE_S
    # closed form; a whole number of periods in the four seconds, less the window's half at either end
    share = abs(1.0 - math.sin(x) / x)
    found = control.motor_noise(made_run(motor_current_A=currents), ALL)
    assert found == pytest.approx(3.0 * share / math.sqrt(2.0) / 2.0, rel=0.02)


def test_the_heat_of_noise_is_that_of_its_current():
    currents = np.zeros((T.size, 4))
    currents[:] = 5.0 + 0.6 * np.sin(2 * math.pi * 200.0 * T)[:, None]
    run = made_run(motor_current_A=currents)
    assert control.motor_noise_heat(run, ALL) == pytest.approx(4 * 0.05 * 0.6**2 / 2, rel=1e-3)
    currents[:, 1:] = 5.0  # the same noise on one motor of four
    assert control.motor_noise_heat(run, ALL) == pytest.approx(0.05 * 0.6**2 / 2, rel=1e-3)


@pytest.mark.parametrize("count", [1, 2, 3, 7, 64, 100, 5000])
def test_the_running_greatest_is_that_of_the_last_rows(count):
    values = np.random.default_rng(count).normal(size=(230, 2))
    slow = [values[max(0, k - count + 1) : k + 1].max(axis=0) for k in range(len(values))]
    assert np.array_equal(control.running_greatest(values, count), slow)


@pytest.mark.parametrize("heading", [0.0, 0.5, -2.5])
def test_overshoot_of_a_second_order_step(heading):
    # zeta = 0.6: overshoot exp(-pi zeta/sqrt(1 - zeta^2)) = 9.478 % (K. Ogata, Modern Control Engineering, ex. 5-1)
    zeta, wn, step = 0.6, 12.0, 0.3
    wd, t = wn * math.sqrt(1 - zeta**2), np.maximum(T - 1.0, 0.0)
    flown = step * (1 - np.exp(-zeta * wn * t) * (np.cos(wd * t) + zeta * wn / wd * np.sin(wd * t)))
    run = made_run(
        attitude=rolled(flown, heading), signals__attitude_wanted=rolled(step * (T >= 1.0), heading)
    )
    assert control.overshoot(run, ALL) == pytest.approx(0.0947802 * step, rel=1e-3)


def test_on_the_way_to_what_is_asked_is_no_overshoot():
    slow = made_run(
        attitude=rolled(np.clip(T - 1.0, 0.0, 0.4)), signals__attitude_wanted=rolled(0.4 * (T >= 1.0))
    )
    assert control.overshoot(slow, ALL) == pytest.approx(0.0, abs=1e-9)
    # coming back late it lies beyond what was asked in the last half second: 1 rad/s, so 0.5 of 0.8 rad are done by then
    late = made_run(
        attitude=rolled(0.8 - np.clip(T - 1.0, 0.0, 0.8)), signals__attitude_wanted=rolled(0.8 * (T < 1.0))
    )
    assert control.overshoot(late, ALL) == pytest.approx(0.3, abs=2e-3)


def test_heading_is_no_tilt():
    run = made_run(attitude=rolled(0.2, 0.9), signals__attitude_wanted=rolled(0.0))
    assert control.tilt_rms(run, ALL) == pytest.approx(0.2, rel=1e-9)
    assert control.overshoot(run, ALL) == pytest.approx(0.2, rel=1e-9)
    run.data["signals/attitude_weight"][:] = 0.0  # flown by rates: no attitude is asked for
    assert math.isnan(control.tilt_rms(run, ALL))
    assert math.isnan(control.overshoot(run, ALL))


def test_travel_counts_both_ways():
    motors = np.zeros((T.size, 4))
    motors[:, 0] = np.abs((10.0 * T) % 2.0 - 1.0)  # a triangle: ten times the whole way in a second
    assert control.motor_travel(made_run(signals__motor=motors), ALL) == pytest.approx(10.0 / 4, rel=1e-6)


def test_a_window_too_short_has_no_noise():
    run, rows = made_run(), T < 0.03
    assert math.isnan(control.motor_noise(run, rows))
    assert math.isnan(control.motor_travel(run, T < 0.0005))
