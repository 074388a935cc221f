"""The linear model of the craft and of its control blocks against closed forms, scipy.signal and python-control."""

from __future__ import annotations

import math
from dataclasses import replace

import control
import numpy as np
import pytest
from scipy import signal

from controllers.allocate import AllocateGain
from controllers.contract import SLOTS
from controllers.rate import RateGain
from controllers.signals import SIGNALS, Mode, rows
from quadsim.analysis.block_rest import chain_at_rest
from quadsim.analysis.craft_loops import (
    LOOPS,
    Condition,
    LoopBench,
    charge_at,
    craft_loops,
    frequencies,
    loop_bench,
)
from quadsim.analysis.linear_block import LinearBlock
from quadsim.analysis.linear_plant import L, linearise
from quadsim.analysis.loop_hardware import first_order, held_between, hold
from quadsim.analysis.margin_survey import flexible_margins, margins_at
from quadsim.analysis.margins import margins
from quadsim.analysis.sampled_loop import loop_modes
from quadsim.config.craft_schema import Flexible
from quadsim.config.equilibrium import open_circuit_cell, static_factors
from quadsim.dynamics.state import X
from quadsim.errors import InputError

pytestmark = pytest.mark.jit  # some ten thousand runs of the blocks each

G0 = 9.80665


@pytest.fixture(scope="module")
def bench() -> LoopBench:
    return loop_bench("siskin")


@pytest.fixture(scope="module")
def hover(bench):
    return craft_loops(bench, Condition())


def test_a_tilted_craft_accelerates_by_g_times_the_tilt(hover):
    """Statics: thrust m g turned by a small angle pushes sideways with g times the angle (right for roll, back for pitch)."""
    a = hover.plant.a
    assert a[L.VELOCITY + 1, L.TURN] == pytest.approx(G0, rel=1e-3)
    assert a[L.VELOCITY, L.TURN + 1] == pytest.approx(-G0, rel=1e-3)
    assert np.allclose(a[L.POSITION : L.POSITION + 3, L.VELOCITY : L.VELOCITY + 3], np.eye(3), atol=1e-9)
    assert np.allclose(a[L.TURN : L.TURN + 3, L.RATES : L.RATES + 3], np.eye(3), atol=1e-9)


def test_rotors_turn_the_craft_by_thrust_slope_times_arm_over_inertia(hover):
    """Statics: I dp/dt = r x (0, 0, -dT), dT/dw from the static thrust (`static_factors`) a little faster and slower."""
    point, a = hover.plant.point, hover.plant.a
    plant, speed = point.plant, point.x[X.ROTORS : X.ROTORS + 4]
    for n in range(4):
        up, down = (static_factors(plant, k * speed[n])[0] * (k * speed[n]) ** 2 for k in (1.01, 0.99))
        slope = (up - down) / (0.02 * speed[n])
        arm = np.cross(np.asarray(plant.rotor_position[n]), [0.0, 0.0, -1.0])
        wanted = np.asarray(plant.inertia_inverse) @ (arm * slope)
        got = a[L.RATES : L.RATES + 2, L.ROTORS + n]
        assert got == pytest.approx(wanted[:2], rel=0.03), n


def test_a_sample_held_is_late_by_half_of_it():
    """CTL-27: w h/2 of phase: 5.4 deg for 1 kHz at 30 Hz, 0.9 deg for 8 kHz at 40 Hz (Franklin, Powell & Workman, sec. 5.3)."""
    for rate, frequency, lag in ((1000.0, 30.0, 5.4), (8000.0, 40.0, 0.9)):
        got = hold(np.array([2.0 * math.pi * frequency]), 1.0 / rate)[0]
        assert -math.degrees(np.angle(got)) == pytest.approx(lag, abs=1e-9)


def test_what_is_read_more_often_than_it_comes_is_held():
    """A staircase of n equal values: mean of z^-k, k = 0..n-1 (geometric series)."""
    w, fast = np.array([10.0, 300.0, 2000.0]), 1.0 / 2000.0
    z = np.exp(-1j * w * fast)
    assert held_between(w, 4.0 * fast, fast) == pytest.approx((1.0 - z**4) / (1.0 - z) / 4.0)


def test_smoothing_once_a_sample_is_the_filter_of_scipy():
    """y += b (x - y): scipy.signal.freqz of b/(1 - (1 - b) z^-1)."""
    w, blend, dt = np.array([10.0, 100.0, 1500.0]), 0.3, 1.0 / 2000.0
    _, wanted = signal.freqz([blend], [1.0, blend - 1.0], worN=w * dt)
    assert first_order(w, blend, dt) == pytest.approx(wanted)


def _column(model: LinearBlock, w: np.ndarray, output: tuple[str, int], given: tuple[str, int]) -> np.ndarray:
    return model.response(w)[:, model.outputs.index(output), model.inputs.index(given)]


