"""Schema of a craft's flight controller and radio. Keys, units and ranges: scenarios/crafts/README.md."""

from __future__ import annotations

import math
from typing import Annotated, Literal

from pydantic import Field, StrictBool

from quadsim.config.conventions_schema import Conventions
from quadsim.config.drive_schema import Box, Place, Price, Vector
from quadsim.config.listing import Section
from quadsim.config.position_sensors_schema import Barometer, PowerSensor
from quadsim.config.quantity import Quantity, Triple, Uncertain
from quadsim.config.sticks_schema import StickLink

Rate = Annotated[int, Quantity(10, 32000, "Hz", "runs per second", whole=True)]
Delay = Annotated[Uncertain, Quantity(0.0, 15.0, "ms", "age of a sample when the loop reads it")]
Bandwidth = Annotated[Uncertain, Quantity(1.0, 20000.0, "Hz", "-3 dB corner of its first-order limit")]


Misalignment = Annotated[
    Uncertain,
    Quantity(0.0, 10.0, "deg", "standard deviation of the two tilts of each input axis against the others"),
]


class Rates(Section):
    """How often the inertial sensor samples and each block of the control chain runs."""

    imu: Rate
    estimate: Rate
    guide: Rate
    attitude: Rate
    rate: Rate
    allocate: Rate


class Gyro(Section):
    """Gyroscope. Defaults: common values of small MEMS sensors, assumed."""

    noise_density_one_sided_deg_s_rtHz: Annotated[
        Uncertain,
        Quantity(0.0, 1.0, "(deg/s)/sqrt(Hz)", "white noise, one-sided density: sigma = n sqrt(fs/2)"),
    ] = Uncertain(0.004)
    bias_deg_s: Annotated[
        Uncertain, Quantity(0.0, 20.0, "deg/s", "standard deviation of the turn-on bias")
    ] = Uncertain(0.3)
    bias_instability_deg_h: Annotated[
        Uncertain,
        Quantity(0.0, 3600.0, "deg/h", "flicker of the bias: the Allan deviation's floor over 0.664"),
    ] = Uncertain(5.0)
    bias_walk_deg_s_rts: Annotated[
        Uncertain, Quantity(0.0, 1.0, "(deg/s)/sqrt(s)", "random walk of the bias (rate random walk)")
    ] = Uncertain(0.0001)
    scale_error_pct: Annotated[
        Uncertain, Quantity(0.0, 10.0, "%", "standard deviation of the scale factor's error, each axis")
    ] = Uncertain(0.5)
    misalignment_deg: Misalignment = Uncertain(0.2)
    g_sensitivity_deg_s_g: Annotated[
        Uncertain,
        Quantity(
            0.0, 2.0, "(deg/s)/g0", "standard deviation of the rate read per specific force, axis to axis"
        ),
    ] = Uncertain(0.05)
    resolution_deg_s: Annotated[Uncertain, Quantity(0.0, 10.0, "deg/s", "quantisation step")] = Uncertain(
        0.061
    )
    range_deg_s: Annotated[Uncertain, Quantity(50.0, 20000.0, "deg/s", "full scale")] = Uncertain(2000.0)
    bandwidth_Hz: Bandwidth = Uncertain(500.0)


