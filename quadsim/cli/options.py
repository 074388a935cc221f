"""Options that several commands share."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from quadsim.environment.atmosphere import Site

Json = Annotated[bool, typer.Option("--json", help="Print one JSON document and nothing else.")]

TemperatureC = Annotated[
    float | None,
    typer.Option(
        "--temperature-C",
        help="Air temperature at the field [deg C]; 15, or the standard one at --elevation-m.",
        show_default=False,
    ),
]
PressureHPa = Annotated[
    float | None,
    typer.Option(
        "--pressure-hPa",
        help="Air pressure at the field, not reduced to sea level [hPa]; 1013.25.",
        show_default=False,
    ),
]
ElevationM = Annotated[
    float | None,
    typer.Option(
        "--elevation-m",
        help="Elevation of the field above sea level [m], for the standard pressure there.",
        show_default=False,
    ),
]
PackTemperatureC = Annotated[
    float | None,
    typer.Option(
        "--pack-temperature-C", help="Temperature of the battery [deg C]; as the air.", show_default=False
    ),
]
HeightM = Annotated[
    float | None,
    typer.Option(
        "--height-m", min=0.5, max=500.0, help="Height where the link is lost [m]; 20.", show_default=False
    ),
]
SpeedMS = Annotated[
    float | None,
    typer.Option(
        "--speed-m-s",
        min=0.0,
        max=100.0,
        help="Speed over ground where the link is lost [m/s]; typical of the event.",
        show_default=False,
    ),
]
WindMS = Annotated[
    float | None,
    typer.Option(
        "--wind-m-s", min=0.0, max=30.0, help="Wind, the same at every height [m/s]; 5.", show_default=False
    ),
]
AwayM = Annotated[
    float | None,
    typer.Option(
        "--away-m",
        min=0.0,
        max=5000.0,
        help="Distance from the take-off point where the link is lost [m]; 100.",
        show_default=False,
    ),
]
Samples = Annotated[
    int,
    typer.Option(
        "--samples", min=500, max=100000, help="Craft drawn from what is not known, for the intervals."
    ),
]
Seed = Annotated[int, typer.Option("--seed", min=0, help="Of the draws; the same seed draws the same craft.")]


def site_of(
    temperature_C: float | None,
    pressure_hPa: float | None,
    elevation_m: float | None,
    pack_temperature_C: float | None,
) -> Site:
    """The flying field that the four options describe; what is left out is standard."""
    from quadsim.environment.atmosphere import Site

    return Site.stated(temperature_C, pressure_hPa, elevation_m, pack_temperature_C)