def test_the_estimate_passes_rates_through_its_butterworth(hover, bench):
    """Second-order Butterworth at the cut-off in force, bilinear (scipy.signal.butter), from gyro to rates."""
    model = hover.chain.blocks["estimate"]
    w = 2.0 * math.pi * np.array([1.0, 20.0, 100.0, 300.0])
    cutoff = bench.gains[0, 4]
    b, a = signal.butter(2, cutoff * 2.0 * model.dt)
    _, wanted = signal.freqz(b, a, worN=w * model.dt)
    assert _column(model, w, ("rates", 0), ("gyro", 0)) == pytest.approx(wanted, rel=2e-3)


def test_the_rate_block_is_its_own_pid(hover, bench):
    """C = P + I dt/(1 - 1/z) + D (filtered difference), backward Euler as in K. J. Astrom & T. Hagglund (1995), ch. 3."""
    model = hover.chain.blocks["rate"]
    w = 2.0 * math.pi * np.array([0.5, 5.0, 30.0, 200.0])
    z, dt, gains = np.exp(1j * w * model.dt), model.dt, bench.gains[3]
    lag = 1.0 / (2.0 * math.pi * gains[RateGain.DERIVATIVE_CUTOFF])
    slope = (1.0 - 1.0 / z) / (lag + dt) / (1.0 - lag / (lag + dt) / z)
    wanted = (
        -gains[RateGain.ROLL_P]
        - gains[RateGain.ROLL_I] * dt / (1.0 - 1.0 / z)
        - gains[RateGain.ROLL_D] * slope
    )
    assert _column(model, w, ("angular_acceleration_wanted", 0), ("rates", 0)) == pytest.approx(
        wanted, rel=1e-5
    )


def _proportional(bench: LoopBench, p: float) -> LoopBench:
    """Rates alone, P alone, no filter: the loop of the textbook."""
    gains = bench.gains.copy()
    gains[0, 4] = 0.0  # no low-pass in the estimate
    gains[1, 12:15] = 0.0
    gains[2, 0:2] = 0.0
    gains[3] = 0.0
    gains[3, RateGain.ROLL_P] = p
    gains[3, RateGain.DERIVATIVE_CUTOFF] = 60.0
    return bench.with_gains(gains)


def test_a_proportional_rate_loop_is_that_of_the_textbook(bench):
    """L = P e^(-s T)/(s (1 + s Tm)) (CTL-12 with the craft's numbers): margins by python-control, Pade of order 6.

    Tm: the rotors' own time constant from the model's eigenvalues; T: sample age, hold, command path and the lag of the
    gyroscope and the ESC. Within 1 dB and 3 deg: the craft has a little rate damping that the textbook's has not, and a slow mode
    of speed and tilt, which is why the phase is compared at the crossover alone.
    """
    one = craft_loops(_proportional(bench, 20.0), Condition())
    hardware = one.hardware
    rotor = 1.0 / -np.sort(np.linalg.eigvals(one.plant.a).real)[0:4].mean()
    gyro = bench.sensors.imu_period * (1.0 / hardware.gyro_blend - 1.0)
    esc = hardware.h * (1.0 / hardware.motor_blend[0] - 1.0)
    delay = hardware.imu_age + hardware.command_age + 0.5 * hardware.command_hold + gyro + esc
    numerator, denominator = control.pade(delay, 6)
    textbook = control.tf([20.0], [rotor, 1.0, 0.0]) * control.tf(numerator, denominator)
    gain, phase, _, crossover = control.margin(textbook)
    w = frequencies(one.bench)
    loop = one.model(w).loop(LOOPS["roll"])
    got = margins(w, loop)
    assert got.gain_up_dB == pytest.approx(20.0 * math.log10(gain), abs=1.0)
    assert 2.0 * math.pi * got.crossover_Hz == pytest.approx(crossover, rel=0.05)
    there = np.interp(crossover, w, np.unwrap(np.angle(loop)))
    assert (180.0 + math.degrees(there)) % 360.0 == pytest.approx(phase, abs=3.0)


def _louder(one, slot: str, place: tuple[str, int], factor: float):
    """The loops with one output of a block multiplied."""
    model = one.chain.blocks[slot]
    row = model.a.shape[0] - len(model.outputs) + model.outputs.index(place)
    a, b = model.a.copy(), model.b.copy()
    a[row], b[row] = factor * a[row], factor * b[row]
    blocks = {**one.chain.blocks, slot: replace(model, a=a, b=b)}
    return replace(one, chain=replace(one.chain, blocks=blocks))


@pytest.mark.parametrize("name", ["roll", "pitch", "yaw"])
def test_margins_are_where_the_sampled_loop_loses_its_stability(hover, bench, name):
    """Two ways that share no formula: gain margin of the frequency response, eigenvalues over one period of all clocks."""
    w = frequencies(bench)
    node = LOOPS[name]
    up = margins(w, hover.model(w).loop(node)).gain_up_dB
    for factor, stable in ((0.95, True), (1.05, False)):
        modes = loop_modes(_louder(hover, "rate", node, factor * 10.0 ** (up / 20.0)))
        assert modes.stable is stable, (name, factor)


