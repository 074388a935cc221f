"""Control blocks against values from outside: closed forms, textbooks, scipy and python-control."""

from __future__ import annotations

import math

import control
import numpy as np
import pytest
from scipy import signal
from scipy.spatial.transform import Rotation

from controllers import BUILDER, SIGNALS, rows
from controllers.allocate import allocate_thrusts, command_for, priority, thrust_at
from controllers.attitude import AttitudeGain, quaternion_p, tilt_and_turn
from controllers.estimate import EstimateGain, complementary
from controllers.filters import (
    derivative_shares,
    first_order_share,
    second_order_low_pass,
    second_order_rest,
    second_order_step,
)
from controllers.rate import RateGain, gyroscopic, integrate, pid
from controllers.rotation import from_euler, from_specific_force, multiply, to_euler, turn

G0 = 9.80665


def scipy_quaternion(rotation: Rotation) -> np.ndarray:
    return np.roll(rotation.as_quat(), 1)


def test_quaternion_of_euler_angles() -> None:
    """Half-angle product, agrees with scipy: heading 30, pitch 20, roll 10 degrees."""
    q = from_euler(math.radians(10), math.radians(20), math.radians(30))
    assert q == pytest.approx((0.9515485246, 0.0381345765, 0.1893078574, 0.2392983377), abs=1e-9)
    assert np.degrees(to_euler(*q)) == pytest.approx((10.0, 20.0, 30.0), abs=1e-9)


def test_turn_by_axis_and_angle() -> None:
    """Rodrigues: 120 degrees about (1, 1, 1) is (1/2, 1/2, 1/2, 1/2); needs the large-angle branch."""
    rate = 2.0 * math.pi / 3.0 / math.sqrt(3.0)
    assert turn(1.0, 0.0, 0.0, 0.0, rate, rate, rate, 1.0) == pytest.approx((0.5, 0.5, 0.5, 0.5), abs=1e-12)


def test_constant_body_rate() -> None:
    """q(t) = q0 exp(w t/2), 10 s at (0.3, -0.2, 0.5) rad/s: closed form, 1e-6 rad at 1 kHz asked, 1e-9 reached."""
    q = (1.0, 0.0, 0.0, 0.0)
    for _ in range(10000):
        q = turn(*q, 0.3, -0.2, 0.5, 1e-3)
    assert np.array(q) * np.sign(q[0]) == pytest.approx(
        [0.9982371903, -0.0288838904, 0.0192559269, -0.0481398173], abs=1e-9
    )


def test_tilt_from_specific_force() -> None:
    """Trigonometry; (2.0, 1.5, 9.0) in forward-left-up axes is (2.0, -1.5, -9.0) here, where pitch is nose up."""
    roll, pitch, yaw = to_euler(*from_specific_force(2.0, -1.5, -9.0, 0.7))
    assert math.degrees(roll) == pytest.approx(9.462322, abs=1e-6)
    assert math.degrees(pitch) == pytest.approx(12.363617, abs=1e-6)
    assert yaw == pytest.approx(0.7, abs=1e-12)


def run_estimate(
    seconds: float, bias: float, kp: float, ki: float, tilt: float, accel: tuple = (0.0, 0.0, -G0)
) -> np.record:
    """Signals after `seconds` of rest at 1 kHz, with a tilt error about x and a gyro bias about x."""
    s, craft, memory = rows(SIGNALS)[0], rows(BUILDER)[0], np.zeros(512)
    gains = complementary.default_gains()
    gains[EstimateGain.TILT_P], gains[EstimateGain.BIAS_I] = kp, ki
    s.dt, s.airborne = 1e-3, 1.0
    s.attitude[0], s.attitude[1] = math.cos(tilt / 2), math.sin(tilt / 2)
    s.accel[:] = accel
    s.gyro[0] = bias
    for _ in range(round(seconds * 1000)):
        complementary(s, craft, gains, memory)
    return s


@pytest.mark.parametrize(("seconds", "degrees"), [(1.0, 40.3951), (2.0, 15.4146)])
def test_complementary_filter_error_decay(seconds: float, degrees: float) -> None:
    """Mahony, Hamel, Pflimlin 2008: de/dt = -k sin e, so tan(e/2) falls as exp(-k t); from 90 degrees, k = 1 1/s."""
    s = run_estimate(seconds, 0.0, 1.0, 0.0, math.pi / 2)
    assert math.degrees(to_euler(*s.attitude)[0]) == pytest.approx(degrees, abs=0.05)


