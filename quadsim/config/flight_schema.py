"""Schema of a flight file: what happens, when, and what is expected of it. See scenarios/flights/README.md."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Annotated, Literal

import numpy as np
from pydantic import Field, PrivateAttr

from quadsim.config.avionics_schema import Rate
from quadsim.config.listing import Section
from quadsim.config.quantity import Quantity, Triple
from quadsim.config.wind_schema import Time, WindSection
from quadsim.environment.atmosphere import Site

RotorName = Literal["front_right", "rear_right", "rear_left", "front_left"]
ModeName = Literal["rate_command", "attitude_command", "height_hold", "setpoint"]
StepperName = Literal["rk4", "semi_implicit", "DOP853", "LSODA", "RK45", "RK23", "Radau", "BDF"]
EndName = Literal["done", "crashed", "propeller_strike", "tipped_over", "battery_empty", "overheated"]
Slot = Literal["estimate", "guide", "attitude", "rate", "allocate"]
Ramp = Annotated[
    float, Quantity(0.0, 600.0, "s", "time in which sticks and targets get there, from where they stood")
]
Share = Annotated[float, Quantity(-1.0, 1.0, "-", "stick, right and back (nose up) positive")]
Throttle = Annotated[float, Quantity(0.0, 1.0, "-", "throttle stick, 0 down, 1 up")]
Angle = Annotated[
    float, Quantity(-360.0, 360.0, "deg", "angle asked for; right, nose up, clockwise positive")
]
Heading = Annotated[float, Quantity(-360.0, 360.0, "deg", "heading, 0 north, 90 east")]
Number = Annotated[float, Quantity(-1e9, 1e9, "-", "bound, in the metric's unit")]


class SiteSection(Section):
    """Air at the field, and the temperature of the pack."""

    temperature_C: (
        Annotated[
            float, Quantity(-40.0, 60.0, "C", "of the air; 15, or the standard one at elevation_m, if absent")
        ]
        | None
    ) = None
    pressure_hPa: (
        Annotated[
            float, Quantity(500.0, 1100.0, "hPa", "at the field, not reduced to sea level; 1013.25 if absent")
        ]
        | None
    ) = None
    elevation_m: (
        Annotated[
            float, Quantity(-430.0, 5500.0, "m", "of the field above sea level, instead of the pressure")
        ]
        | None
    ) = None
    pack_temperature_C: (
        Annotated[float, Quantity(-40.0, 70.0, "C", "of the battery; as the air if absent")] | None
    ) = None
    field_uT: (
        Annotated[float, Quantity(20.0, 70.0, "uT", "strength of the Earth's magnetic field; 49 if absent")]
        | None
    ) = None
    inclination_deg: (
        Annotated[float, Quantity(-90.0, 90.0, "deg", "of that field below the horizon; 65 if absent")] | None
    ) = None
    declination_deg: (
        Annotated[float, Quantity(-180.0, 180.0, "deg", "of that field east of north; 3 if absent")] | None
    ) = None

    @property
    def resolved(self) -> Site:
        """The field as it acts on a flight."""
        return Site.stated(**self.model_dump())

    def but(self, stated: Mapping[str, float]) -> Site:
        """The field with other values for some keys; a stated pressure or elevation replaces either."""
        kept = self.model_dump()
        if "pressure_hPa" in stated or "elevation_m" in stated:
            kept["pressure_hPa"] = kept["elevation_m"] = None
        return Site.stated(**{**kept, **stated})


class StartSection(Section):
    """How the flight begins."""

    height_m: Annotated[
        float, Quantity(0.0, 500.0, "m", "0 stands on the ground, motors stopped; above it hovers in trim")
    ] = 0.0
    heading_deg: Heading = 0.0
    mode: ModeName = Field("setpoint", description="response type at the start")
    charge_pct: Annotated[float, Quantity(0.0, 100.0, "%", "state of charge of the pack", above=True)] = 100.0


class AttachSection(Section):
    """A payload: fixed to the craft, at rest relative to it, or (with `line_m`) on a line below a hook."""

    name: str = Field("payload", min_length=1, description="what `release` calls it")
    mass_g: Annotated[float, Quantity(0.0, 20000.0, "g", "mass", above=True)]
    size_mm: Annotated[tuple[float, ...], Triple(1.0, 2000.0, "mm", "length, width, height of its box")] = (
        60.0,
        60.0,
        60.0,
    )
    at_mm: (
        Annotated[
            tuple[float, ...],
            Triple(
                -20000.0,
                20000.0,
                "mm",
                "its middle from the frame's origin, forward, right, down; if absent [0, 0, 60] when fixed, and straight "
                "below the hook when on a line, hanging or on the ground",
            ),
        ]
        | None
    ) = None
    drag_area_cm2: (
        Annotated[float, Quantity(0.0, 1e5, "cm2", "drag coefficient times area; from the faces of the box")]
        | None
    ) = None
    download_pct: (
        Annotated[
            float,
            Quantity(
                0.0,
                50.0,
                "%",
                "thrust lost to rotor wakes that meet the box; from the box when fixed, 0 on a line",
            ),
        ]
        | None
    ) = None
    line_m: (
        Annotated[
            float, Quantity(0.1, 30.0, "m", "hangs on a line of this length, hook to the load's middle")
        ]
        | None
    ) = None
    hook_mm: Annotated[
        tuple[float, ...], Triple(-1000.0, 1000.0, "mm", "where the line is fixed, from the frame's origin")
    ] = (0.0, 0.0, 20.0)
    hook_mass_g: Annotated[
        float, Quantity(0.0, 2000.0, "g", "what comes and goes with the line at its upper end")
    ] = 0.0
    line_mass_g: Annotated[float, Quantity(0.0, 2000.0, "g", "mass of the line, half at each end")] = 0.0
    line_diameter_mm: Annotated[float, Quantity(0.0, 50.0, "mm", "of the line, for its drag")] = 2.0
    stretch_pct: Annotated[
        float, Quantity(0.02, 20.0, "%", "stretch of the line under the load's weight")
    ] = 0.05
    line_damping_ratio: Annotated[
        float, Quantity(0.0, 1.0, "-", "of the load bouncing on the line; assumed")
    ] = 0.1


class FaultSection(Section):
    """Something that goes wrong, or that was built wrong from the start."""

    kind: Literal[
        "rotor_weak",
        "rotor_lost",
        "rotor_stuck",
        "esc_desync",
        "cell_weak",
        "rotors_swapped",
        "spin_reversed",
        "propeller_upside_down",
        "propeller_imbalance",
        "sensor_turned",
        "sensor_stuck",
        "sensor_lost",
        "baro_stuck",
        "gnss_lost",
        "compass_disturbed",
        "rangefinder_lost",
        "gyro_axis_reversed",
    ] = Field(description="what is wrong")
    rotor: RotorName | None = Field(
        None,
        description="for rotor_weak, rotor_lost, rotor_stuck, esc_desync, spin_reversed, propeller_upside_down, "
        "propeller_imbalance",
    )
    rotors: tuple[RotorName, RotorName] | None = Field(None, description="for rotors_swapped")
    remaining_pct: Annotated[float, Quantity(0.0, 100.0, "%", "thrust that a weak rotor keeps")] = 70.0
    duration_s: (
        Annotated[
            float,
            Quantity(
                0.0,
                600.0,
                "s",
                "how long it lasts: for esc_desync, 0.3 if absent, and for sensors that are lost, stuck or disturbed, to the "
                "end if absent",
                above=True,
            ),
        ]
        | None
    ) = None
    capacity_pct: Annotated[
        float, Quantity(5.0, 100.0, "%", "for cell_weak: capacity that the cell keeps")
    ] = 80.0
    resistance_factor: Annotated[
        float, Quantity(1.0, 20.0, "-", "for cell_weak: its resistance over a healthy cell's")
    ] = 2.0
    imbalance_gmm: Annotated[
        float, Quantity(0.0, 500.0, "g mm", "for propeller_imbalance: mass off the axis times its distance")
    ] = 2.0
    turned_deg: Annotated[
        float, Quantity(-180.0, 180.0, "deg", "for sensor_turned, clockwise seen from above")
    ] = 90.0
    sensor: Literal["gyro", "accelerometer"] | None = Field(
        None, description="for sensor_stuck (it repeats its last value) and sensor_lost (it reads zero)"
    )
    disturbance_uT: Annotated[
        tuple[float, ...],
        Triple(-500.0, 500.0, "uT", "for compass_disturbed: field added, forward, right, down"),
    ] = (0.0, 15.0, 0.0)
    axis: Literal["roll", "pitch", "yaw"] | None = Field(None, description="for gyro_axis_reversed")

    @property
    def lasts_s(self) -> float | None:
        """Time after which it is undone [s]; None for what stays."""
        return 0.3 if self.kind == "esc_desync" and self.duration_s is None else self.duration_s


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
    _wind_record: np.ndarray | None = PrivateAttr(None)

    @property
    def name(self) -> str:
        """Name of the file without its suffix."""
        return self._path.stem if self._path else "flight"

    @property
    def path(self) -> Path | None:
        """Where the flight was read from."""
        return self._path

    @property
    def wind_record(self) -> np.ndarray | None:
        """Rows (t, north, east, down) [s, m/s] of the wind's record, if the flight has one."""
        return self._wind_record

    @property
    def source_text(self) -> str:
        """The file as read, kept in the run."""
        return self._source_text
