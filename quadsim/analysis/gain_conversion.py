"""Gains of the rate loop in a flight controller's own unit, throttle fraction per deg/s, from its stated conventions.

A rate law asks for an angular acceleration a [rad/s2]. A mixer that moves all four motors alike, with signs, gives it with
a change of thrust T = a / sum |E_i| per rotor, E the effectiveness [rad/s2 per N]. As a share of the greatest thrust and
through the slope of thrust over throttle fraction in hover that is a change of the throttle fraction; over the mixer's scale
it is the axis' output. All at the loaded pack voltage at which the builder's thrust curve holds. Derived here, no source.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from controllers.contract import SLOTS
from controllers.thrust import command_for, thrust_at
from quadsim.analysis.craft_loops import Condition, LoopBench
from quadsim.config.conventions_schema import ALWAYS, Conventions
from quadsim.config.equilibrium import balance
from quadsim.dynamics.state import ROTOR_NAMES, X
from quadsim.units import DEG

AXES = ("roll", "pitch", "yaw")
CHECK_RATE_DEG_S = 100.0
CHECK_THROTTLE = 0.3
MOST_SWING = 0.2
"""Greatest change of a motor's throttle fraction in the check by hand: more might be cut off at idle."""
TURNED = {"roll": "right side down", "pitch": "nose up", "yaw": "clockwise from above"}
"""What a positive rate about each axis looks like."""


@dataclass(frozen=True)
class Converter:
    """From physical gains to those of a flight controller.

    stated : its conventions, all of them known
    builder : BUILDER record
    rate_dt : interval of its rate loop [s]
    """

    stated: Conventions
    builder: Any
    rate_dt: float

    @property
    def idle(self) -> float:
        return self.stated.idle_share

    @property
    def idle_thrust(self) -> float:
        """Share of the greatest thrust at idle."""
        return float(thrust_at(self.idle, self.builder.thrust_curve))

    def slope(self, command: float) -> float:
        """Share of the greatest thrust per motor command, at a command: of k u^2 + (1 - k) u."""
        k = float(self.builder.thrust_curve)
        return 1.0 - k + 2.0 * k * command

    def fraction(self, command: float) -> float:
        """Throttle fraction at which a motor gets a command 0..1."""
        if self.stated.thrust_curve_inverted:
            share = float(thrust_at(command, self.builder.thrust_curve))
            return (share - self.idle_thrust) / (1.0 - self.idle_thrust)
        return (command - self.idle) / (1.0 - self.idle)

    def command(self, fraction: float) -> float:
        """Motor command 0..1 at a throttle fraction; the inverse of `fraction`, and never below idle or over 1."""
        fraction = min(max(fraction, 0.0), 1.0)
        if self.stated.thrust_curve_inverted:
            share = self.idle_thrust + (1.0 - self.idle_thrust) * fraction
            return float(command_for(share, self.builder.thrust_curve))
        return self.idle + (1.0 - self.idle) * fraction

    def scaling(self, voltage: float, fraction: float) -> float:
        """What it multiplies gains by at a pack voltage [V] and a throttle fraction."""
        if self.stated.gain_scaling == "voltage":
            assert self.stated.reference_voltage_V is not None and self.stated.voltage_exponent is not None
            return float((self.stated.reference_voltage_V / voltage) ** self.stated.voltage_exponent)
        if self.stated.gain_scaling == "throttle":
            assert self.stated.throttle_factors is not None
            return float(np.interp(fraction, (0.0, 0.5, 1.0), self.stated.throttle_factors))
        return 1.0

    def thrust_per_fraction(self, command: float) -> float:
        """Change of one rotor's thrust [N] per change of its throttle fraction, at a motor command and nominal voltage."""
        span = 1.0 - self.idle_thrust
        if not self.stated.thrust_curve_inverted:
            span = (1.0 - self.idle) * self.slope(command)
        return float(self.builder.max_thrust) * span

    def output_per_acceleration(self, axis: int) -> float:
        """Axis output per angular acceleration [1/(rad/s2)] in hover at nominal voltage, gain scaling left out."""
        assert self.stated.mixer_scale is not None
        thrust = 1.0 / float(np.sum(np.abs(self.builder.effectiveness[axis])))
        hover = float(self.builder.hover_throttle)
        return thrust / self.thrust_per_fraction(hover) / self.stated.mixer_scale[axis]

    @property
    def hover_scaling(self) -> float:
        """Gain scaling in hover at nominal voltage."""
        return self.scaling(
            float(self.builder.nominal_voltage), self.fraction(float(self.builder.hover_throttle))
        )

    def converted(self, value: float, axis: int, kind: str) -> float:
        """A gain of kind "p" [1/s], "i" [1/s2] or "d" [-] about an axis, in the unit that `unit` names."""
        gain = value * DEG * self.output_per_acceleration(axis) / self.hover_scaling
        if kind == "i" and self.stated.integral_time_base == "run":
            return gain * self.rate_dt
        if kind == "d" and self.stated.derivative_time_base == "run":
            return gain / self.rate_dt
        return gain

    def unit(self, kind: str) -> str:
        """Unit of a converted gain; "throttle" is the fraction 0..1 of the span from idle to full."""
        if kind == "p":
            return "throttle per deg/s"
        if kind == "i":
            return f"throttle per deg/s, per {'s' if self.stated.integral_time_base == 'second' else 'run'}"
        per = "deg/s2" if self.stated.derivative_time_base == "second" else "deg/s from run to run"
        return f"throttle per {per}"

    def strength(self, bench: LoopBench, condition: Condition) -> float:
        """By how much the loops are stronger in a condition than the craft's own allocator makes them; 1 in hover.

        The allocator inverts the thrust curve and reckons with the pack voltage; the flight controller may do neither.
        """
        point = bench.point(condition)
        command = float(np.mean(point.duty))
        voltage = balance(point.plant, command, float(point.x[X.CHARGE])).pack_voltage
        factor = self.scaling(voltage, self.fraction(command)) / self.hover_scaling
        factor *= 1.0 + _compensation(bench) * ((voltage / float(self.builder.nominal_voltage)) ** 2 - 1.0)
        if not self.stated.thrust_curve_inverted:
            factor *= self.slope(command) / self.slope(float(self.builder.hover_throttle))
        return factor