@pytest.mark.jit
def test_complementary_filter_with_gyro_bias() -> None:
    """Without integral a standing tilt asin(b/k) = 0.572967 deg; with it (0.3 1/s2) none, and the bias is found."""
    s = run_estimate(20.0, 0.01, 1.0, 0.0, 0.0)
    assert math.degrees(to_euler(*s.attitude)[0]) == pytest.approx(0.572967, abs=1e-4)
    s = run_estimate(40.0, 0.01, 1.0, 0.3, 0.0)
    assert math.degrees(to_euler(*s.attitude)[0]) == pytest.approx(0.0, abs=1e-3)
    assert s.rates[0] == pytest.approx(0.0, abs=1e-5)


def test_free_flight_reads_level() -> None:
    """In free flight without drag the accelerometer sees thrust alone, along body z: any tilt reads as level.

    R. Leishman et al., IEEE Control Systems Magazine 34(1), 2014. A filter that trusts it forgets a true 20 degrees.
    """
    s = run_estimate(15.0, 0.0, 1.0, 0.0, math.radians(20))
    assert abs(math.degrees(to_euler(*s.attitude)[0])) < 0.01
    s = run_estimate(2.0, 0.0, 1.0, 0.0, math.radians(20), accel=(0.0, 0.0, -2.0 * G0))
    assert math.degrees(to_euler(*s.attitude)[0]) == pytest.approx(20.0, abs=1e-9)


def test_third_order_height_blend() -> None:
    """Constant accelerometer bias b0: triple pole at 1 rad/s, so b goes to -b0 as 1 - (1 + t + t^2/2) exp(-t)."""
    s, craft, memory = rows(SIGNALS)[0], rows(BUILDER)[0], np.zeros(512)
    s.dt, s.airborne, s.attitude[0] = 1e-3, 1.0, 1.0
    s.accel[2] = -G0 - 0.5
    t = np.arange(1, 8001) * 1e-3
    height = []
    for _ in t:
        complementary(s, craft, complementary.default_gains(), memory)
        height.append(s.height)
    # Height error transfer s/(s + 1)^3 from the step 0.5/s: 0.5 t^2/2 exp(-t).
    assert np.array(height) == pytest.approx(0.25 * t**2 * np.exp(-t), abs=1e-3)


def test_second_order_low_pass_coefficients() -> None:
    """Audio EQ Cookbook (W3C 2021), 100 Hz at 1 kHz; the same as scipy butter(2)."""
    b0, a1, a2 = second_order_low_pass(0.1)
    assert (b0, a1, a2) == pytest.approx((0.0674552739, -1.1429805025, 0.4128015981), abs=1e-9)


def test_second_order_low_pass_filters_like_scipy() -> None:
    draw = np.random.default_rng(0).normal(size=400) + 3.0
    b0, a1, a2 = second_order_low_pass(0.15)
    z1, z2 = second_order_rest(draw[0], b0, a1, a2)
    ours = []
    for x in draw:
        y, z1, z2 = second_order_step(x, b0, a1, a2, z1, z2)
        ours.append(y)
    b, a = signal.butter(2, 0.30)
    theirs, _ = signal.lfilter(b, a, draw, zi=signal.lfilter_zi(b, a) * draw[0])
    assert np.array(ours) == pytest.approx(theirs, abs=1e-12)


def test_first_order_low_pass() -> None:
    """z-transform: 1 - exp(-2 pi f h), 100 Hz at 1 kHz and 90 Hz at 8 kHz."""
    assert first_order_share(100.0, 1e-3) == pytest.approx(0.466512, abs=1e-6)
    assert first_order_share(90.0, 1.25e-4) == pytest.approx(0.0682454, abs=1e-7)


def test_derivative_filter() -> None:
    """Astrom and Wittenmark, Kd s/(1 + s T), Kd = 0.02, T = 5 ms, h = 1 ms: 0.833333 and 3.333333; as scipy."""
    old, new = derivative_shares(5e-3, 1e-3)
    assert (old, 0.02 * new) == pytest.approx((0.833333, 3.333333), abs=1e-6)
    numerator, denominator, _ = signal.cont2discrete(([1.0, 0.0], [5e-3, 1.0]), 1e-3, "backward_diff")
    assert numerator[0] == pytest.approx([new, -new], rel=1e-12)
    assert denominator == pytest.approx([1.0, -old], rel=1e-12)


