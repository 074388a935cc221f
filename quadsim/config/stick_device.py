"""A radio or gamepad on a computer: which of its axes is which stick, and where its ends and centres lie."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Annotated

from pydantic import Field

from quadsim.config.listing import Finding, Rule, Section, checked
from quadsim.config.quantity import Quantity
from quadsim.config.toml_reader import parse_toml, read_toml
from quadsim.errors import InputError, Problem

LEAST_TRAVEL = 0.2
"""Least travel from the centre to an end, in the device's units, that counts as an axis; assumed."""
STICKS = ("roll", "pitch", "yaw", "throttle")

Raw = Annotated[float, Quantity(-1.2, 1.2, "-", "raw value")]


class Axis(Section):
    """One stick: an axis of the device and its raw values. `high` is right, nose up, clockwise or throttle up."""

    axis: Annotated[int, Quantity(0, 63, "-", "number of the device's axis, from 0", whole=True)]
    low: Raw = Field(description="raw value at the left, nose down, counter-clockwise or throttle-down end")
    high: Raw = Field(description="raw value at the other end; below `low` when the axis runs backwards")
    centre: Raw | None = Field(
        None, description="raw value at rest; half-way if absent; not for the throttle"
    )

    def value(self, raw: float, low: float) -> float:
        """The stick, `low`..1, for a raw value: straight between the ends, or from either end to the centre."""
        if low == 0.0 or self.centre is None:
            share = (raw - self.low) / (self.high - self.low)
            return low + (1.0 - low) * min(max(share, 0.0), 1.0)
        end = self.high if (raw - self.centre) * (self.high - self.low) > 0.0 else self.low
        share = (raw - self.centre) / (end - self.centre)
        return math.copysign(min(max(share, 0.0), 1.0), (end - self.centre) * (self.high - self.low))


class StickDevice(Section):
    """A whole calibration file."""

    name: str = Field("", description="what the device is called")
    roll: Axis
    pitch: Axis
    yaw: Axis
    throttle: Axis

    def sticks(self, raw: Sequence[float]) -> tuple[float, float, float, float]:
        """Roll, pitch, yaw -1..1 and throttle 0..1 from the raw axes.

        Raises
        ------
        InputError
            when the device has fewer axes than the file speaks of.
        """
        most = max(self.axes)
        if most >= len(raw):
            given = f"speaks of axis {most}, but the device has {len(raw)} axes, numbered from 0"
            raise InputError([Problem(self.name or "calibration", given, "", "Calibrate this device")])
        roll, pitch, yaw = (one.value(raw[one.axis], -1.0) for one in (self.roll, self.pitch, self.yaw))
        return roll, pitch, yaw, self.throttle.value(raw[self.throttle.axis], 0.0)

    @property
    def axes(self) -> tuple[int, int, int, int]:
        """Axis numbers of roll, pitch, yaw, throttle."""
        return self.roll.axis, self.pitch.axis, self.yaw.axis, self.throttle.axis

    def as_toml(self) -> str:
        """The file's text."""
        lines = ["# Sticks of a radio or gamepad on a computer; made by `quadsim sticks --calibrate`."]
        lines.append(f"name = {_quoted(self.name)}")
        for stick in STICKS:
            one: Axis = getattr(self, stick)
            lines += ["", f"[{stick}]", f"axis = {one.axis}", f"low = {one.low:.4f}"]
            lines += [f"centre = {one.centre:.4f}"] if one.centre is not None else []
            lines += [f"high = {one.high:.4f}"]
        return "\n".join(lines) + "\n"


def _quoted(text: str) -> str:
    return '"' + "".join(c for c in text if c.isprintable() and c not in '"\\') + '"'


def _axis_problems(device: StickDevice) -> Iterator[Finding]:
    """Axes used twice, and ends that are no ends."""
    seen: dict[int, str] = {}
    for stick in STICKS:
        one: Axis = getattr(device, stick)
        if one.axis in seen:
            yield (
                (stick, "axis"),
                f"is {one.axis}, as for {seen[one.axis]}",
                "each axis once",
                "Calibrate again",
            )
        seen[one.axis] = stick
        ends = (one.low, one.high)
        rest = 0.5 * sum(ends) if one.centre is None else one.centre
        if min(abs(end - rest) for end in ends) < LEAST_TRAVEL or not min(ends) < rest < max(ends):
            given = f"has the ends {one.low:g} and {one.high:g} and rests at {rest:g}"
            allowed = f"the rest lies between the ends, {LEAST_TRAVEL:g} or more from each"
            yield (stick,), given, allowed, "Calibrate again and move the stick all the way"


RULES: tuple[Rule, ...] = (({"roll", "pitch", "yaw", "throttle"}, _axis_problems),)


def load_device(path: Path) -> StickDevice:
    """A checked calibration file. Raises InputError that lists every problem."""
    return checked(StickDevice, read_toml(path), RULES)


def parse_device(text: str, source: str = "calibration") -> StickDevice:
    """A checked calibration from TOML text."""
    return checked(StickDevice, parse_toml(text, source), RULES)
