"""What the keys of the wind and of the site must fulfil together."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from quadsim.config.listing import Finding, Rule

if TYPE_CHECKING:
    from quadsim.config.flight_schema import FlightFile
    from quadsim.config.wind_schema import WindSection

_OF_PROFILE = {"roughness_m": "log", "terrain": "log", "exponent": "power"}


def _profile_problems(flight: FlightFile) -> Iterator[Finding]:
    wind = flight.wind
    for key, profile in _OF_PROFILE.items():
        if getattr(wind, key) is not None and wind.profile != profile:
            given = f"is given with profile = {wind.profile!r}"
            yield (
                ("wind", key),
                given,
                f"acts with profile = {profile!r} only",
                "Set the profile, or leave it out",
            )
    if wind.terrain is not None and wind.roughness_m is not None:
        yield ("wind", "terrain"), "is given beside roughness_m", "one of the two", "Leave one out"
    if wind.terrain is not None and wind.reference_height_m != 10.0:
        allowed = "with terrain the speed is that at 10 m over open country"
        yield ("wind", "reference_height_m"), f"is {wind.reference_height_m:g}", allowed, "Leave it out"
    if wind.profile == "log" and wind.roughness_m is not None and wind.roughness_m >= wind.reference_height_m:
        allowed = f"must be below reference_height_m, {wind.reference_height_m:g} m"
        yield ("wind", "roughness_m"), f"is {wind.roughness_m:g}", allowed, ""


def _record_problems(flight: FlightFile) -> Iterator[Finding]:
    wind = flight.wind
    if not wind.record:
        return
    for key in ("speed_m_s", "from_deg", "fronts", "forecast_gust_m_s"):
        if key in wind.model_fields_set:
            yield ("wind", key), "is given beside record", "the record is the mean wind", "Leave one out"
    if wind.turbulence is not None and wind.turbulence.intensity in ("mean", "forecast"):
        given = f"is {wind.turbulence.intensity!r} beside record"
        yield (
            ("wind", "turbulence", "intensity"),
            given,
            "must be light, moderate or severe",
            "Or give w20_m_s",
        )
    for k, gust in enumerate(wind.gusts):
        if gust.strength == "forecast":
            yield ("wind", "gusts", k, "strength"), "is 'forecast' beside record", "must be stated", ""


def _strength_problems(flight: FlightFile) -> Iterator[Finding]:
    wind = flight.wind
    gust = wind.forecast_gust_m_s
    if gust is not None and gust < wind.speed_m_s:
        allowed = f"must be at least the mean wind, {wind.speed_m_s:g} m/s"
        yield ("wind", "forecast_gust_m_s"), f"is {gust:g}", allowed, ""
    if gust is not None and not _uses_forecast(wind):
        allowed = 'acts through turbulence = { intensity = "forecast" } or a gust of strength = "forecast"'
        yield (
            ("wind", "forecast_gust_m_s"),
            "is given and nothing uses it",
            allowed,
            "Add one, or leave it out",
        )
    if wind.turbulence is not None and (wind.turbulence.intensity is None) == (
        wind.turbulence.w20_m_s is None
    ):
        yield (
            ("wind", "turbulence"),
            "has neither or both",
            "must have intensity or w20_m_s",
            "Give one of the two",
        )
    for k, one in enumerate(wind.gusts):
        if one.strength == "forecast" and one.speed_m_s > 0.0:
            allowed = "with strength = 'forecast' the speed follows from the forecast"
            yield ("wind", "gusts", k, "speed_m_s"), f"is {one.speed_m_s:g}", allowed, "Leave it out"


def _uses_forecast(wind: WindSection) -> bool:
    turbulent = wind.turbulence is not None and wind.turbulence.intensity == "forecast"
    return turbulent or any(gust.strength == "forecast" for gust in wind.gusts)


def _front_problems(flight: FlightFile) -> Iterator[Finding]:
    over = 0.0
    for key in ("fronts_speed_m_s", "fronts_from_deg"):
        if getattr(flight.wind, key) is not None and not flight.wind.fronts:
            yield (
                ("wind", key),
                "is given without fronts",
                "acts on fronts only",
                "Add fronts, or leave it out",
            )
    if flight.wind.fronts_from_deg is not None and flight.wind.fronts_speed_m_s is None:
        yield (
            ("wind", "fronts_from_deg"),
            "is given alone",
            "needs fronts_speed_m_s",
            "Say how fast they cross",
        )
    for k, front in enumerate(flight.wind.fronts):
        where = ("wind", "fronts", k)
        if front.at_s < over:
            yield (
                (*where, "at_s"),
                f"is {front.at_s:g}",
                f"the front before it ends at {over:g} s",
                "One after another",
            )
        if front.to_speed_m_s is None and front.to_from_deg is None:
            yield where, "changes nothing", "needs to_speed_m_s or to_from_deg", ""
        over = front.at_s + front.over_s


def _late_fronts(flight: FlightFile) -> Iterator[Finding]:
    for k, front in enumerate(flight.wind.fronts):
        if front.at_s > flight.duration_s:
            allowed = f"the flight ends at {flight.duration_s:g} s"
            yield ("wind", "fronts", k, "at_s"), f"is {front.at_s:g}", allowed, "Move it"


def _site_problems(flight: FlightFile) -> Iterator[Finding]:
    if flight.site.pressure_hPa is not None and flight.site.elevation_m is not None:
        allowed = "the pressure at the field, or the elevation for the standard pressure there"
        yield ("site", "elevation_m"), "is given beside pressure_hPa", allowed, "Leave one out"


WIND_RULES: tuple[Rule, ...] = (
    ({"wind"}, _profile_problems),
    ({"wind"}, _record_problems),
    ({"wind"}, _strength_problems),
    ({"wind"}, _front_problems),
    ({"wind", "duration_s"}, _late_fronts),
    ({"site"}, _site_problems),
)
