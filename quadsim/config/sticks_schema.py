"""Schema of a craft's stick shaping: what the sticks ask for, in the units a pilot thinks in. It ends up in the guide's gains."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from quadsim.config.listing import Section
from quadsim.config.quantity import Quantity
from quadsim.units import DEG

PERCENT = 0.01


def _key(low: float, high: float, unit: str, meaning: str) -> Quantity:
    return Quantity(low, high, unit, meaning)


class Sticks(Section):
    """What a full stick asks for and how it gets there; a key left out leaves the guide's default."""

    full_stick_rate_deg_s: (
        Annotated[float, _key(10.0, 2000.0, "deg/s", "roll and pitch rate at full stick, rate command")]
        | None
    ) = None
    full_stick_yaw_deg_s: (
        Annotated[float, _key(10.0, 1000.0, "deg/s", "yaw rate at full stick, every mode")] | None
    ) = None
    full_stick_tilt_deg: (
        Annotated[float, _key(3.0, 80.0, "deg", "roll and pitch angle at full stick, attitude command")]
        | None
    ) = None
    full_stick_climb_m_s: (
        Annotated[float, _key(0.1, 20.0, "m/s", "climb rate with the throttle stick up, height hold")] | None
    ) = None
    deadband_pct: (
        Annotated[float, _key(0.0, 30.0, "%", "of the travel about the centre of roll, pitch and yaw")] | None
    ) = None
    exponential_pct: (
        Annotated[float, _key(0.0, 100.0, "%", "cubic share in roll and pitch: 0 is a straight line")] | None
    ) = None
    yaw_exponential_pct: Annotated[float, _key(0.0, 100.0, "%", "cubic share in yaw")] | None = None
    throttle_deadband_pct: (
        Annotated[float, _key(0.0, 50.0, "%", "of the throttle's travel about its centre, height hold")]
        | None
    ) = None
    hover_at_pct: (
        Annotated[
            float,
            _key(
                0.0, 90.0, "%", "throttle stick at which the craft hovers; 0: the stick is the motor command"
            ),
        ]
        | None
    ) = None
    throttle_exponential_pct: (
        Annotated[float, _key(0.0, 95.0, "%", "how much flatter the throttle curve is about hover")] | None
    ) = None

    def as_gains(self) -> dict[str, float]:
        """Name of a gain of the guide -> value in its unit, for the keys that are stated."""
        stated = {key: value for key, value in self.model_dump().items() if value is not None}
        return {_GAINS[key][0]: value * _GAINS[key][1] for key, value in stated.items()}


_GAINS = {
    "full_stick_rate_deg_s": ("rate_full", DEG),
    "full_stick_yaw_deg_s": ("yaw_rate_full", DEG),
    "full_stick_tilt_deg": ("tilt_max", DEG),
    "full_stick_climb_m_s": ("climb_max", 1.0),
    "deadband_pct": ("stick_deadband", PERCENT),
    "exponential_pct": ("exponential", PERCENT),
    "yaw_exponential_pct": ("yaw_exponential", PERCENT),
    "throttle_deadband_pct": ("deadband", PERCENT),
    "hover_at_pct": ("throttle_hover_at", PERCENT),
    "throttle_exponential_pct": ("throttle_exponential", PERCENT),
}
"""Key -> the guide's gain, and its unit in the key's unit."""


def stick_key_of(gain: str) -> str | None:
    """The key of `[sticks]` that sets a gain of the guide, if there is one."""
    return next((key for key, (name, _) in _GAINS.items() if name == gain), None)


class Trim(Section):
    """What the transmitter's trims add to the sticks."""

    roll_pct: Annotated[float, _key(-25.0, 25.0, "%", "of the half travel, right positive")] = 0.0
    pitch_pct: Annotated[float, _key(-25.0, 25.0, "%", "of the half travel, nose up positive")] = 0.0
    yaw_pct: Annotated[float, _key(-25.0, 25.0, "%", "of the half travel, clockwise positive")] = 0.0


class StickLink(Section):
    """From the pilot's fingers to the flight controller. Defaults: common values of hobby radio links, assumed."""

    delay_ms: Annotated[
        float, _key(0.0, 500.0, "ms", "age of a stick position when the controller has it")
    ] = 8.0
    rate_Hz: Annotated[float, _key(5.0, 2000.0, "Hz", "stick positions sent per second")] = 100.0
    steps: Annotated[int, Quantity(16, 65536, "-", "steps over the whole travel", whole=True)] = 1024
    trim: Trim = Field(Trim(), description="")