class Accelerometer(Section):
    """Accelerometer. Defaults: common values of small MEMS sensors, assumed."""

    noise_density_one_sided_mg_rtHz: Annotated[
        Uncertain, Quantity(0.0, 100.0, "mg/sqrt(Hz)", "white noise, one-sided density: sigma = n sqrt(fs/2)")
    ] = Uncertain(0.1)
    bias_mg: Annotated[Uncertain, Quantity(0.0, 500.0, "mg", "standard deviation of the turn-on bias")] = (
        Uncertain(20.0)
    )
    bias_instability_ug: Annotated[
        Uncertain, Quantity(0.0, 5000.0, "ug", "flicker of the bias: the Allan deviation's floor over 0.664")
    ] = Uncertain(40.0)
    bias_walk_mg_rts: Annotated[Uncertain, Quantity(0.0, 50.0, "mg/sqrt(s)", "random walk of the bias")] = (
        Uncertain(0.01)
    )
    scale_error_pct: Annotated[
        Uncertain, Quantity(0.0, 10.0, "%", "standard deviation of the scale factor's error, each axis")
    ] = Uncertain(0.5)
    misalignment_deg: Misalignment = Uncertain(0.2)
    vibration_rectification_mg_g2: Annotated[
        Uncertain,
        Quantity(
            -50.0, 50.0, "mg/g0^2", "offset per mean square of vibration (vibration rectification error)"
        ),
    ] = Uncertain(0.1)
    resolution_mg: Annotated[Uncertain, Quantity(0.0, 100.0, "mg", "quantisation step")] = Uncertain(0.5)
    range_g: Annotated[Uncertain, Quantity(1.0, 500.0, "g0", "full scale, in standard gravity")] = Uncertain(
        16.0
    )
    bandwidth_Hz: Bandwidth = Uncertain(200.0)


class FlightController(Section):
    """The board with the inertial sensor."""

    name: str = Field(default="", description="what the builder calls it")
    mass_g: Annotated[Uncertain, Quantity(0.0, 1000.0, "g", "the board", above=True)]
    size_mm: Box
    at_mm: Place
    pack_current_A: Annotated[
        Uncertain, Quantity(0.0, 20.0, "A", "of everything but the motors, measured at the pack")
    ]
    mounted_roll_pitch_yaw_deg: Annotated[
        Vector,
        Triple(
            -180.0,
            180.0,
            "deg",
            "turns from body to sensor axes: yaw, then pitch, then roll; the firmware knows",
        ),
    ] = (0.0, 0.0, 0.0)
    imu_delay_ms: Delay = Uncertain(0.25)
    finds_lost_rotor: StrictBool = Field(
        default=True, description="true if it gives up yaw when a rotor does not answer any more"
    )
    rotor_loss_detection_ms: Annotated[
        Uncertain, Quantity(0.0, 5000.0, "ms", "until it finds that a rotor does not answer; assumed")
    ] = Uncertain(150.0)
    imu_clock_error_ppm: Annotated[
        Uncertain,
        Quantity(-50000.0, 50000.0, "ppm", "how much its own clock runs fast; the firmware does not know"),
    ] = Uncertain(0.0)
    rates_Hz: Rates
    gyro: Gyro = Gyro()
    accelerometer: Accelerometer = Accelerometer()
    barometer: Barometer = Barometer()
    power_sensor: PowerSensor = PowerSensor()
    conventions: Conventions | None = Field(
        default=None, description="what it makes of a gain, for the gains card; gains stay in physical units"
    )
    price: Price = Uncertain(0.0)

    @property
    def detection_s(self) -> float:
        """Time in which a lost rotor is found [s]; infinite where it never is."""
        return self.rotor_loss_detection_ms / 1e3 if self.finds_lost_rotor else math.inf


class Radio(Section):
    """The receiver and what happens when the link is lost."""

    name: str = Field(default="", description="what the builder calls it")
    link_loss: Literal["cut", "level descent", "homing"] = Field(
        description="what the craft does then; always stated"
    )
    failsafe_delay_s: Annotated[Uncertain, Quantity(0.0, 10.0, "s", "silence that counts as a lost link")] = (
        Uncertain(0.5)
    )
    channels: (
        Annotated[int, Quantity(4, 64, "-", "functions that transmitter and receiver pass on", whole=True)]
        | None
    ) = None
    sticks: StickLink = StickLink()
    mass_g: Annotated[Uncertain, Quantity(0.0, 500.0, "g", "receiver with antenna", above=True)]
    size_mm: Box
    at_mm: Place
    price: Price = Uncertain(0.0)
