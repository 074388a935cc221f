"""Schema of the sensors that tell the place: satellite receiver, magnetometer, rangefinder, barometer; and of the power sensor.

Keys, units and ranges: scenarios/crafts/README.md. Defaults are assumed, in the range of what small sensors have.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from quadsim.config.drive_schema import Box, Place, Price, Vector
from quadsim.config.listing import Section
from quadsim.config.quantity import Quantity, Triple, Uncertain

SlowDelay = Annotated[Uncertain, Quantity(0.0, 1000.0, "ms", "from the sample to the controller")]
Dropout = Annotated[Uncertain, Quantity(0.0, 90.0, "%", "samples lost on the way, by chance")]
SampleRate = Annotated[Uncertain, Quantity(0.1, 1000.0, "Hz", "samples per second")]
PieceMass = Annotated[Uncertain, Quantity(0.0, 1000.0, "g", "one piece; 0 when it sits on another")]


class Barometer(Section):
    """Height from air pressure. Defaults assumed."""

    rate_Hz: SampleRate = Uncertain(50.0)
    noise_m: Annotated[Uncertain, Quantity(0.0, 20.0, "m", "standard deviation of one sample")] = Uncertain(
        0.1
    )
    bandwidth_Hz: Annotated[
        Uncertain, Quantity(0.05, 500.0, "Hz", "-3 dB corner of its first-order limit")
    ] = Uncertain(5.0)
    delay_ms: SlowDelay = Uncertain(10.0)
    resolution_m: Annotated[Uncertain, Quantity(0.0, 5.0, "m", "quantisation step")] = Uncertain(0.01)
    static_pressure_coefficient: Annotated[
        Uncertain,
        Quantity(
            -1.0, 1.0, "-", "pressure error at the board over dynamic pressure; reads low when positive"
        ),
    ] = Uncertain(0.0, 0.1)
    wash_pct: Annotated[
        Uncertain,
        Quantity(
            0.0,
            100.0,
            "%",
            "of the disc loading felt as pressure, hubs on the ground; fades with height over radius",
        ),
    ] = Uncertain(0.5, 0.5)
    drift_m_rts: Annotated[
        Uncertain, Quantity(0.0, 2.0, "m/sqrt(s)", "random walk: weather and temperature")
    ] = Uncertain(0.01)
    warm_up_m: Annotated[
        Uncertain, Quantity(-20.0, 20.0, "m", "height it gains while the board warms up after the start")
    ] = Uncertain(0.0)
    warm_up_s: Annotated[Uncertain, Quantity(1.0, 3600.0, "s", "time constant of that")] = Uncertain(120.0)
    conversion: Literal["day's air", "standard air"] = Field(
        default="day's air",
        description="day's air: told the temperature; standard air: not told, as most are",
    )
    dropout_pct: Dropout = Uncertain(0.0)


class PowerSensor(Section):
    """Pack current and voltage as the flight controller reads them. Defaults assumed."""

    current_scale_pct: Annotated[
        Uncertain, Quantity(0.0, 50.0, "%", "standard deviation of its scale, one draw for a flight")
    ] = Uncertain(2.0)
    current_offset_A: Annotated[
        Uncertain, Quantity(0.0, 10.0, "A", "standard deviation of its zero, one draw for a flight")
    ] = Uncertain(0.1)
    current_resolution_A: Annotated[Uncertain, Quantity(0.0, 5.0, "A", "quantisation step")] = Uncertain(0.02)
    voltage_scale_pct: Annotated[
        Uncertain, Quantity(0.0, 10.0, "%", "standard deviation of its scale, one draw for a flight")
    ] = Uncertain(0.3)
    voltage_resolution_V: Annotated[Uncertain, Quantity(0.0, 1.0, "V", "quantisation step")] = Uncertain(0.01)


class SatelliteReceiver(Section):
    """Satellite receiver with its antenna."""

    name: str = Field(default="", description="what the builder calls it")
    mass_g: PieceMass
    size_mm: Box
    at_mm: Place
    rate_Hz: Annotated[Uncertain, Quantity(0.5, 50.0, "Hz", "fixes per second")] = Uncertain(5.0)
    delay_ms: SlowDelay = Uncertain(120.0)
    cep_m: Annotated[
        Uncertain,
        Quantity(0.0, 50.0, "m", "half of all fixes lie that near, horizontally; sigma per axis = CEP/1.177"),
    ] = Uncertain(1.5)
    vertical_sigma_m: Annotated[Uncertain, Quantity(0.0, 100.0, "m", "standard deviation of the height")] = (
        Uncertain(2.5)
    )
    white_pct: Annotated[
        Uncertain,
        Quantity(0.0, 100.0, "%", "of the error's variance that is new at every fix; the rest wanders"),
    ] = Uncertain(2.0)
    correlation_s: Annotated[
        Uncertain, Quantity(1.0, 3600.0, "s", "time in which the rest wanders to 1/e")
    ] = Uncertain(100.0)
    velocity_sigma_m_s: Annotated[
        Uncertain, Quantity(0.0, 5.0, "m/s", "standard deviation of the velocity, per axis")
    ] = Uncertain(0.05)
    first_fix_s: Annotated[
        Uncertain, Quantity(0.0, 600.0, "s", "without a fix from the start of the flight; 0: waited for it")
    ] = Uncertain(0.0)
    dropout_pct: Dropout = Uncertain(0.0)
    price: Price = Uncertain(0.0)


class Compass(Section):
    """Magnetometer. Place it far from the battery's wires; `per_ampere_uT` says how far that was."""

    name: str = Field(default="", description="what the builder calls it")
    mass_g: PieceMass
    size_mm: Box
    at_mm: Place
    rate_Hz: SampleRate = Uncertain(50.0)
    delay_ms: SlowDelay = Uncertain(10.0)
    noise_uT: Annotated[
        Uncertain, Quantity(0.0, 20.0, "uT", "standard deviation of one sample, per axis")
    ] = Uncertain(0.3)
    resolution_uT: Annotated[Uncertain, Quantity(0.0, 10.0, "uT", "quantisation step")] = Uncertain(0.1)
    hard_iron_uT: Annotated[
        Uncertain, Quantity(0.0, 100.0, "uT", "standard deviation of what calibration left, per axis")
    ] = Uncertain(0.7)
    soft_iron_pct: Annotated[
        Uncertain, Quantity(0.0, 50.0, "%", "standard deviation of each element of what calibration left")
    ] = Uncertain(1.0)
    per_ampere_uT: Annotated[
        Vector, Triple(-20.0, 20.0, "uT/A", "forward, right, down: field of the wires per pack current")
    ] = (0.0, 0.0, 0.0)
    declination_error_deg: Annotated[
        Uncertain, Quantity(-180.0, 180.0, "deg", "declination as told to the controller less the true one")
    ] = Uncertain(0.0)
    dropout_pct: Dropout = Uncertain(0.0)
    price: Price = Uncertain(0.0)


