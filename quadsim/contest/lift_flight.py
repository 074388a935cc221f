"""The lift prediction flown: the rated payload in its gust, and payloads just below and above the one that fails."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from controllers.contract import SLOTS
from controllers.guide_gains import GuideGain
from quadsim.config import Craft, Load, mass_properties, resolve_plant
from quadsim.config.craft_solids import rotor_places
from quadsim.config.equilibrium import thrust_curve
from quadsim.config.flight_loader import parse_flight
from quadsim.config.loose_load import payload_of
from quadsim.config.resolve_builder import allocation_of, effectiveness
from quadsim.contest.flights import Watch, fly_whole
from quadsim.contest.lift_prediction import BEYOND, LiftPrediction
from quadsim.environment.atmosphere import Site
from quadsim.simulation.fly import finish, start
from quadsim.simulation.run import Run
from quadsim.simulation.session import Session

SETTLE_S = 4.0
"""Time for the craft to take up the load before it is judged [s]."""
LOST_M = 1.0
"""Height error that counts as not held [m]; our choice."""
WITHIN = 0.97
"""Payload under the failure payload that must still be held."""
HEIGHT_M = 30.0
AT_LIMIT = 98.0
"""Motor command from which a motor counts as at its limit [%]."""

FLIGHT = """title = "Lift attempt"
craft = "{craft}"
duration_s = {duration}
log_rate_Hz = 50
[start]
height_m = {height}
[[at]]
t_s = 0.0
attach = {{ name = "load", mass_g = {payload} }}
"""
GUST = """[wind]
gusts = [{{ at_s = {at}, duration_s = {long}, form = "holding", speed_m_s = {speed} }}]
"""


@dataclass(frozen=True)
class FlownLift:
    """One attempt as flown: payload [g], whether it was predicted to hold or what to give out,
    whether it held, when it was over [s], what gave out (a name of quadsim.contest.lift.HARD)."""

    payload_g: float
    gust_m_s: float
    predicted: bool
    expected: str
    held: bool
    lost_at_s: float | None
    cause: str
    height_error_m: float
    motor_pct: float

    @property
    def agrees(self) -> bool:
        return self.predicted == self.held and self.cause == self.expected

    @property
    def words(self) -> str:
        """The attempt in a sentence."""
        fate = "held" if self.held else f"failed after {self.lost_at_s:.0f} s, {self.cause.replace('_', ' ')}"
        wind = f" in a gust of {self.gust_m_s:g} m/s" if self.gust_m_s else ""
        return f"{fate}{wind}, " + ("as predicted" if self.agrees else "NOT as predicted")


def fly_lift(
    craft: Craft, site: Site, found: LiftPrediction, watch: Watch | None = None
) -> Iterator[FlownLift]:
    """The FLIGHTS that confirm a prediction, each once it is flown; Ctrl-C ends them by KeyboardInterrupt."""
    rule = found.rule
    yield fly_attempt(craft, site, found.payload, rule.time_s, rule.gust_m_s, watch=watch)
    yield fly_attempt(craft, site, WITHIN * found.failure, rule.time_s, watch=watch)
    beyond = BEYOND * found.failure
    yield fly_attempt(craft, site, beyond, rule.time_s, expected=found.failure_mode, watch=watch)


def fly_attempt(
    craft: Craft, site: Site, payload: float, time_s: float, gust: float = 0.0, expected: str = "", watch: Watch | None = None
) -> FlownLift:  # fmt: skip
    """Hover with a payload [kg] for a time from a full battery; a gust builds up over the last third and stays."""
    return judged(fly_load(craft, site, payload, time_s, gust, watch=watch)[1], payload, gust, expected)


def fly_load(
    craft: Craft, site: Site, payload: float, time_s: float, gust: float = 0.0, *, more: str = "", more_s: float = 0.0,
    watch: Watch | None = None,
) -> tuple[Session, Run]:  # fmt: skip
    """That flight before it is judged; more : further flight text, for `more_s` after the time."""
    text = (
        FLIGHT.format(craft=craft.name, duration=time_s + more_s, height=HEIGHT_M, payload=1000.0 * payload)
        + more
    )
    if gust > 0.0:
        text += GUST.format(at=0.6 * time_s, long=0.1 * time_s, speed=gust)
    session = start(parse_flight(text), craft=craft, site=site)
    tell_load(session, payload_of(payload), freely=gust == 0.0)
    wall_s = fly_whole(session, f"{1000.0 * payload:.0f} g", watch)
    return session, finish(session, wall_s)


def tell_load(session: Session, loads: list[Load], freely: bool) -> None:
    """The controller is told of the load, as a crew that weighs it would: its height loop makes up for 80 % of an unknown mass
    and no more.

    freely : also let it ask for all that the motors give on a full battery; the guide's own cap (gain thrust_high, at 3.7 V per
        cell) would end the attempt first
    """
    builder, craft = session.builder, session.craft
    plant, properties = resolve_plant(craft, session.site, loads), mass_properties(craft, loads)
    builder.mass, builder.inertia[:] = plant.mass, plant.inertia
    builder.effectiveness[:] = effectiveness(plant, properties, rotor_places(craft))
    builder.allocation[:], _ = allocation_of(np.array(builder.effectiveness))
    builder.rotor_position[:] = plant.rotor_position
    if freely:
        session.gains[SLOTS.index("guide"), GuideGain.THRUST_HIGH] = 1.0
        builder.nominal_voltage = float(plant.cells * plant.full_cell_voltage)
    greatest, curve, hover = thrust_curve(plant, float(builder.nominal_voltage))
    builder.max_thrust, builder.thrust_curve, builder.hover_throttle = greatest, curve, hover


def judged(run: Run, payload: float, gust: float, expected: str) -> FlownLift:
    """Held is: within LOST_M of the height it had when the load was settled, to the end."""
    t = run.t_s
    settled = int(np.searchsorted(t, min(SETTLE_S, t[-1])))
    error = np.abs(run["height_m"] - HEIGHT_M)
    late = np.flatnonzero(error[settled:] > LOST_M)
    lost_at = float(t[settled + late[0]]) if len(late) else None
    command = 100.0 * np.max(run["signals/motor"], axis=1)
    until = settled + int(late[0]) + 1 if len(late) else len(t)
    if lost_at is None and run.status != "done":
        lost_at = float(t[-1])
    held = lost_at is None
    most = float(np.max(command[settled:until])) if until > settled else float(np.max(command))
    cause = run.status_text
    if run.status == "overheated":
        cause = "winding_temperature"
    elif len(late) and most >= AT_LIMIT:
        cause = "thrust"
    return FlownLift(
        1000.0 * payload,
        gust,
        not expected,
        expected,
        held,
        lost_at,
        "" if held else cause,
        float(np.max(error[settled:])),
        most,
    )
