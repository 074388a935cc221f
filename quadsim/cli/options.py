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


def site_of(
    temperature_C: float | None,
    pressure_hPa: float | None,
    elevation_m: float | None,
    pack_temperature_C: float | None,
) -> Site:
    """The flying field that the four options describe; what is left out is standard."""
    from quadsim.environment.atmosphere import Site

    return Site.stated(temperature_C, pressure_hPa, elevation_m, pack_temperature_C)