class Rangefinder(Section):
    """Distance to the ground, along body down."""

    name: str = Field(default="", description="what the builder calls it")
    mass_g: PieceMass
    size_mm: Box
    at_mm: Place
    rate_Hz: SampleRate = Uncertain(50.0)
    delay_ms: SlowDelay = Uncertain(20.0)
    least_m: Annotated[Uncertain, Quantity(0.0, 5.0, "m", "least distance it measures")] = Uncertain(0.1)
    greatest_m: Annotated[Uncertain, Quantity(0.2, 200.0, "m", "greatest distance it measures")] = Uncertain(
        8.0
    )
    greatest_tilt_deg: Annotated[
        Uncertain, Quantity(1.0, 80.0, "deg", "beyond this tilt it hears nothing from the ground")
    ] = Uncertain(30.0)
    noise_m: Annotated[Uncertain, Quantity(0.0, 2.0, "m", "standard deviation, constant part")] = Uncertain(
        0.01
    )
    noise_pct: Annotated[
        Uncertain, Quantity(0.0, 20.0, "%", "standard deviation that grows with distance")
    ] = Uncertain(0.5)
    resolution_m: Annotated[Uncertain, Quantity(0.0, 1.0, "m", "quantisation step")] = Uncertain(0.01)
    dropout_pct: Dropout = Uncertain(0.0)
    price: Price = Uncertain(0.0)
