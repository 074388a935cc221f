"""What the sticks of a craft ask for: over their travel, in numbers, and in a flight on a recorded trace."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from controllers.guide_gains import GuideGain
from controllers.registry import load_block
from controllers.sticks import shaped, throttle_curve
from controllers.thrust import thrust_at
from quadsim.config import Craft, resolve_builder, resolve_plant
from quadsim.config.flight_loader import parse_flight
from quadsim.config.listing import checked
from quadsim.config.sticks_schema import Sticks
from quadsim.config.toml_reader import Document
from quadsim.constants import G0
from quadsim.environment.atmosphere import Site
from quadsim.errors import InputError
from quadsim.kinematics.quaternion import to_euler
from quadsim.simulation.carried import COMMAND_FIELDS
from quadsim.simulation.fly import finish, start
from quadsim.simulation.schedule import shape_sticks
from quadsim.simulation.session import fly_through
from quadsim.units import DEG

POINTS = 401
START_M = 100.0
"""Height at which a trace begins [m]: room for whatever it does."""
PERCENT = 1e-2


@dataclass(frozen=True)
class StickCurves:
    """What the sticks ask for over their travel -100..100 % (throttle 0..100 %)."""

    name: str
    travel_pct: np.ndarray
    rate_deg_s: np.ndarray
    yaw_deg_s: np.ndarray
    tilt_deg: np.ndarray
    throttle_pct: np.ndarray
    command_pct: np.ndarray
    weights: np.ndarray
    """Thrust over weight."""
    figures: dict[str, float] = field(default_factory=dict)


def with_sticks(craft: Craft, changes: Mapping[str, Any]) -> Craft:
    """The craft with some keys of `[sticks]` changed.

    Raises
    ------
    InputError
        that lists every change that is not allowed.
    """
    stated = {key: value for key, value in craft.sticks.model_dump().items() if value is not None}
    document = Document({**stated, **changes}, "", "--set")
    return craft.model_copy(update={"sticks": checked(Sticks, document)})


def without_shaping(craft: Craft) -> Craft:
    """The craft with straight sticks: the same full-stick values, no dead band, no exponential, no throttle curve."""
    straight = dict.fromkeys(
        (
            "deadband_pct",
            "exponential_pct",
            "yaw_exponential_pct",
            "hover_at_pct",
            "throttle_exponential_pct",
        ),
        0.0,
    )
    return with_sticks(craft, straight)


def stick_curves(craft: Craft, name: str, site: Site | None = None) -> StickCurves:
    """Curves and figures of a craft's sticks; `name` is what they are called on the sheet."""
    guide = load_block("response", "guide").block
    gains = guide.default_gains()
    for key, value in craft.gains.get("guide", {}).items():
        gains[GuideGain[key.upper()]] = value
    shape_sticks(craft.sticks, guide, gains)
    builder = resolve_builder(craft, resolve_plant(craft, site or Site.stated()))
    travel, throttle = np.linspace(-1.0, 1.0, POINTS), np.linspace(0.0, 1.0, POINTS)
    width, share = gains[GuideGain.STICK_DEADBAND], gains[GuideGain.EXPONENTIAL]
    bent = np.array([shaped(x, width, share) for x in travel])
    turned = np.array([shaped(x, width, gains[GuideGain.YAW_EXPONENTIAL]) for x in travel])
    at, flat = gains[GuideGain.THROTTLE_HOVER_AT], gains[GuideGain.THROTTLE_EXPONENTIAL]
    command = np.array([throttle_curve(x, at, builder.hover_throttle, flat) for x in throttle])
    lift = 4.0 * builder.max_thrust / (builder.mass * G0)
    weights = lift * np.array([thrust_at(u, builder.thrust_curve) for u in command])
    curves = StickCurves(
        name, travel / PERCENT, gains[GuideGain.RATE_FULL] / DEG * bent, gains[GuideGain.YAW_RATE_FULL] / DEG * turned,
        gains[GuideGain.TILT_MAX] / DEG * bent, throttle / PERCENT, command / PERCENT, weights,
    )  # fmt: skip
    curves.figures.update(_figures(craft, gains, curves))
    return curves