def _compensation(bench: LoopBench) -> float:
    """How far the craft's allocator reckons with the pack voltage, 0 to 1."""
    row = SLOTS.index("allocate")
    return next(
        (float(bench.gains[row, g]) for g in bench.blocks[row].gains if g.name == "VOLTAGE_COMPENSATION"), 0.0
    )


@dataclass(frozen=True)
class HandCheck:
    """What the motors must do, propellers off, integral gains 0 and sticks centred, while a hand turns the craft steadily.

    throttle_fraction, voltage : at which it holds; voltage of the pack [V]
    faster : rotors that speed up; the others slow down by as much
    difference_pct : between the commands of the two pairs, of the whole range; `difference` in the controller's numbers
    """

    axis: str
    turned: str
    rate_deg_s: float
    throttle_fraction: float
    voltage: float
    faster: tuple[str, ...]
    difference_pct: float
    difference: float


def check_rate(converter: Converter, axis: int, p_gain: float, voltage: float) -> float:
    """Rate of the check [deg/s]: CHECK_RATE_DEG_S, or less where that would swing the motors too far with this gain."""
    rate = CHECK_RATE_DEG_S
    while _swing(converter, axis, p_gain, voltage) * rate > MOST_SWING:
        rate /= 2.0
    return rate


def hand_check(
    converter: Converter, axis: int, p_gain: float, voltage: float, rate: float = CHECK_RATE_DEG_S
) -> HandCheck:
    """The check of one axis for a P gain in throttle per deg/s, with a pack of that voltage [V], turned at a rate [deg/s]."""
    stated = converter.stated
    assert stated.command_high is not None and stated.command_low is not None
    swing = _swing(converter, axis, p_gain, voltage) * rate
    high, low = (converter.command(CHECK_THROTTLE + sign * swing) for sign in (1.0, -1.0))
    row = np.asarray(converter.builder.effectiveness)[axis]
    faster = tuple(name for name, effect in zip(ROTOR_NAMES, row, strict=True) if effect < 0.0)
    span = abs(stated.command_high - stated.command_low)
    return HandCheck(
        AXES[axis], TURNED[AXES[axis]], rate, CHECK_THROTTLE, voltage, faster, 100.0 * (high - low), span * (high - low)
    )  # fmt: skip


def _swing(converter: Converter, axis: int, p_gain: float, voltage: float) -> float:
    """Change of a motor's throttle fraction per deg/s."""
    assert converter.stated.mixer_scale is not None
    return p_gain * converter.scaling(voltage, CHECK_THROTTLE) * converter.stated.mixer_scale[axis]


def lacking_keys(bench: LoopBench) -> tuple[str, ...]:
    """What keeps the gains from being converted: keys of [flight_controller.conventions] that are not stated."""
    stated = bench.craft.flight_controller.conventions
    return ALWAYS if stated is None else stated.lacking


def converter_of(bench: LoopBench) -> Converter | None:
    """The craft's converter; None while anything is unknown, or where the rate law is none of P, I and D on rates."""
    stated = bench.craft.flight_controller.conventions
    row = SLOTS.index("rate")
    if stated is None or stated.lacking or bench.blocks[row].name != "pid":
        return None
    return Converter(stated, bench.builder, float(bench.rates.every[row]) * bench.h)