# The craft MX: 0.65 kg, arm 0.125 m in an X, moment 0.012 m times thrust, 6.5 N a rotor; rotors front_right, rear_right,
# rear_left, front_left. Inverse 1/4 [1, 1/d, 1/d, 1/c], d = 0.125/sqrt(2): closed form.
D, C, T_MAX = 0.125 / math.sqrt(2.0), 0.012, 6.5
MX = np.array([
    [-D, -D, D, D],
    [D, -D, -D, D],
    [-C, C, -C, C],
    [1.0, 1.0, 1.0, 1.0],
])  # fmt: skip
MX_INVERSE = np.ascontiguousarray(np.linalg.inv(MX))


def spread(
    wanted: tuple, low: float, high: float, shift: float, allocation: np.ndarray = MX_INVERSE
) -> tuple:
    thrusts, missing = np.zeros(4), np.zeros(4)
    allocate_thrusts(allocation, *wanted, low, high, shift, shift, thrusts, missing)
    return thrusts, missing


def test_hover_point() -> None:
    """Statics: a quarter of the weight, and the square root of its share as command: 1.5935806 N, 0.495143."""
    thrusts, _ = spread((0.0, 0.0, 0.0, 0.65 * G0), 0.0, T_MAX, np.inf)
    assert thrusts == pytest.approx([1.5935806] * 4, abs=1e-6)
    assert command_for(thrusts[0] / T_MAX, 1.0) == pytest.approx(0.495143, abs=1e-6)


@pytest.mark.parametrize(
    ("thrust", "tilt", "yaw"),
    [
        (6.3743225, 0.563416, 0.0764919),
        (13.0, 1.149049, 0.156),
        (20.0, 0.530330, 0.072),
        (3.0, 0.265165, 0.036),
    ],
)
def test_greatest_pure_moment_at_fixed_thrust(thrust: float, tilt: float, yaw: float) -> None:
    """d min(T, 4 t - T) and c min(T, 4 t - T): closed form, agrees with a linear programme."""
    for axis, greatest in enumerate((tilt, tilt, yaw)):
        wanted = [0.0, 0.0, 0.0, thrust]
        wanted[axis] = 5.0
        thrusts, missing = spread(tuple(wanted), 0.0, T_MAX, 0.0)
        assert (MX @ thrusts)[axis] == pytest.approx(greatest, abs=1e-6)
        assert missing[axis] == pytest.approx(5.0 - greatest, abs=1e-6)
        assert thrusts.sum() == pytest.approx(thrust, abs=1e-9)


def test_allocation_and_inverse() -> None:
    """Closed form: front_left 2.8409307, front_right 0.3105411, rear_right 1.9924026, rear_left 2.8561255 N."""
    thrusts, missing = spread((0.30, -0.15, 0.02, 8.0), 0.0, T_MAX, np.inf)
    assert thrusts == pytest.approx([0.3105411, 1.9924026, 2.8561255, 2.8409307], abs=1e-7)
    assert MX @ thrusts == pytest.approx([0.30, -0.15, 0.02, 8.0], abs=1e-12)
    assert np.all(missing == 0.0)


# Roll, pitch, yaw and thrust in newtons a rotor, for the cases given as raw rotor thrusts.
RAW = np.array(
    [[1.0, 1.0, 1.0, 0.25], [-1.0, 1.0, -1.0, 0.25], [-1.0, -1.0, 1.0, 0.25], [1.0, -1.0, -1.0, 0.25]]
)


