"""Schema of what a flight controller makes of a gain. Only with all of it can a gain be turned into the controller's own unit."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, StrictBool, model_validator

from quadsim.config.listing import Section
from quadsim.config.quantity import Quantity, Triple, Uncertain, refusal

TimeBase = Literal["second", "run"]
Three = tuple[float, float, float]
ALWAYS = (
    "command_low", "command_high", "command_idle", "mixer_scale", "thrust_curve_inverted", "gain_scaling",
    "integral_time_base", "derivative_time_base", "derivative_cutoff_Hz",
)  # fmt: skip
"""Keys without which nothing is converted."""
BY_SCALING = {
    "none": (), "voltage": ("reference_voltage_V", "voltage_exponent"), "throttle": ("throttle_factors",)
}  # fmt: skip
"""Keys that one kind of scaling needs besides."""


class Conventions(Section):
    """How a flight controller turns a rate error into motor commands; a key that is not known is left out, never guessed.

    The motor of one corner gets throttle + scale (± axis output), a fraction of the span from idle to full. An axis output is
    gain times error in deg/s.
    """

    command_low: (
        Annotated[Uncertain, Quantity(-1e5, 1e5, "-", "its number for a motor that gets nothing")] | None
    ) = None
    command_high: (
        Annotated[Uncertain, Quantity(-1e5, 1e5, "-", "its number for a motor at full command")] | None
    ) = None
    command_idle: (
        Annotated[Uncertain, Quantity(-1e5, 1e5, "-", "its number for an armed motor at zero throttle: the idle offset")] | None
    ) = None  # fmt: skip
    mixer_scale: (
        Annotated[Three, Triple(0.001, 100.0, "-", "roll, pitch, yaw: change of each motor's throttle fraction per axis output")]
        | None
    ) = None  # fmt: skip
    thrust_curve_inverted: StrictBool | None = Field(
        default=None,
        description="true if thrust, false if motor command runs straight from idle to full with the throttle fraction",
    )
    gain_scaling: Literal["none", "voltage", "throttle"] | None = Field(
        default=None, description="what it multiplies all rate gains by while flying"
    )
    reference_voltage_V: (
        Annotated[Uncertain, Quantity(1.0, 100.0, "V", "of the pack, at which gains count as they stand; scaling voltage")]
        | None
    ) = None  # fmt: skip
    voltage_exponent: (
        Annotated[int, Quantity(1, 2, "-", "of reference over measured voltage; scaling voltage", whole=True)]
        | None
    ) = None
    throttle_factors: (
        Annotated[Three, Triple(0.05, 5.0, "-", "at throttle fraction 0, 0.5 and 1, straight between; scaling throttle")] | None
    ) = None  # fmt: skip
    integral_time_base: TimeBase | None = Field(
        default=None,
        description="the integral grows by gain times error per second, or per run of the rate loop",
    )
    derivative_time_base: TimeBase | None = Field(
        default=None,
        description="the derivative is the change per second, or from run to run of the rate loop",
    )
    derivative_cutoff_Hz: (
        Annotated[Uncertain, Quantity(1.0, 1000.0, "Hz", "of its first-order low-pass on the derivative")]
        | None
    ) = None

    @property
    def lacking(self) -> tuple[str, ...]:
        """Keys that are not stated and without which no gain can be converted."""
        wanted = ALWAYS + BY_SCALING.get(self.gain_scaling or "", ())
        return tuple(key for key in wanted if getattr(self, key) is None)

    @property
    def idle_share(self) -> float:
        """Idle as a share of the whole range of commands [-]; needs the first three keys."""
        assert (
            self.command_low is not None and self.command_high is not None and self.command_idle is not None
        )
        return (self.command_idle - self.command_low) / (self.command_high - self.command_low)

    @model_validator(mode="after")
    def _makes_sense(self) -> Conventions:
        low, high, idle = self.command_low, self.command_high, self.command_idle
        if low is not None and high is not None and low == high:
            raise refusal(f"has command_low and command_high {low:g}", "the two must differ")
        if low is not None and high is not None and idle is not None and not 0.0 <= self.idle_share < 0.5:
            given = f"has command_idle {idle:g} between {low:g} and {high:g}"
            raise refusal(given, "must lie in the lower half of the range, from command_low on")
        for scaling, keys in BY_SCALING.items():
            for key in keys:
                if getattr(self, key) is not None and self.gain_scaling not in (None, scaling):
                    raise refusal(
                        f"has {key}",
                        f'gain_scaling = "{self.gain_scaling}" has no use for it',
                        "Take one out",
                    )
        return self
