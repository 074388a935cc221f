"""Gains in a flight controller's unit: by hand on round numbers, and against the craft's own blocks in somebody's hands."""

import math

import numpy as np
import pytest

from controllers.contract import SLOTS
from controllers.signals import BUILDER, rows
from quadsim.analysis.craft_loops import Condition, loop_bench
from quadsim.analysis.gain_conversion import Converter, check_rate, converter_of, hand_check, lacking_keys
from quadsim.analysis.hand_check import HandBench
from quadsim.config import load_craft
from quadsim.config.conventions_schema import Conventions
from quadsim.units import DEG

PLAIN = {
    "command_low": 0, "command_high": 1000, "command_idle": 50, "mixer_scale": [1, 1, 0.5], "thrust_curve_inverted": False,
    "gain_scaling": "none", "integral_time_base": "second", "derivative_time_base": "second", "derivative_cutoff_Hz": 60,
}  # fmt: skip
LEFT_RIGHT = np.array([-25.0, -25.0, 25.0, 25.0])


@pytest.fixture
def converter():
    """A craft of round numbers: each newton of a rotor gives 25 rad/s2 of roll; thrust 8 N u^2; hover at u = 0.5."""
    builder = rows(BUILDER)[0]
    builder.effectiveness[0] = LEFT_RIGHT
    builder.effectiveness[1] = [25.0, -25.0, -25.0, 25.0]
    builder.effectiveness[2] = [2.0, -2.0, 2.0, -2.0]
    builder.max_thrust, builder.thrust_curve, builder.hover_throttle, builder.nominal_voltage = (
        8.0,
        1.0,
        0.5,
        14.8,
    )

    def make(**changes):
        return Converter(Conventions.model_validate(PLAIN | changes), builder, 1.0 / 2000.0)

    return make


def test_by_hand(converter):
    """P = 20 1/s: 1 deg/s asks for 20 x pi/180 = 0.349066 rad/s2, that is 0.349066/100 N per rotor; thrust over command has the
    slope 8 N x 2 x 0.5 = 8 N, over the throttle fraction 0.95 of it, 7.6 N: 4.59297e-4 per deg/s."""
    one = converter()
    assert one.converted(20.0, 0, "p") == pytest.approx(4.59297e-4, rel=1e-5)
    assert one.converted(70.0, 0, "i") == pytest.approx(70.0 / 20.0 * 4.59297e-4, rel=1e-5)
    assert one.converted(0.3, 0, "d") == pytest.approx(0.3 / 20.0 * 4.59297e-4, rel=1e-5)
    # yaw: 8 N per rad/s2 and rotor are 1/8 N, the mixer halves what it gets: 8 pi/180 / 8 / 7.6 / 0.5
    assert one.converted(8.0, 2, "p") == pytest.approx(8.0 * DEG / 8.0 / 7.6 / 0.5, rel=1e-12)
    assert (one.unit("p"), one.unit("i")) == ("throttle per deg/s", "throttle per deg/s, per s")


def test_the_check_value_by_hand(converter):
    """100 deg/s: 0.0459297 of the span, each pair its own way: 2 x 0.0459297 x 0.95 = 8.7266 % of the range, 87.266 of 1000."""
    check = hand_check(converter(), 0, converter().converted(20.0, 0, "p"), 16.8)
    assert check.difference_pct == pytest.approx(8.72665, rel=1e-5)
    assert check.difference == pytest.approx(87.2665, rel=1e-5)
    assert check.faster == ("front_right", "rear_right")
    assert check.turned == "right side down"


def test_an_inverted_curve_by_hand(converter):
    """Thrust straight from 0.05^2 to 1 of 8 N over the span: 7.98 N per fraction, so P = 20 1/s is 4.37426e-4. The check at 30 %:
    thrust shares 0.30175 +- 0.0436333, commands sqrt(0.3453833) - sqrt(0.2581167) = 0.0796408."""
    one = converter(thrust_curve_inverted=True)
    assert one.converted(20.0, 0, "p") == pytest.approx(4.37426e-4, rel=1e-5)
    check = hand_check(one, 0, one.converted(20.0, 0, "p"), 16.8)
    assert check.difference_pct == pytest.approx(
        100.0 * (math.sqrt(0.3453833) - math.sqrt(0.2581167)), rel=1e-5
    )


