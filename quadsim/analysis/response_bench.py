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
from quadsim.dynamics.state import X
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
MOST_TILT, MOST_CLIMB = 0.2, 0.5
"""A settled hover leans [rad] and climbs [m/s] less than this; assumed."""
AT_LIMIT = 1e-3
"""A motor command so close to its least or greatest counts as at its limit [-]."""
_STICKS = COMMAND_FIELDS.index("roll")
_TARGETS = {"roll": "target_roll", "pitch": "target_pitch", "yaw": "target_yaw", "height": "target_height"}
_SLOW = ("gyro_bias", "gyro_walk", "gyro_kick", "accel_bias", "accel_walk", "accel_kick", "baro_walk", "baro_warm_up",
         "gnss_wander", "mag_bias")  # fmt: skip
"""Fields of SENSORS that are always set to zero: errors that wander would make the craft drift, and every flight another one."""
EVERY_NOISE = (
    "gyro_noise",
    "accel_noise",
    "baro_noise",
    "shaking",
    "gnss_white",
    "gnss_speed_noise",
    "mag_noise",
    "range_noise",
)
"""Those that are set to zero where no noise is asked for: white noise, and what rotors and frame shake. Delays, bandwidths,
resolution, sample clocks, scale and mounting errors stay as they are."""


@dataclass(frozen=True)
class Flown:
    """A short flight after its start, in rows of the log: the truth, what was asked for, the motors. Times from the change on.

    t_s (n,); rates, rates_wanted (n, 3) [rad/s]; attitude, attitude_seen, attitude_wanted (n, 4) quaternions, the second as the
    craft estimates it; height, climb, height_wanted (n,) [m, m/s, m]; motor (n, 4) commands [-], motor_current [A], rotor_speed
    [rad/s]
    limited_pct : share of the time with a motor command at its least or greatest [%]
    trouble : how it ended when it ended early, else empty
    """

    t_s: Array
    rates: Array
    rates_wanted: Array
    attitude: Array
    attitude_seen: Array
    attitude_wanted: Array
    height: Array
    climb: Array
    height_wanted: Array
    motor: Array
    motor_current: Array
    rotor_speed: Array
    limited_pct: float
    trouble: str = ""


def angle_of(quaternions: Array, axis: int) -> Array:
    """Roll, pitch or yaw [rad] of attitudes (n, 4), without jumps at half turns."""
    w, x, y, z = quaternions.T
    if axis == 1:
        return np.asarray(np.arcsin(np.clip(2.0 * (w * y - z * x), -1.0, 1.0)))
    if axis == 0:
        return np.unwrap(np.arctan2(2.0 * (w * x + y * z), 1.0 - 2.0 * (x * x + y * y)))
    return np.unwrap(np.arctan2(2.0 * (w * z + x * y), 1.0 - 2.0 * (y * y + z * z)))


class Bench:
    """A hovering craft. Every flight starts from the same settled hover, in still air and without sensor noise unless asked.

    Parameters
    ----------
    craft : checked craft file
    blocks : slot -> block name or "file.py:function", over the craft's choice
    gains : (5, GAINS_SIZE) per slot, in the order of SLOTS; None: the craft's
    loads : boxes fixed to it
    charge : state of charge at the start, 0..1
    noise : which of EVERY_NOISE the sensors have

    Raises
    ------
    InputError
        for files, gains or loads with which it cannot take off.
    """

    def __init__(
        self, craft: Craft, *, blocks: Mapping[str, str] | None = None, gains: Array | None = None,
        loads: Sequence[Load] = (), charge: float = 1.0, noise: Sequence[str] = (),
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
        for name in _SLOW + tuple(one for one in EVERY_NOISE if one not in noise):
            session.sensors[name] = 0.0
        self._begin = mark(session)
        self.tune(self.craft_gains if gains is None else gains)

    def tune(self, gains: Array) -> None:
        """Fly with other gains from here on: the hover settles anew, from blocks that remember nothing."""
        rewind(self.session, self._begin)
        self.session.gains[:] = gains
        self.session.advance(round(SETTLE_S / self.session.h))
        self.trouble = self._unsteady()
        self._settled = mark(self.session)

    def _unsteady(self) -> str:
        """Why this is no hover; empty when it is one."""
        session = self.session
        if session.finished:
            return f"cannot hover with these gains: {sentence(session)}"
        tilt = 2.0 * math.asin(min(math.hypot(*session.x[X.QUATERNION + 1 : X.QUATERNION + 3]), 1.0))
        if tilt > MOST_TILT:
            return f"cannot hover with these gains: tilted by {tilt / DEG:.0f} deg after {SETTLE_S:g} s"
        sinking = float(session.x[X.VELOCITY + 2])
        if abs(sinking) > MOST_CLIMB:
            return f"cannot hover: {'sinks' if sinking > 0.0 else 'rises'} at {abs(sinking):.1f} m/s after {SETTLE_S:g} s"
        return ""

    def fly(self, duration_s: float, change: Callable[[Any], None]) -> Flown:
        """One flight of `duration_s` from the settled hover; `change(session)` does to it what shall be answered."""
        session = self.session
        rewind(session, self._settled)
        first = session.rows
        if not self.trouble:
            change(session)
            session.advance(round(duration_s / session.h) + 1)
        return self._flown(slice(first, session.rows))

    def _flown(self, rows_: slice) -> Flown:
        session = self.session
        truth, heard = session.truth[rows_], session.heard[rows_]
        begin = int(self._settled.records["carried"]["tick"]) * session.h
        motor, idle = heard["motor"].copy(), float(session.builder.idle)
        limited = (motor.max(axis=1) >= 1.0 - AT_LIMIT) | (motor.min(axis=1) <= idle + AT_LIMIT)
        ended = sentence(session) if session.finished else ""
        return Flown(
            t_s=truth["t"] - begin,
            rates=truth["rates"].copy(),
            rates_wanted=heard["rates_wanted"].copy(),
            attitude=truth["attitude"].copy(),
            attitude_seen=heard["attitude"].copy(),
            attitude_wanted=heard["attitude_wanted"].copy(),
            height=-truth["position"][:, 2],
            climb=-truth["velocity"][:, 2],
            height_wanted=heard["target_height"].copy(),
            motor=motor,
            motor_current=truth["motor_current"].copy(),
            rotor_speed=truth["rotor_speed"].copy(),
            limited_pct=100.0 * float(np.mean(limited)) if limited.size else math.nan,
            trouble=self.trouble or ended,
        )

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
