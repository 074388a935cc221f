"""The hover prediction flown: a battery run-down in still air, by the same rule for its end."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from controllers.contract import SLOTS
from quadsim.analysis.hover import End, cut_off
from quadsim.config import Craft
from quadsim.config.flight_loader import parse_flight
from quadsim.contest.flights import fly_whole
from quadsim.contest.hover_prediction import HoverPrediction, RunDown
from quadsim.contest.lift_flight import LOST_M, SETTLE_S
from quadsim.environment.atmosphere import Site
from quadsim.simulation.fly import snapshot, start
from quadsim.simulation.run import Run
from quadsim.simulation.session import Session

HEIGHT_M = 40.0
LONGER = 1.3
"""Time that is flown at most, over the predicted time to the cut-off."""
AGREES_WITHIN = 0.02
"""By how much minutes flown may differ from those predicted [-]; our choice."""

FLIGHT = """title = "Hover until the battery says stop"
craft = "{craft}"
duration_s = {duration}
log_rate_Hz = 5
[start]
height_m = {height}
"""
PAYLOAD = """[[at]]
t_s = 0.0
attach = {{ name = "load", mass_g = {payload} }}
"""


@dataclass(frozen=True)
class FlownHover:
    """A run-down as flown, minutes from take-off with a full battery; None where the flight did not get there.

    limited_by : "reserve", or what the end's voltage is called; power_W : mean of the first minute
    height_error_m : greatest from when the load is taken up to the end of the rule; ended : how the flight ended
    log : of the battery
    """

    minutes: float | None
    predicted_min: float
    limited_by: str
    expected: str
    cut_off_min: float | None
    predicted_cut_off_min: float
    power_W: float
    height_error_m: float
    ended: str
    log: RunDown | None = None

    @property
    def agrees(self) -> bool:
        """Minutes to both ends, the height held up to the first. What ended it may differ where both were near."""
        if self.minutes is None or self.cut_off_min is None or self.height_error_m > LOST_M:
            return False
        return _near(self.minutes, self.predicted_min) and _near(self.cut_off_min, self.predicted_cut_off_min)

    @property
    def words(self) -> str:
        """The flight in a sentence."""
        fits = "as predicted" if self.agrees else "NOT as predicted"
        if self.minutes is None:
            return f"{self.ended} before the rule ended it, {fits}"
        last = "not reached" if self.cut_off_min is None else f"{self.cut_off_min:.2f} min"
        both = f"{self.minutes:.2f} min for {self.predicted_min:.2f}, ended by {self.limited_by}; "
        return f"{both}to the cut-off {last} for {self.predicted_cut_off_min:.2f}, {fits}"


def _near(flown: float, predicted: float) -> bool:
    return abs(flown - predicted) <= AGREES_WITHIN * predicted


def fly_hover(
    craft: Craft, site: Site, found: HoverPrediction, progress: Callable[[Session], None] | None = None
) -> FlownHover:
    """Hover from a full battery until the cut-off voltage or an empty pack; progress : called between chunks."""
    longest = 60.0 * LONGER * found.at_cut_off.minutes
    text = FLIGHT.format(craft=craft.name, duration=longest, height=HEIGHT_M)
    if found.payload > 0.0:
        text += PAYLOAD.format(payload=1000.0 * found.payload)
    session = start(parse_flight(text), craft=craft, site=site)
    _fly_on(session)
    fly_whole(session, "", None if progress is None else lambda _, one, __: progress(one))
    return _judged(snapshot(session), craft, found)


def _fly_on(session: Session) -> None:
    """The guide warns of a low battery and does nothing about it: the crew decides."""
    row = SLOTS.index("guide")
    for gain in session.blocks[row].gains:
        if gain.name == "BATTERY_ACTS":
            session.gains[row, gain] = 0.0


def _judged(run: Run, craft: Craft, found: HoverPrediction) -> FlownHover:
    minutes, by = first_end(run, craft, found.end)
    last, _ = first_end(run, craft, cut_off(craft.battery))
    until = len(run.t_s) if minutes is None else int(np.searchsorted(run.t_s, 60.0 * minutes))
    settled = int(np.searchsorted(run.t_s, SETTLE_S))
    power = run["battery_voltage_V"] * run["battery_current_A"]
    return FlownHover(
        minutes,
        found.at_end.minutes,
        by,
        found.at_end.limited_by,
        last,
        found.at_cut_off.minutes,
        float(np.mean(power[run.t_s <= 60.0])),
        float(np.max(np.abs(run["height_m"][settled:until] - HEIGHT_M))),
        run.status_text,
        RunDown(
            run.t_s / 60.0,
            run["battery_voltage_V"] / float(craft.battery.cells),
            np.mean(run["duty"], axis=1),
        ),
    )


def first_end(run: Run, craft: Craft, end: End) -> tuple[float | None, str]:
    """Minutes to a stated end in a log, and what came first."""
    cell = run["battery_voltage_V"] / float(craft.battery.cells)
    spent, low = run["charge"] <= end.reserve, cell < end.cell_V
    empty = run.status == "battery_empty"
    there = np.flatnonzero(spent | low)
    if not len(there):
        return (float(run.t_s[-1]) / 60.0, "reserve") if empty and end.reserve == 0.0 else (None, "")
    at = there[0]
    return float(run.t_s[at]) / 60.0, "reserve" if spent[at] else end.voltage
