"""A loop measured in flight: a wave added to what the allocator is asked for, the law's answer to it, all other loops closed.

L = -(law's own output)/(what the plant is given), cut at the allocator's input of one axis. "Given" at a run of the allocator is the law's
output in force plus the wave, both held until the next run: the moment at which a law's own output would act. A law that runs more
rarely is seen as held. The craft flies the whole simulation: noise, saturation, wear of the linear picture included.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from controllers.contract import SLOTS
from controllers.signals import SIGNALS, rows
from controllers.thrust import thrust_at
from quadsim.analysis.injection import AXES, inject
from quadsim.analysis.loop_estimate import LoopEstimate, Wave, estimate_loop, wave_at
from quadsim.config import Craft, load_craft
from quadsim.config.flight_schema import ActionSection, FlightFile, StartSection
from quadsim.dynamics.state import X
from quadsim.errors import FlightError, InputError, Problem
from quadsim.simulation.columns import TRUTH
from quadsim.simulation.fly import sentence, start
from quadsim.simulation.session import Session

Array = NDArray[np.float64]
MakeSession = Callable[[float], Session]
"""From the seconds it has to last to a fresh session in steady flight."""

PERIODS = 6
"""Periods measured; their scatter says how sure each line is."""
SHARE = 0.25
"""Peak of the wave, as a share of the room that the rotors' thrusts have up and down around hover."""
MOST_TILT = math.radians(10.0)
"""Departure of the thrust axis from its mean direction that counts as still near the trim."""
HALVINGS = 4
"""How often a wave that drives the rotors to a limit or the craft too far is halved."""
SURE = 0.08
"""Standard error of L over |L| up to which a line counts: 0.5 dB and 3 deg."""
CHUNK = 4000
"""Runs of the allocator between two looks at the log."""
HIGH = 100.0
"""Height of the flights [m]: far from the ground."""
NO_RESERVE = -10.0


@dataclass(frozen=True)
class FlownLoop:
    """A measured loop.

    axis : one of AXES
    w : angular frequencies of the lines [rad/s], (n,)
    loop : L at each, negative feedback
    coherence, scatter : see LoopEstimate
    amplitude : peak of the wave added [rad/s2; N for the thrust]
    clipped : share of the allocator's runs in which it could not give what was asked or a command stood at a limit
    tilt : greatest departure of the thrust axis from its mean direction [rad]
    """

    axis: str
    w: Array
    loop: NDArray[np.complex128]
    coherence: Array
    scatter: Array
    amplitude: float
    clipped: float
    tilt: float

    @property
    def sure(self) -> NDArray[np.bool_]:
        """Lines that count: measured to SURE, in a flight that met no limit."""
        return (self.scatter < SURE) & (self.clipped == 0.0) & (self.tilt < MOST_TILT)


@dataclass(frozen=True)
class Record:
    """What was seen of a flight: the law's output (periods, n), and how far the craft went."""

    law: Array
    clipped: float
    tilt: float

    @property
    def near_trim(self) -> bool:
        """True when no limit was met and the craft stayed about its trim."""
        return self.clipped == 0.0 and self.tilt < MOST_TILT


def steady(craft: Craft | str, *, pitch_deg: float = 0.0, charge_pct: float = 100.0, seed: int = 1) -> MakeSession:
    """Sessions that hover in still air or fly forward at a pitch angle (nose down is negative), height and heading held.

    In forward flight give `flown_loop` a `settle_s` in which the speed settles: drag alone ends the acceleration.
    """
    loaded = craft if isinstance(craft, Craft) else load_craft(craft)

    def make(seconds: float) -> Session:
        flight = FlightFile(
            title="Steady flight", craft=loaded.name, duration_s=seconds,
            start=StartSection(height_m=HIGH, charge_pct=charge_pct),
            at=(ActionSection(t_s=0.0, ramp_s=3.0, pitch_deg=pitch_deg, height_m=HIGH),),
        )  # fmt: skip
        return start(flight, craft=loaded, seed=seed)

    return make


def flown_loop(
    make: MakeSession,
    axis: str,
    w: Array,
    *,
    periods: int = PERIODS,
    settle_s: float = 4.0,
    share: float = SHARE,
) -> FlownLoop:
    """The loop of one axis, measured in flight.

    Parameters
    ----------
    make : see MakeSession; `steady` makes one
    axis : one of AXES
    w : angular frequencies wanted [rad/s]; measured is at the nearest odd harmonics
    periods : of the wave, at least 2
    settle_s : time flown with the wave before anything counts
    share : peak of the wave, see SHARE; halved until no limit is met

    Raises
    ------
    InputError
        when the frequencies or the axis make no sense.
    FlightError
        when the flight ends early.
    """
    wave = _wave_for(make(1.0), axis, np.asarray(w, dtype=float), periods)
    peak = share * _greatest(make(1.0), axis)
    for _ in range(HALVINGS + 1):
        record = _fly(make, axis, wave.scaled(peak), periods, settle_s)
        if record.near_trim:
            break
        peak *= 0.5
    peak = peak if record.near_trim else 2.0 * peak
    found: LoopEstimate = estimate_loop(wave.scaled(peak), record.law)
    return FlownLoop(
        axis, wave.w, found.loop, found.coherence, found.scatter, peak, record.clipped, record.tilt
    )  # fmt: skip


