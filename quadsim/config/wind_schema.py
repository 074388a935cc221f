"""Schema of the wind of a flight file: a mean as a forecast gives it, fronts, gusts, turbulence, or a record."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from quadsim.config.listing import Section
from quadsim.config.quantity import Quantity

Time = Annotated[float, Quantity(0.0, 7200.0, "s", "time since the start")]
WindFrom = Annotated[float, Quantity(-360.0, 360.0, "deg", "direction the wind comes from, 0 north, 90 east")]
WindSpeed = Annotated[float, Quantity(0.0, 40.0, "m/s", "speed of the air")]
TerrainName = Literal["0", "I", "II", "III", "IV"]


class GustSection(Section):
    """One 1-cosine gust on top of the mean, at any height."""

    at_s: Time
    duration_s: Annotated[
        float,
        Quantity(
            0.0, 600.0, "s", "returning: from zero over the peak to zero; holding: up to the peak", above=True
        ),
    ]
    form: Literal["returning", "holding"] = Field(
        "returning", description="back to zero (CS-23/FAR 23.333(c)), or up and stay (MIL-F-8785C)"
    )
    strength: Literal["stated", "forecast"] = Field(
        "stated", description="forecast: the peak is what the forecast gust exceeds the mean wind by"
    )
    speed_m_s: Annotated[float, Quantity(0.0, 40.0, "m/s", "level part of the peak, where it is stated")] = (
        0.0
    )
    from_deg: WindFrom | None = Field(
        None, description="where it comes from; 0, or the mean wind's for strength = forecast, if absent"
    )
    up_m_s: Annotated[float, Quantity(-20.0, 20.0, "m/s", "upward part of the peak")] = 0.0


class FrontSection(Section):
    """The mean wind goes over to another, evenly in speed and direction, the shorter way round."""

    at_s: Time
    over_s: Annotated[float, Quantity(0.0, 7200.0, "s", "time it takes; 0 is a jump")] = 0.0
    to_speed_m_s: WindSpeed | None = Field(None, description="speed afterwards; the same if absent")
    to_from_deg: WindFrom | None = Field(None, description="direction afterwards; the same if absent")


class TurbulenceSection(Section):
    """Dryden turbulence, military low-altitude form (MIL-F-8785C sec. 3.7.3.4). Needs one of the two."""

    intensity: Literal["light", "moderate", "severe", "mean", "forecast"] | None = Field(
        None,
        description="15, 30, 45 kt at 20 ft; mean: the mean wind there; forecast: as the forecast gust has it",
    )
    w20_m_s: (
        Annotated[float, Quantity(0.0, 40.0, "m/s", "wind at 20 ft that sets the strength", above=True)]
        | None
    ) = None


class WindSection(Section):
    """Mean wind and what comes on top of it."""

    speed_m_s: Annotated[float, Quantity(0.0, 40.0, "m/s", "mean wind at the reference height")] = 0.0
    from_deg: WindFrom = 0.0
    profile: Literal["uniform", "log", "power"] = Field(
        "uniform", description="over the height: the same everywhere, logarithm, power law"
    )
    reference_height_m: Annotated[
        float, Quantity(1.0, 200.0, "m", "height the speed is given for, as in forecasts")
    ] = 10.0
    roughness_m: (
        Annotated[float, Quantity(1e-4, 2.0, "m", "for log: no wind below it; 0.03, short grass, if absent")]
        | None
    ) = None
    terrain: TerrainName | None = Field(
        None,
        description="for log, instead of roughness_m: EN 1991-1-4; the speed is then that at 10 m over open country (II)",
    )
    exponent: Annotated[float, Quantity(0.0, 1.0, "-", "for power: 1/7 if absent")] | None = None
    forecast_gust_m_s: (
        Annotated[
            float, Quantity(0.0, 60.0, "m/s", "speed in gusts as forecast; 1.5 times the mean if absent")
        ]
        | None
    ) = None
    record: str = Field("", description="CSV file of measured wind instead of speed, direction and fronts")
    turbulence: TurbulenceSection | None = None
    fronts: tuple[FrontSection, ...] = Field((), max_length=16, description="at most 16, one after another")
    fronts_speed_m_s: (
        Annotated[
            float, Quantity(0.5, 60.0, "m/s", "at which fronts cross the field; all of it at once if absent")
        ]
        | None
    ) = None
    fronts_from_deg: WindFrom | None = Field(
        None, description="where the fronts come from; as the mean wind if absent"
    )
    gusts: tuple[GustSection, ...] = Field((), max_length=16, description="at most 16")