def test_roll_beyond_the_floor() -> None:
    """Arithmetic: 2 N a rotor, roll +-2.5 N: shifted up to 5, 0, 0, 5; with thrust kept 4, 0, 0, 4 (80 % roll).

    Cutting off would give 4.5, 0, 0, 4.5: 90 % of the roll and 1 N too much thrust.
    """
    thrusts, missing = spread((2.5, 0.0, 0.0, 8.0), 0.0, 8.0, np.inf, RAW)
    assert thrusts == pytest.approx([5.0, 0.0, 0.0, 5.0], abs=1e-12)
    assert missing == pytest.approx([0.0, 0.0, 0.0, -2.0], abs=1e-12)
    thrusts, missing = spread((2.5, 0.0, 0.0, 8.0), 0.0, 8.0, 0.0, RAW)
    assert thrusts == pytest.approx([4.0, 0.0, 0.0, 4.0], abs=1e-12)
    assert missing == pytest.approx([0.5, 0.0, 0.0, 0.0], abs=1e-12)


def test_yaw_gives_way_first() -> None:
    """Arithmetic: 7, 1, 1, 7 N and +-2 N of yaw: only yaw is reduced, to 1 N. Order: Faessler et al. 2017."""
    thrusts, missing = spread((3.0, 0.0, 2.0, 16.0), 0.0, 8.0, np.inf, RAW)
    assert thrusts == pytest.approx([8.0, 0.0, 2.0, 6.0], abs=1e-12)
    assert missing == pytest.approx([0.0, 0.0, 1.0, 0.0], abs=1e-12)


def test_throttle_linearity() -> None:
    """Thrust as the square of speed: hover speed is 1/sqrt(thrust to weight); half speed, a quarter of the thrust."""
    speeds = [command_for(1.0 / ratio, 1.0) for ratio in (2.0, 4.0, 5.0, 9.0)]
    assert speeds == pytest.approx([0.707107, 0.5, 0.447214, 0.333333], abs=1e-6)
    assert thrust_at(0.5, 1.0) == pytest.approx(0.25, abs=1e-15)


def test_voltage_is_made_up_for() -> None:
    """Thrust as the square of the voltage: at 90 % of it, a rotor gives 81 %, and the command rises by 1/0.9."""
    s, craft, memory = rows(SIGNALS)[0], rows(BUILDER)[0], np.zeros(512)
    craft.allocation[:], craft.max_thrust, craft.thrust_curve, craft.nominal_voltage = (
        MX_INVERSE,
        T_MAX,
        1.0,
        14.8,
    )
    s.dt, s.battery_voltage, s.thrust_wanted, s.airborne = 1e-3, 0.9 * 14.8, 0.65 * G0, 1.0
    s.armed = 1.0
    priority(s, craft, priority.default_gains(), memory)
    assert s.motor == pytest.approx([0.495143 / 0.9] * 4, abs=1e-6)


def test_tilt_and_turn_against_scipy() -> None:
    """q = q_tilt q_turn with the tilt axis level and the turn about body z; Brescianini et al. 2013."""
    for draw in Rotation.random(50, rng=3):
        w, x, y, z = scipy_quaternion(draw)
        tx, ty, tz = tilt_and_turn(w, x, y, z)
        tilt = np.array([math.sqrt(max(1.0 - (tx * tx + ty * ty) / 4.0, 0.0)), tx / 2.0, ty / 2.0, 0.0])
        about = np.array([math.sqrt(max(1.0 - tz * tz / 4.0, 0.0)), 0.0, 0.0, tz / 2.0])
        assert abs(np.dot(multiply(*tilt, *about), (w, x, y, z))) == pytest.approx(1.0, abs=1e-9)
        assert 2.0 * math.asin(math.hypot(tx, ty) / 2.0) == pytest.approx(
            math.acos(np.clip(draw.as_matrix()[2, 2], -1.0, 1.0)), abs=1e-6
        )


def test_gyroscopic_acceleration() -> None:
    """I^-1 (w x I w) with numpy, full tensor."""
    inertia = np.array([[3e-3, 2e-4, -1e-4], [2e-4, 3.5e-3, 3e-4], [-1e-4, 3e-4, 6e-3]])
    w = np.array([3.0, -5.0, 2.0])
    assert gyroscopic(inertia, *w) == pytest.approx(
        np.linalg.solve(inertia, np.cross(w, inertia @ w)), rel=1e-12
    )


def test_anti_windup_by_clamping() -> None:
    """Astrom and Hagglund 1995, ch. 3: no growth while saturated and the error asks for more; free the other way."""
    assert integrate(2.0, 5.0, 0.4, 1.0, 60.0, 0.1) == 2.0
    assert integrate(2.0, 5.0, 0.4, -1.0, 60.0, 0.1) == pytest.approx(2.2, abs=1e-12)
    assert integrate(2.0, 5.0, 0.4, 0.0, 60.0, 0.1) == pytest.approx(2.2, abs=1e-12)


