"""Schema of a flight file: what happens, when, and what is expected of it. See scenarios/flights/README.md."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Literal

from pydantic import Field, PrivateAttr

from quadsim.config.avionics_schema import Rate
from quadsim.config.listing import Section
from quadsim.config.quantity import Quantity, Triple

RotorName = Literal["front_right", "rear_right", "rear_left", "front_left"]
ModeName = Literal["rate_command", "attitude_command", "height_hold", "setpoint"]
StepperName = Literal["rk4", "semi_implicit", "DOP853", "LSODA", "RK45", "RK23", "Radau", "BDF"]
EndName = Literal["done", "crashed", "propeller_strike", "tipped_over", "battery_empty"]
Slot = Literal["estimate", "guide", "attitude", "rate", "allocate"]
Time = Annotated[float, Quantity(0.0, 7200.0, "s", "time since the start")]
Ramp = Annotated[
    float, Quantity(0.0, 600.0, "s", "time in which sticks and targets get there, from where they stood")
]
Share = Annotated[float, Quantity(-1.0, 1.0, "-", "stick, right and back (nose up) positive")]
Throttle = Annotated[float, Quantity(0.0, 1.0, "-", "throttle stick, 0 down, 1 up")]
Angle = Annotated[
    float, Quantity(-360.0, 360.0, "deg", "angle asked for; right, nose up, clockwise positive")
]
Heading = Annotated[float, Quantity(-360.0, 360.0, "deg", "heading, 0 north, 90 east")]
WindFrom = Annotated[float, Quantity(-360.0, 360.0, "deg", "direction the wind comes from, 0 north, 90 east")]
WindSpeed = Annotated[float, Quantity(0.0, 40.0, "m/s", "speed of the air")]
Number = Annotated[float, Quantity(-1e9, 1e9, "-", "bound, in the metric's unit")]


class SiteSection(Section):
    """Air at the field."""

    temperature_C: Annotated[float, Quantity(-40.0, 60.0, "C", "air temperature")] = 15.0
    pressure_hPa: Annotated[
        float, Quantity(500.0, 1100.0, "hPa", "air pressure at the field, not reduced to sea level")
    ] = 1013.25


class StartSection(Section):
    """How the flight begins."""

    height_m: Annotated[
        float, Quantity(0.0, 500.0, "m", "0 stands on the ground, motors stopped; above it hovers in trim")
    ] = 0.0
    heading_deg: Heading = 0.0
    mode: ModeName = Field("setpoint", description="response type at the start")
    charge_pct: Annotated[float, Quantity(0.0, 100.0, "%", "state of charge of the pack", above=True)] = 100.0


class GustSection(Section):
    """One 1-cosine gust: it rises to its peak at half its duration and returns to zero."""

    at_s: Time
    duration_s: Annotated[float, Quantity(0.0, 600.0, "s", "from zero over the peak to zero", above=True)]
    speed_m_s: WindSpeed = 0.0
    from_deg: WindFrom = 0.0
    up_m_s: Annotated[float, Quantity(-20.0, 20.0, "m/s", "upward part of the peak")] = 0.0


class WindSection(Section):
    """Steady wind and gusts on top of it."""

    speed_m_s: WindSpeed = 0.0
    from_deg: WindFrom = 0.0
    gusts: tuple[GustSection, ...] = Field((), max_length=16, description="at most 16")


class AttachSection(Section):
    """A rigid payload fixed to the craft in flight, at rest relative to it."""

    name: str = Field("payload", min_length=1, description="what `release` calls it")
    mass_g: Annotated[float, Quantity(0.0, 20000.0, "g", "mass", above=True)]
    size_mm: Annotated[tuple[float, ...], Triple(1.0, 2000.0, "mm", "length, width, height of its box")] = (
        60.0,
        60.0,
        60.0,
    )
    at_mm: Annotated[
        tuple[float, ...],
        Triple(-2000.0, 2000.0, "mm", "its middle from the frame's origin: forward, right, down"),
    ] = (0.0, 0.0, 60.0)


class FaultSection(Section):
    """Something that goes wrong, or that was built wrong from the start."""

    kind: Literal[
        "rotor_weak",
        "rotor_lost",
        "rotors_swapped",
        "spin_reversed",
        "propeller_upside_down",
        "propeller_imbalance",
        "sensor_turned",
        "gyro_axis_reversed",
    ] = Field(description="what is wrong")
    rotor: RotorName | None = Field(
        None,
        description="for rotor_weak, rotor_lost, spin_reversed, propeller_upside_down, propeller_imbalance",
    )
    rotors: tuple[RotorName, RotorName] | None = Field(None, description="for rotors_swapped")
    remaining_pct: Annotated[float, Quantity(0.0, 100.0, "%", "thrust that a weak rotor keeps")] = 70.0
    imbalance_gmm: Annotated[
        float, Quantity(0.0, 500.0, "g mm", "for propeller_imbalance: mass off the axis times its distance")
    ] = 2.0
    turned_deg: Annotated[
        float, Quantity(-180.0, 180.0, "deg", "for sensor_turned, clockwise seen from above")
    ] = 90.0
    axis: Literal["roll", "pitch", "yaw"] | None = Field(None, description="for gyro_axis_reversed")


class ActionSection(Section):
    """What is set at one time; everything not named stays as it was."""

    t_s: Time
    ramp_s: Ramp = 0.0
    text: str = Field("", description="event mark on plots and in the viewer")
    mode: ModeName | None = Field(None, description="response type from here on")
    link: Literal["good", "lost"] | None = Field(None, description="radio link")
    stick_roll: Share | None = None
    stick_pitch: Share | None = None
    stick_yaw: Share | None = None
    stick_throttle: Throttle | None = None
    roll_deg: Angle | None = None
    pitch_deg: Angle | None = None
    heading_deg: Heading | None = None
    height_m: (
        Annotated[float, Quantity(-5.0, 500.0, "m", "height above the take-off point; 0 or less lands")]
        | None
    ) = None
    attach: AttachSection | None = None
    release: str | None = Field(None, description="name of an attached payload")
    fault: FaultSection | None = None


class ExpectSection(Section):
    """One line that judges the flight: a metric must lie above and/or below a bound, within a window of time."""

    metric: str = Field(description="name of a metric, see below")
    above: Number | None = None
    below: Number | None = None
    from_s: Time = 0.0
    to_s: Time | None = None

    @property
    def bound(self) -> str:
        """The bound in words, such as `below 3`."""
        parts = [f"above {self.above:g}"] if self.above is not None else []
        parts += [f"below {self.below:g}"] if self.below is not None else []
        window = f" from {self.from_s:g} s" if self.from_s else ""
        window += f" to {self.to_s:g} s" if self.to_s is not None else ""
        return " and ".join(parts) + window


class RatesSection(Section):
    """Rates of this flight where they differ from the craft's."""

    imu: Rate | None = None
    estimate: Rate | None = None
    guide: Rate | None = None
    attitude: Rate | None = None
    rate: Rate | None = None
    allocate: Rate | None = None


