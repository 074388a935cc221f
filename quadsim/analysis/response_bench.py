"""A craft in steady hover, to which one thing is done at a time: short flights that share one settled start."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from controllers.guide_gains import GuideGain
from controllers.signals import Mode
from controllers.thrust import command_for
from quadsim.config import Craft, Load
from quadsim.config.flight_loader import parse_flight
from quadsim.config.flight_schema import ActionSection, AttachSection
from quadsim.dynamics.records import GUSTS, rows
from quadsim.errors import InputError
from quadsim.simulation.carried import COMMAND_FIELDS
from quadsim.simulation.fly import sentence, start
from quadsim.simulation.rewind import mark, rewind
from quadsim.units import DEG, GRAM, MM

Array = NDArray[np.float64]
AXES = ("roll", "pitch", "yaw")
START_M = 30.0
"""Height of the hover [m]: clear of the ground whatever is done."""
SETTLE_S = 2.0
"""Time that the hover has to settle [s]: attitude and rates need tenths of a second, the height is steady to millimetres."""
LONGEST_S = 12.0
"""Room in the log for settling and one flight [s]."""
AT_LIMIT = 1e-3
"""A motor command so close to its least or greatest counts as at its limit [-]."""
_STICKS = COMMAND_FIELDS.index("roll")
_TARGETS = {"roll": "target_roll", "pitch": "target_pitch", "yaw": "target_yaw", "height": "target_height"}
_SILENT = ("gyro_noise", "gyro_bias", "gyro_walk", "gyro_kick", "accel_noise", "accel_bias", "accel_walk", "accel_kick",
           "baro_noise", "baro_walk", "baro_warm_up", "shaking", "gnss_white", "gnss_wander", "gnss_speed_noise", "mag_noise",
           "mag_bias", "range_noise")  # fmt: skip
"""Fields of SENSORS that are set to zero without sensor noise. Delays, bandwidths, steps and sample clocks stay, scale and
mounting errors too."""


@dataclass(frozen=True)
class Flown:
    """A short flight after its start: rows of the truth and of the signals, times counted from the change [s].

    limited_pct : share of the time with a motor command at its least or greatest [%]
    status_text : how it ended when it ended early, else empty
    """

    t_s: Array
    truth: np.recarray
    heard: np.recarray
    limited_pct: float
    status_text: str

    def angle(self, axis: int, wanted: bool = False) -> Array:
        """Roll, pitch or yaw angle flown or `wanted` [rad], from before any turn, without jumps at half turns."""
        w, x, y, z = (self.heard.attitude_wanted if wanted else self.truth.attitude).T
        if axis == 0:
            values = np.arctan2(2.0 * (w * x + y * z), 1.0 - 2.0 * (x * x + y * y))
        elif axis == 1:
            return np.arcsin(np.clip(2.0 * (w * y - z * x), -1.0, 1.0))
        else:
            values = np.arctan2(2.0 * (w * z + x * y), 1.0 - 2.0 * (y * y + z * z))
        return np.unwrap(values)


class Bench:
    """A hovering craft. Every flight starts from the same settled hover, in still air and without sensor noise unless asked.

    Parameters
    ----------
    craft : checked craft file
    blocks : slot -> block name or "file.py:function", over the craft's choice
    gains : (5, GAINS_SIZE) per slot, in the order of SLOTS; None: the craft's
    loads : boxes fixed to it
    charge : state of charge at the start, 0..1
    noise : with the sensors' noise and biases

    Raises
    ------
    InputError
        for files, gains or loads with which it cannot take off.
    """

    def __init__(
        self, craft: Craft, *, blocks: Mapping[str, str] | None = None, gains: Array | None = None,
        loads: Sequence[Load] = (), charge: float = 1.0, noise: bool = False,
    ) -> None:  # fmt: skip
        text = f'title = "response"\ncraft = "{craft.name}"\nduration_s = {LONGEST_S:g}\nlog_rate_Hz = 1000\n'
        text += f"[start]\nheight_m = {START_M:g}\ncharge_pct = {100.0 * charge:g}\n"
        flight = parse_flight(text)
        if loads:
            flight = flight.model_copy(update={"at": tuple(map(_attached, range(len(loads)), loads))})
        self.session = session = start(flight, craft=craft, blocks=blocks)
        self.craft_gains = session.gains.copy()
        session.gusts = rows(GUSTS, 1)
        session.gusts[0].start = math.inf
        clock = session.clock
        clock.stick_delay, clock.stick_every, clock.stick_steps = 0, 1, 0.0
        clock.trim[:] = 0.0
        if not noise:
            for name in _SILENT:
                session.sensors[name] = 0.0
        self._begin = mark(session)
        self.tune(self.craft_gains if gains is None else gains)

    def tune(self, gains: Array) -> None:
        """Fly with other gains from here on: the hover settles anew, from blocks that remember nothing."""
        rewind(self.session, self._begin)
        self.session.gains[:] = gains
        self.session.advance(round(SETTLE_S / self.session.h))
        if self.session.finished:
            self.trouble = f"cannot hover with these gains: {sentence(self.session)}"
        else:
            level = np.hypot(*self.session.x[6 + 1 : 6 + 3])
            self.trouble = "" if level < 0.5 else "cannot hover with these gains: it does not stay level"
        self._settled = mark(self.session)

    def fly(self, duration_s: float, change: Callable[[Any], None]) -> Flown:
        """One flight of `duration_s` from the settled hover; `change(session)` does to it what shall be answered."""
        session = self.session
        rewind(session, self._settled)
        first = session.rows
        if not self.trouble:
            change(session)
            session.advance(round(duration_s / session.h) + 1)
        truth, heard = session.truth[first : session.rows], session.heard[first : session.rows]
        begin = int(self._settled.records["carried"]["tick"]) * session.h
        idle = float(session.builder.idle)
        limited = (heard.motor.max(axis=1) >= 1.0 - AT_LIMIT) | (heard.motor.min(axis=1) <= idle + AT_LIMIT)
        ended = sentence(session) if session.finished else ""
        return Flown(
            truth.t - begin, truth.copy(), heard.copy(),
            100.0 * float(np.mean(limited)) if limited.size else math.nan, self.trouble or ended,
        )  # fmt: skip

    def rate_step(self, axis: int, rate: float, hold_s: float, duration_s: float) -> Flown:
        """A rate asked for about an axis [rad/s] for `hold_s`, then none; thrust and the other axes stay as they are."""

        def change(session: Any) -> None:
            first, last = self._row(), self._row(hold_s)
            guide, full = session.gains[1], abs(rate)
            exact = {GuideGain.EXPONENTIAL: 0.0, GuideGain.YAW_EXPONENTIAL: 0.0, GuideGain.STICK_DEADBAND: 0.0,
                     GuideGain.THROTTLE_HOVER_AT: 0.0, GuideGain.RATE_FULL: full, GuideGain.YAW_RATE_FULL: full}  # fmt: skip
            self._need_sticks()
            for gain, value in exact.items():
                guide[gain] = value
            share = float(session.signals.thrust_wanted) / (4.0 * float(session.builder.max_thrust))
            session.commands[first:, 0] = Mode.RATE_COMMAND
            session.commands[first:, _STICKS + 3] = command_for(share, float(session.builder.thrust_curve))
            session.commands[first:last, _STICKS + axis] = math.copysign(1.0, rate)

        return self.fly(duration_s, change)

    def target_step(self, name: str, change_by: float, duration_s: float) -> Flown:
        """A step of the roll, pitch or yaw angle [rad] or of the height [m] asked for."""
        column = COMMAND_FIELDS.index(_TARGETS[name])

        def change(session: Any) -> None:
            session.commands[self._row() :, column] += change_by

        return self.fly(duration_s, change)

    def torque_step(self, axis: int, torque: float, duration_s: float) -> Flown:
        """A constant torque about a body axis [N m] from the first moment on."""

        def change(session: Any) -> None:
            session.held.outside_torque[axis] = torque

        return self.fly(duration_s, change)

    def gust(self, speed: float, gust_s: float, duration_s: float) -> Flown:
        """A vertical gust, 1-cosine, of a peak speed (up positive) [m/s] that lasts `gust_s`."""

        def change(session: Any) -> None:
            record = session.gusts[0]
            record.start, record.duration, record.velocity[2] = session.t_s, gust_s, -speed

        return self.fly(duration_s, change)

    def _row(self, later_s: float = 0.0) -> int:
        """Row of the command table that is read at or next after a time from now [s]."""
        session = self.session
        tick = int(session.carried.tick) + round(later_s / session.h)
        return -(-tick // int(session.clock.command_every))

    def _need_sticks(self) -> None:
        guide = self.session.blocks[1]
        if guide.gains is not GuideGain:
            raise InputError(
                f"the guide {guide.name!r} is not known here: a rate step needs one that shapes sticks as the stock guides do"
            )


def _attached(number: int, load: Load) -> ActionSection:
    """The action that hooks a box on at the very start."""
    attach = AttachSection(
        name=f"load {number}", mass_g=load.mass_kg / GRAM, size_mm=tuple(np.asarray(load.size_m) / MM),
        at_mm=tuple(np.asarray(load.at_m) / MM),
    )  # fmt: skip
    return ActionSection(t_s=0.0, attach=attach)


__all__ = ["AXES", "DEG", "Bench", "Flown"]