OVERSHOOT = 100.0 * math.exp(-math.pi)
"""Second-order step with damping 1/sqrt(2) [%]: exp(-pi zeta/sqrt(1 - zeta^2)) = 4.3214 (Ogata, sec. 5-3)."""


def test_rate_loop_damping() -> None:
    """P alone on 1/(s (1 + T s)) with K = 1/(2 T) has damping 1/sqrt(2): closed form; T = 30 ms, loop at 8 kHz."""
    s, craft, memory, lag = rows(SIGNALS)[0], rows(BUILDER)[0], np.zeros(512), 0.03
    gains = np.zeros(32)
    gains[RateGain.ROLL_P], gains[RateGain.DERIVATIVE_CUTOFF] = 1.0 / (2.0 * lag), 60.0
    s.dt, s.airborne, s.rates_wanted[0] = 1.25e-4, 1.0, 1.0
    acceleration, peak = 0.0, 0.0
    for _ in range(3000):
        pid(s, craft, gains, memory)
        acceleration += s.dt / lag * (s.angular_acceleration_wanted[0] - acceleration)
        s.rates[0] += s.dt * acceleration
        peak = max(peak, s.rates[0])
    assert 100.0 * (peak - 1.0) == pytest.approx(OVERSHOOT, abs=0.15)


def test_attitude_cascade_damping() -> None:
    """Attitude P over a rate loop w/(s + w): damping 0.5 sqrt(w/k), so k = w/2 gives 1/sqrt(2): closed form."""
    s, craft, memory, w = rows(SIGNALS)[0], rows(BUILDER)[0], np.zeros(512), 20.0
    gains = quaternion_p.default_gains()
    gains[AttitudeGain.TILT_P] = w / 2.0
    angle = 0.02
    s.attitude_wanted[:], s.attitude_weight = from_euler(angle, 0.0, 0.0), 1.0
    s.attitude[0], s.dt = 1.0, 1e-4
    peak = 0.0
    for _ in range(6000):
        quaternion_p(s, craft, gains, memory)
        s.rates[0] += s.dt * w * (s.rates_wanted[0] - s.rates[0])
        s.attitude[:] = turn(*s.attitude, s.rates[0], 0.0, 0.0, s.dt)
        peak = max(peak, to_euler(*s.attitude)[0])
    assert 100.0 * (peak / angle - 1.0) == pytest.approx(OVERSHOOT, abs=0.15)


@pytest.mark.parametrize("axis", range(3))
def test_default_gains_leave_margins(axis: int) -> None:
    """MIL-F-9490D (1975) sec. 3.1.3.6 asks 6 dB and 45 degrees; motor lag 25 ms, delay 5 ms (Pade, order 6).

    Both the rate loop with all its filters and the attitude loop closed over it, by python-control.
    """
    g = {
        gain.name: gain.default for gain in [*RateGain, *EstimateGain, *AttitudeGain] if gain.name != "TILT_P"
    }
    s = control.tf("s")
    lag = 1.0 / (2.0 * math.pi * g["DERIVATIVE_CUTOFF"])
    w = 2.0 * math.pi * g["GYRO_CUTOFF"]
    name = ("ROLL", "PITCH", "YAW")[axis]
    law = g[f"{name}_P"] if axis < 2 else RateGain.YAW_P.default
    law = law + g[f"{name}_I"] / s + g[f"{name}_D"] * s / (1 + lag * s)
    delay = control.tf(*control.pade(5e-3, 6))
    plant = delay * w**2 / (s**2 + math.sqrt(2.0) * w * s + w**2) / (s * (1 + 25e-3 * s))
    gain_margin, phase_margin, *_ = control.margin(law * plant)
    assert 20.0 * math.log10(gain_margin) > 6.0
    assert phase_margin > 45.0
    outer = AttitudeGain.TILT_P.default if axis < 2 else AttitudeGain.YAW_P.default
    gain_margin, phase_margin, *_ = control.margin(outer / s * control.feedback(law * plant, 1))
    assert 20.0 * math.log10(gain_margin) > 6.0
    assert phase_margin > 45.0