def test_scaling_and_time_base(converter):
    plain = converter()
    voltage = converter(gain_scaling="voltage", reference_voltage_V=12.0, voltage_exponent=2)
    # at 14.8 V it multiplies by (12/14.8)^2, so the number to enter is larger by as much
    assert voltage.converted(20.0, 0, "p") == pytest.approx(
        plain.converted(20.0, 0, "p") * (14.8 / 12.0) ** 2
    )
    # hover at u = 0.5 is (0.5 - 0.05)/0.95 = 0.473684 of the span: between 1.5 and 1.0
    throttle = converter(gain_scaling="throttle", throttle_factors=[1.5, 1.0, 0.5])
    factor = 1.5 - 0.473684 / 0.5 * 0.5
    assert throttle.converted(20.0, 0, "p") == pytest.approx(plain.converted(20.0, 0, "p") / factor, rel=1e-6)
    runs = converter(integral_time_base="run", derivative_time_base="run")
    assert runs.converted(70.0, 0, "i") == pytest.approx(plain.converted(70.0, 0, "i") / 2000.0)
    assert runs.converted(0.3, 0, "d") == pytest.approx(plain.converted(0.3, 0, "d") * 2000.0)
    assert runs.unit("i").endswith("per run")
    assert "run to run" in runs.unit("d")


@pytest.mark.parametrize("inverted", [False, True])
def test_command_and_fraction_are_inverse(converter, inverted):
    one = converter(thrust_curve_inverted=inverted)
    for fraction in (0.0, 0.2, 0.7, 1.0):
        assert one.fraction(one.command(fraction)) == pytest.approx(fraction, abs=1e-12)
    assert one.command(0.0) == pytest.approx(0.05)
    assert one.command(-1.0) == pytest.approx(0.05)


def test_a_strong_gain_is_turned_more_slowly(converter):
    one = converter()
    assert check_rate(one, 0, 4.6e-4, 16.8) == 100.0
    assert check_rate(one, 0, 3e-3, 16.8) == 50.0


@pytest.mark.jit
@pytest.mark.parametrize("axis", [0, 1, 2])
def test_the_same_difference_comes_from_the_craft_s_own_blocks(axis):
    """Second way: estimate, guide, attitude, rate and allocate of Siskin run on the gyroscope of a hand that turns it steadily at
    20 deg/s, integrators waiting as on the ground. Its allocator moves four unequal rotors, the controller's mixer equal ones:
    their means over the pairs agree within 2 %."""
    bench = loop_bench("siskin")
    converter = converter_of(bench)
    assert converter is not None
    held = HandBench(load_craft("siskin"), "rate_command")
    level = held.run(0.3, None)[-1]
    rate = np.full(held.count(0.3), 20.0 * DEG)
    motors = held._run(axis, np.zeros_like(rate), rate, False)[-1]
    effect = np.asarray(bench.builder.effectiveness)[axis]
    change = motors - level  # at rest the allocator holds up an offset centre of mass
    flown = change[effect < 0.0].mean() - change[effect > 0.0].mean()

    row = SLOTS.index("rate")
    gain = converter.converted(float(bench.gains[row, axis]), axis, "p")
    middle = converter.fraction(float(level.mean()))
    nominal = float(bench.builder.nominal_voltage)
    swing = gain * converter.scaling(nominal, middle) * 20.0
    wanted = converter.command(middle + swing) - converter.command(middle - swing)
    assert flown == pytest.approx(wanted, rel=0.02)


@pytest.mark.jit
def test_strength_follows_what_the_controller_leaves_out():
    """An allocator's doing (curve inverted, thrust with the square of the voltage) leaves nothing over; without inversion the
    loop is stronger with throttle, and without voltage scaling with a full pack."""
    bench = loop_bench("siskin")
    one = converter_of(bench)
    assert one is not None
    full, fast = Condition(), Condition(duty=0.95)
    for condition in (full, fast, Condition(cell_voltage=3.6)):
        assert one.strength(bench, condition) == pytest.approx(1.0, abs=1e-9)
    stated = one.stated.model_dump()
    straight = Converter(
        Conventions.model_validate(stated | {"thrust_curve_inverted": False}), one.builder, one.rate_dt
    )
    hover = float(one.builder.hover_throttle)
    assert straight.strength(bench, fast) == pytest.approx(one.slope(0.95) / one.slope(hover), rel=1e-9)
    bare = {"gain_scaling": "none", "reference_voltage_V": None, "voltage_exponent": None}
    unscaled = Converter(Conventions.model_validate(stated | bare), one.builder, one.rate_dt)
    assert unscaled.strength(bench, full) > 1.1
    assert unscaled.strength(bench, Condition(cell_voltage=3.6)) < unscaled.strength(bench, full)


@pytest.mark.jit
def test_refused_while_a_key_is_unknown():
    bench = loop_bench("bonxie")
    assert converter_of(bench) is None
    assert "mixer_scale" in lacking_keys(bench)
    whole = loop_bench("siskin")
    assert lacking_keys(whole) == ()
    board = whole.craft.flight_controller
    assert board.conventions is not None
    for key in ("mixer_scale", "reference_voltage_V", "integral_time_base"):
        less = board.model_copy(update={"conventions": board.conventions.model_copy(update={key: None})})
        craft = whole.craft.model_copy(update={"flight_controller": less})
        part = loop_bench(craft)
        assert converter_of(part) is None
        assert lacking_keys(part) == (key,)