def _wave_for(session: Session, axis: str, w: Array, periods: int) -> Wave:
    """The wave, once the request is found to make sense."""
    rate = session.rates.physics_Hz / int(session.rates.every[SLOTS.index("allocate")])
    problems = []
    if axis not in AXES:
        problems.append(Problem("axis", f"is {axis!r}", f"must be one of {', '.join(AXES)}"))
    if w.ndim != 1 or not w.size or not np.all((w > 0.0) & (w < 0.8 * math.pi * rate)):
        allowed = f"must be above 0 and below {0.8 * math.pi * rate:.0f} rad/s, 0.8 of half the allocator's rate"
        problems.append(Problem("frequencies", f"are {np.array2string(w, threshold=6)}", allowed))
    if periods < 2:
        problems.append(Problem("periods", f"are {periods}", "must be at least 2", "Their scatter is the accuracy"))
    if problems:
        raise InputError(problems)
    return wave_at(w, rate)


def _greatest(session: Session, axis: str) -> float:
    """What may be asked about hover, with all else still, until the first rotor meets a limit [rad/s2 or N]."""
    builder = session.builder
    curve, most = float(builder.thrust_curve), float(builder.max_thrust)
    hover = most * float(thrust_at(float(builder.hover_throttle), curve))
    room = min(hover - most * float(thrust_at(float(builder.idle), curve)), most - hover)
    return room / float(np.max(np.abs(builder.allocation[:, AXES.index(axis)])))


def _fly(make: MakeSession, axis: str, wave: Wave, periods: int, settle_s: float) -> Record:
    """One flight: the wave from the start on, recorded once it has settled."""
    before = math.ceil(settle_s * wave.rate_Hz)
    session = make((before + periods * wave.period) / wave.rate_Hz + 1.0)
    _keep_battery(session)
    first = -before % wave.period
    inject(session, AXES.index(axis), wave.period, wave.harmonics, wave.amplitudes, wave.phases, first)
    _record(session, axis, before)
    return _gathered(_record(session, axis, periods * wave.period), periods)


def _keep_battery(session: Session) -> None:
    """A flight on a low pack would be taken home by the low-battery action: here it stays."""
    session.builder.reserve = NO_RESERVE


def _record(session: Session, axis: str, runs: int) -> tuple[Array, Array, Array]:
    """Fly on over `runs` of the allocator: law's output (runs,), limit met (runs,), thrust axis (runs, 3) in the world."""
    every = int(session.rates.every[SLOTS.index("allocate")])
    session.clock.log_every = every
    session.truth, session.heard = rows(TRUTH, CHUNK + 1), rows(SIGNALS, CHUNK + 1)
    charge, k = float(session.x[X.CHARGE]), AXES.index(axis)
    law, limits, pointing = np.empty(runs), np.empty(runs, bool), np.empty((runs, 3))
    done = 0
    while done < runs:
        session.rows = 0
        session.advance(min(CHUNK, runs - done) * every)
        n = session.rows
        if session.finished:
            raise FlightError(f"the loop of {axis} could not be measured: {sentence(session)}")
        heard, at = session.heard[:n], slice(done, done + n)
        law[at] = heard.thrust_wanted if k == 3 else heard.angular_acceleration_wanted[:, k]
        limits[at] = _at_limit(heard, float(session.builder.idle))
        pointing[at] = _thrust_axis(heard.attitude)
        session.x[X.CHARGE] = charge
        done += n
    return law, limits, pointing


def _at_limit(heard: Any, idle: float) -> NDArray[np.bool_]:
    """Runs in which something asked for was not given, or a command stood at a limit."""
    motor = heard.motor
    return np.any(heard.unallocated != 0.0, axis=1) | np.any((motor <= idle) | (motor >= 1.0), axis=1)


def _thrust_axis(q: Array) -> Array:
    """Body z in world axes of quaternions (n, 4) -> (n, 3)."""
    w, x, y, z = q.T
    return np.column_stack([2.0 * (x * z + w * y), 2.0 * (y * z - w * x), 1.0 - 2.0 * (x * x + y * y)])


def _gathered(seen: tuple[Array, Array, Array], periods: int) -> Record:
    """A record as periods, with the greatest tilt about the mean."""
    law, limits, pointing = seen
    mean = pointing.mean(axis=0)
    tilt = np.arccos(np.clip(pointing @ (mean / np.linalg.norm(mean)), -1.0, 1.0))
    return Record(law.reshape(periods, -1), float(np.mean(limits)), float(np.max(tilt)))