class FlightFile(Section):
    """A whole flight file."""

    title: str = Field(min_length=1, description="headline of the flight")
    about: str = Field("", description="the story in a sentence or two")
    craft: str = Field(description="name of a shipped craft, or path of a craft file from this file's folder")
    duration_s: Annotated[float, Quantity(0.0, 7200.0, "s", "length of the flight", above=True)]
    seed: Annotated[int, Quantity(0, 2**53, "-", "seed of all random numbers", whole=True)] = 1
    stepper: StepperName = Field(
        "rk4", description="fixed step (rk4, semi_implicit) or one of scipy's, as a reference"
    )
    rtol: Annotated[float, Quantity(1e-13, 1e-2, "-", "relative tolerance of a scipy stepper")] = 1e-9
    log_rate_Hz: Annotated[float, Quantity(0.1, 8000.0, "Hz", "rows of the log per second")] = 100.0
    ends: tuple[EndName, ...] = Field(("done",), description="ways to end that count as a pass")
    controllers: dict[Slot, str] = Field({}, description="block per slot; the craft's choice if absent")
    rates_Hz: RatesSection = RatesSection()
    site: SiteSection = SiteSection()
    start: StartSection = StartSection()
    wind: WindSection = WindSection()
    at: tuple[ActionSection, ...] = Field((), description="the timeline, [[at]]")
    expect: tuple[ExpectSection, ...] = Field((), description="what is expected, [[expect]]")
    _path: Path | None = PrivateAttr(None)
    _source_text: str = PrivateAttr("")

    @property
    def name(self) -> str:
        """Name of the file without its suffix."""
        return self._path.stem if self._path else "flight"

    @property
    def path(self) -> Path | None:
        """Where the flight was read from."""
        return self._path

    @property
    def source_text(self) -> str:
        """The file as read, kept in the run."""
        return self._source_text
