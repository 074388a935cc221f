"""A flight log against a craft: what looks wrong, how well they agree, what would make them agree, what the log cannot tell."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np

from quadsim.config import Craft
from quadsim.environment.atmosphere import Site
from quadsim.errors import InputError, Problem
from quadsim.logs.agreement import Agreement
from quadsim.logs.along import Along, Model, along, missing, model_of
from quadsim.logs.channels import channels
from quadsim.logs.columns import hinted
from quadsim.logs.drag_fit import Drag, fit_drag
from quadsim.logs.drive_fit import fit_drive
from quadsim.logs.estimate import Estimate, Untold
from quadsim.logs.flight_log import Array, FlightLog, Mask
from quadsim.logs.holdout import blocks, mask_of, split
from quadsim.logs.lift_fit import accelerometer_offset, fit_lift
from quadsim.logs.pack_fit import fit_pack
from quadsim.logs.suspicions import Suspicion, another_craft, of_the_log, rotor_order
from quadsim.logs.turning_fit import FLIGHT, SLOWEST_HZ, Turning, estimates, fit_turning

DRAG_HZ, PACK_HZ = 50.0, 10.0
"""Rows per second that drag and pack are fitted with: both are slow."""
COARSE = 4
"""Steps of physics made one for the drag, where only means over rows count."""
LEAST_FLYING_S = 2.0
"""Time in the air under which nothing is fitted [s]; our choice."""
COLUMNS_OF = {
    "gyro": "gyro_roll_deg_s, gyro_pitch_deg_s, gyro_yaw_deg_s",
    "attitude": "roll_deg, pitch_deg, yaw_deg (or attitude_w, attitude_x, attitude_y, attitude_z)",
    "motor": "motor_1 to motor_4, 0 to 1",
}
"""What the channels that are needed are called in a log."""
Progress = Callable[[int, str], None]
STAGES = ("leading the model along the log", "drag and wind", "thrust", "turning", "pack")


@dataclass
class Comparison:
    """What was found. fitted, kept : rows of the fit and rows kept back, in the air"""

    craft: Craft
    site: Site
    log: FlightLog
    model: Model
    flying: Mask
    fitted: Mask
    kept: Mask
    said: Along
    wind: Array
    offsets: Array
    estimates: list[Estimate] = field(default_factory=list)
    untold: list[Untold] = field(default_factory=list)
    suspicions: list[Suspicion] = field(default_factory=list)
    channels: list[Agreement] = field(default_factory=list)
    turning: list[Turning] = field(default_factory=list)
    drag: Drag | None = None

    @property
    def sound(self) -> bool:
        """Whether nothing grave looks wrong with the log."""
        return not any(one.grave for one in self.suspicions)

    @property
    def agrees(self) -> bool:
        """Whether all channels agree and no number of the craft file is ruled out."""
        return (
            self.sound
            and all(c.agrees for c in self.channels)
            and all(e.verdict != "contradicts" for e in self.estimates)
        )

    @property
    def apart(self) -> list[str]:
        """In words, what does not agree."""
        off = [one.words for one in self.estimates if one.verdict == "contradicts"]
        return off + [one.channel for one in self.channels if not one.agrees]


def compare(
    craft: Craft, log: FlightLog, site: Site, progress: Progress = lambda done, stage: None
) -> Comparison:
    """Compare a log with a craft. Channels of the log that make no sense are taken out of it.

    Raises
    ------
    InputError
        when the log lacks what leading the model along it needs, or was not in the air for long enough.
    """
    _check(log)
    progress(0, STAGES[0])
    model = model_of(craft, site)
    flying = log.flying(float(craft.esc.idle_pct) / 100.0)
    suspicions = of_the_log(model, log, flying)
    if float(np.sum(flying)) * log.interval_s < LEAST_FLYING_S:
        wrong = "; ".join(one.text for one in suspicions)
        given = f"is in the air for {float(np.sum(flying)) * log.interval_s:.1f} s" + (
            f" ({wrong})" if wrong else ""
        )
        allowed = f"needs {LEAST_FLYING_S:g} s above 0.3 m with motors over idle"
        raise InputError([Problem("LOG", given, allowed)], str(log.path))
    for one in suspicions:
        if log.channels.pop(one.channel, None) is not None:
            log.notes.append(f"{one.channel} makes no sense and was left out")
    said = along(model, log)
    fitted, kept = split(log, flying)
    found = Comparison(
        craft, site, log, model, flying, fitted, kept, said, np.zeros(3), np.zeros(3), suspicions=suspicions
    )
    if found.sound:
        found.suspicions += rotor_order(model, log, said, flying)
    _fit(found, progress)
    found.channels = channels(model, log, found.said, found.fitted, found.offsets, found.fitted)
    factors = {one.name: one.value for one in found.estimates}
    found.suspicions += another_craft(factors) if found.sound else []
    return found


def _check(log: FlightLog) -> None:
    lacking = missing(log)
    if lacking:
        remedy = "; ".join(
            [note for note in log.notes if note.endswith("left out")]
            + ([f"not understood: {', '.join(map(hinted, log.unused))}"] if log.unused else [])
        )
        problems = [Problem("LOG", f"has no {name}", f"needs {COLUMNS_OF[name]}", remedy) for name in lacking]
        raise InputError(problems, str(log.path))


def _fit(found: Comparison, progress: Progress) -> None:
    """All fits, each on rows of the fit only; the drag first, whose wind all others are given."""
    model, log = found.model, found.log
    progress(1, STAGES[1])
    slow = blocks(log, DRAG_HZ)
    drag = fit_drag(model_of(found.craft, found.site, coarse=COARSE), slow, mask_of(log, found.fitted, slow))
    if isinstance(drag, Drag):
        found.drag, found.wind = drag, drag.wind
        found.offsets[:2] = drag.offsets
        found.said = along(model, log, drag.wind)
    wind_sigma = float(max(found.drag.wind_sigma)) if found.drag else None
    progress(2, STAGES[2])
    lift = fit_lift(model, log, found.said, found.fitted, found.flying, found.wind, wind_sigma)
    if "accel" in log:
        found.offsets[2] = accelerometer_offset(model, log, found.flying)[0]
    progress(3, STAGES[3])
    found.turning = fit_turning(model, log, found.said, found.fitted)
    turned, unturned = estimates(model, found.turning, lift)
    if not found.turning:
        why = f"the log has {log.rate_Hz:.0f} rows a second; {SLOWEST_HZ:.0f} are the least that show how motors turn a craft"
        unturned = [Untold("turning", "moment over inertia, delay", why, FLIGHT)]
    progress(4, STAGES[4])
    drive = fit_drive(model, log, found.said, found.fitted, found.wind)
    calm = blocks(log, PACK_HZ)
    pack, unpacked = fit_pack(model, calm, mask_of(log, ~found.kept, calm))
    driven = drive if isinstance(drive, list) else [drive]
    dragged = drag.area if isinstance(drag, Drag) else drag
    for one in (lift, *driven, *turned, dragged, *pack, *unturned, *unpacked):
        if isinstance(one, Estimate):
            found.estimates.append(one)
        elif isinstance(one, Untold):
            found.untold.append(one)