def test_a_flexible_mode_costs_margin_in_both_ways_of_looking(bench):
    """A light mode of 35 Hz in the gyroscope's place: less gain margin, shown as the mode's, and the eigenvalues of the
    sampled loop agree on it within 5 %."""
    frame = bench.craft.frame.model_copy(
        update={"flexible": Flexible(frequency_Hz=35.0, damping_pct=2.0, share=(0.3, 0.0, 0.0))}
    )
    craft = bench.craft.model_copy(update={"frame": frame})
    craft._path, craft._source_text = bench.craft.path, bench.craft.source_text
    soft = margins_at(loop_bench(craft), Condition())
    stiff = margins_at(bench, Condition())
    up = soft.margins["roll"].gain_up_dB
    assert up < stiff.margins["roll"].gain_up_dB - 3.0
    assert flexible_margins(soft)["roll"] == pytest.approx(up)
    assert not flexible_margins(stiff)
    for factor, stable in ((0.95, True), (1.05, False)):
        louder = _louder(soft.loops, "rate", LOOPS["roll"], factor * 10.0 ** (up / 20.0))
        assert loop_modes(louder).stable is stable, factor


def test_a_loop_with_the_wrong_sign_is_unstable(hover):
    assert loop_modes(hover).stable
    modes = loop_modes(_louder(hover, "rate", LOOPS["roll"], -1.0))
    assert not modes.stable and modes.doubling_s < 1.0


def test_a_doubled_delay_costs_the_phase_that_it_must(hover, bench):
    """Phase of a delay: w T (CTL-36)."""
    w = frequencies(bench)
    before = hover.model(w).loop(LOOPS["roll"])
    more = replace(hover, hardware=replace(hover.hardware, command_age=2.0 * hover.hardware.command_age))
    after = more.model(w).loop(LOOPS["roll"])
    here = np.searchsorted(w, 2.0 * math.pi * 4.0)
    lost = np.angle(before[here] / after[here])
    assert lost == pytest.approx(w[here] * hover.hardware.command_age, rel=0.1)


def test_a_low_cell_voltage_is_a_charge(bench):
    charge = charge_at(bench.plant, 3.7)
    assert float(open_circuit_cell(charge, float(bench.plant.full_cell_voltage))) == pytest.approx(
        3.7, abs=1e-9
    )
    with pytest.raises(InputError, match="at rest"):
        charge_at(bench.plant, 4.5)


def test_too_fast_is_said_to_be_so(bench):
    with pytest.raises(InputError, match="80 m/s"):
        bench.point(Condition(forward=80.0))


def test_steady_flight_stays_steady(bench):
    """Nothing but the place changes: the derivative of the whole plant, renewed, is zero there."""
    for condition in (Condition(), Condition(forward=10.0), Condition(climb=2.0)):
        point = bench.point(condition)
        again = linearise(point, bench.sensors)
        assert np.all(np.isfinite(again.a))
        pitch = point.euler[1]
        assert (pitch < -0.02) is (condition.forward > 0.0)


def test_the_chain_rests(bench, hover):
    """At rest a block does not move: running it once more leaves memory and outputs as they are (no drift, no transient)."""
    rest = chain_at_rest(
        bench.blocks, bench.gains, bench.builder, bench.sensors, np.asarray(bench.rates.every), bench.h,
        hover.plant.point, Mode.SETPOINT,
    )  # fmt: skip
    assert set(rest.rest) == set(SLOTS)
    for slot in ("rate", "attitude"):
        model = hover.chain.blocks[slot]
        assert np.all(np.isfinite(model.a)) and np.all(np.isfinite(model.b))


@pytest.mark.parametrize("compensation", [1.0, 0.5, 0.0])
@pytest.mark.parametrize("condition", [Condition(), Condition(duty=0.95), Condition(forward=17.0)])
def test_the_allocator_rests_at_the_commands_of_the_point(bench, compensation, condition):
    """Whatever share of the pack's voltage it reckons with: else its slope, and with it every loop, is that of other commands."""
    gains = bench.gains.copy()
    gains[4, AllocateGain.VOLTAGE_COMPENSATION] = compensation
    loops = craft_loops(bench.with_gains(gains), condition)
    s, rest = rows(SIGNALS), loops.chain.rest.rest["allocate"]
    s.view(np.float64).reshape(-1)[:] = rest.signals
    s[0].dt = loops.chain.blocks["allocate"].dt
    bench.blocks[4].compiled(s[0], bench.builder, gains[4], rest.memory.copy())
    assert s[0].motor == pytest.approx(loops.plant.point.duty, abs=1e-6)
    assert np.all(s[0].unallocated == 0.0)