def _figures(craft: Craft, gains: np.ndarray, curves: StickCurves) -> dict[str, float]:
    """The numbers that a pilot compares."""
    link = craft.radio.sticks
    full, half = float(curves.rate_deg_s[-1]), float(np.interp(50.0, curves.travel_pct, curves.rate_deg_s))
    edge = gains[GuideGain.STICK_DEADBAND]
    near = full * (1.0 - gains[GuideGain.EXPONENTIAL]) / (1.0 - edge) * PERCENT
    hover = float(np.interp(1.0, curves.weights, curves.throttle_pct))
    span = np.interp([hover - 1.0, hover + 1.0], curves.throttle_pct, curves.weights)
    return {
        "full_deg_s": full,
        "half_deg_s": half,
        "centre_deg_s_per_pct": near,
        "step_deg_s": 200.0 / link.steps * near,
        "yaw_full_deg_s": float(curves.yaw_deg_s[-1]),
        "tilt_full_deg": float(curves.tilt_deg[-1]),
        "hover_stick_pct": hover,
        "weight_pct_per_stick_pct": float(100.0 * (span[1] - span[0]) / 2.0),
        "link_delay_ms": link.delay_ms + 500.0 / link.rate_Hz,
    }


@dataclass(frozen=True)
class TraceResponse:
    """One axis of a flight on a recorded trace: asked and flown."""

    name: str
    t_s: np.ndarray
    stick: np.ndarray
    asked: np.ndarray
    flown: np.ndarray
    unit: str
    axis: str
    status: str


def fly_trace(
    craft: Craft, name: str, trace: np.ndarray, mode: str = "rate_command", axis: str = "roll"
) -> TraceResponse:
    """Fly a craft on a stick trace (rows t, roll, pitch, yaw, throttle), high up in still air.

    Rates [deg/s] in rate command, angles [deg] in attitude command; yaw is always a rate.

    Raises
    ------
    InputError
        for a mode or an axis that is not one of these.
    """
    if mode not in ("rate_command", "attitude_command"):
        raise InputError(f"mode is {mode!r}; must be rate_command or attitude_command")
    if axis not in ("roll", "pitch", "yaw"):
        raise InputError(f"axis is {axis!r}; must be roll, pitch or yaw")
    length = float(trace[-1, 0] - trace[0, 0])
    text = f'title = "stick trace"\ncraft = "{craft.name}"\nduration_s = {length:g}\nlog_rate_Hz = 500\n'
    flight = parse_flight(f'{text}[start]\nheight_m = {START_M:g}\nmode = "{mode}"\n')
    session = start(flight, craft=craft)
    interval = float(session.clock.h) * int(session.clock.command_every)
    times = trace[0, 0] + interval * np.arange(session.commands.shape[0])
    rows = np.clip(np.searchsorted(trace[:, 0], times, side="right") - 1, 0, len(trace) - 1)
    first = COMMAND_FIELDS.index("roll")
    session.commands[:, first : first + 4] = trace[rows, 1:]
    run = finish(session, fly_through(session))
    n = ("roll", "pitch", "yaw").index(axis)
    if mode == "rate_command" or axis == "yaw":
        asked, flown, unit = run["signals/rates_wanted_rad_s"][:, n], run["rates_rad_s"][:, n], "deg/s"
    else:
        asked, flown = (
            np.array([to_euler(*q)[n] for q in run[column]])
            for column in ("signals/attitude_wanted", "attitude")
        )
        unit = "deg"
    return TraceResponse(
        name, run.t_s, run["signals/stick"][:, n], asked / DEG, flown / DEG, unit, axis, run.status
    )  # fmt: skip


def liveliest_axis(trace: np.ndarray) -> str:
    """The axis on which a trace does most."""
    return ("roll", "pitch", "yaw")[int(np.argmax(np.std(trace[:, 1:4], axis=0)))]


def swallowed_trims(craft: Craft) -> list[str]:
    """Trims that are smaller than the dead band, so that nothing comes of them, in words."""
    trim, band = craft.radio.sticks.trim.model_dump(), craft.sticks.deadband_pct
    width = 100.0 * GuideGain.STICK_DEADBAND.default if band is None else band
    return [
        f"the {key.removesuffix('_pct')} trim of {value:g} % lies within the dead band of {width:g} % and does nothing"
        for key, value in trim.items()
        if 0.0 < math.fabs(value) <= width
    ]


__all__ = ["StickCurves", "TraceResponse", "fly_trace", "liveliest_axis", "stick_curves", "swallowed_trims",
           "with_sticks", "without_shaping"]  # fmt: skip
