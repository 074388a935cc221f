"""A flight with a wave on one axis, flown period by period: what the law asked for, and how far the craft went from its trim."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from controllers.contract import SLOTS
from controllers.signals import SIGNALS, rows
from controllers.thrust import thrust_at
from quadsim.analysis.injection import LOOPS, Cut, inject
from quadsim.analysis.loop_estimate import Wave
from quadsim.config import Craft, load_craft
from quadsim.config.flight_schema import ActionSection, AttachSection, FlightFile, ModeName, StartSection
from quadsim.dynamics.state import X
from quadsim.errors import FlightError
from quadsim.simulation.columns import TRUTH
from quadsim.simulation.fly import sentence, start
from quadsim.simulation.session import Session

Array = NDArray[np.float64]
MakeSession = Callable[[float], Session]
"""From the seconds it has to last to a fresh session that flies steadily, soon at least."""

HIGH = 100.0
"""Height of the flights [m]: far from the ground."""
RAMP_S = 3.0
"""In which the pitch of forward flight is taken up."""
CHUNK = 4000
"""Runs of the allocator between two looks at the log."""
TILT_EVERY = 20
"""Runs of which one is asked for its tilt and speed."""
NO_RESERVE = -10.0
"""Charge left at landing that no flight can fall short of."""


def steady(
    craft: Craft | str,
    *,
    pitch_deg: float = 0.0,
    charge_pct: float = 100.0,
    payload_g: float = 0.0,
    mode: ModeName = "setpoint",
    seed: int = 1,
    blocks: Mapping[str, str] | None = None,
) -> MakeSession:
    """Sessions that hover in still air, or fly forward at a pitch angle (nose down is negative); height and heading are held.

    In the modes `position_hold` and `waypoint` the place is held as well. A payload hangs fixed below the frame. Forward flight
    needs time until the drag ends the acceleration: `settle_s` of `flown_loop`.
    """
    loaded = craft if isinstance(craft, Craft) else load_craft(craft)
    begin = ActionSection(
        t_s=0.0, ramp_s=RAMP_S, pitch_deg=pitch_deg, attach=AttachSection(mass_g=payload_g) if payload_g else None
    )  # fmt: skip

    def make(seconds: float) -> Session:
        flight = FlightFile(
            title="Steady flight", craft=loaded.name, duration_s=seconds, log_rate_Hz=1.0,
            start=StartSection(height_m=HIGH, charge_pct=charge_pct, mode=mode),
            at=(begin,),
        )  # fmt: skip
        return start(flight, craft=loaded, seed=seed, blocks=blocks)

    return make


def ticks_between_runs(session: Session, slot: str) -> int:
    """Ticks from run to run of a slot's block."""
    return int(session.rates.every[SLOTS.index(slot)])


def runs_per_second(session: Session, cut: Cut) -> float:
    """Rate of the block that writes where a loop is cut [Hz]."""
    return session.rates.physics_Hz / ticks_between_runs(session, cut.slot)


def room(session: Session, axis: int) -> float:
    """What may be asked of roll, pitch, yaw (0-2) or thrust (3) about hover until the first rotor meets a limit [rad/s2, N]."""
    builder = session.builder
    curve, most = float(builder.thrust_curve), float(builder.max_thrust)
    hover = most * float(thrust_at(float(builder.hover_throttle), curve))
    free = min(hover - most * float(thrust_at(float(builder.idle), curve)), most - hover)
    return free / float(np.max(np.abs(builder.allocation[:, axis])))


class SweepFlight:
    """A flight in progress: `fly(periods)` goes on and adds to the record.

    Parameters
    ----------
    make : see MakeSession
    loop : one of LOOPS
    wave : added from the start on
    settle_s : time until the record begins
    most : periods that it may last
    """

    def __init__(self, make: MakeSession, loop: str, wave: Wave, settle_s: float, most: int) -> None:
        before = math.ceil(settle_s * wave.rate_Hz)
        self.loop, self.cut, self.wave = loop, LOOPS[loop], wave
        self.session = make((before + most * wave.period) / wave.rate_Hz + 1.0)
        self.session.builder.reserve = NO_RESERVE  # else a low pack would be taken home
        self._every = ticks_between_runs(self.session, self.cut.slot)
        # every run of the allocator is looked at, so that no limit is missed
        looks = math.gcd(self._every, ticks_between_runs(self.session, "allocate"))
        self._stride, self.session.clock.log_every = self._every // looks, looks
        size = CHUNK + self._stride
        self.session.truth, self.session.heard = rows(TRUTH, size), rows(SIGNALS, size)
        self._charge = float(self.session.x[X.CHARGE])
        first = -before % wave.period  # so that the record begins where a period does
        inject(self.session, self.cut, wave.period, wave.harmonics, wave.amplitudes, wave.phases, first)
        self._forget()
        self._fly(before)
        self._forget()

    def _forget(self) -> None:
        """Begin the record anew."""
        self.law = np.empty((0, self.wave.period))
        self._limits, self._runs = 0, 0
        self._pointing: list[Array] = []
        self._speeds: list[Array] = []

    def fly(self, periods: int) -> None:
        """Go on for whole periods."""
        given = self._fly(periods * self.wave.period).reshape(periods, -1)
        self.law = np.concatenate([self.law, given - self.wave.samples])

    @property
    def clipped(self) -> float:
        """Share of the runs in which what was asked could not be given, or a command stood at a limit."""
        return self._limits / max(self._runs, 1)

    @property
    def tilt(self) -> float:
        """Greatest departure of the thrust axis from its mean direction [rad]."""
        pointing = np.concatenate(self._pointing)
        mean = pointing.mean(axis=0)
        cosine = pointing @ (mean / np.linalg.norm(mean))
        return float(np.arccos(np.clip(np.min(cosine), -1.0, 1.0)))

    @property
    def speed(self) -> float:
        """Mean speed over ground [m/s]."""
        return float(np.mean(np.concatenate(self._speeds)))

    def _fly(self, runs: int) -> Array:
        """Fly on over `runs` of the block; what is given at each: law's output and wave (runs,)."""
        session, given, done = self.session, np.empty(runs), 0
        while done < runs:
            session.rows = 0
            n = min(max(CHUNK // self._stride, 1), runs - done)
            session.advance(n * self._every)
            if session.finished:
                raise FlightError(f"the loop {self.loop} could not be measured: {sentence(session)}")
            heard: Any = session.heard[: session.rows]
            given[done : done + n] = at_node(heard, self.cut.node)[:: self._stride]
            self._limits += int(np.count_nonzero(at_limit(heard, float(session.builder.idle))))
            self._pointing.append(thrust_axis(heard.attitude[::TILT_EVERY]))
            self._speeds.append(np.hypot(*session.truth.velocity[: session.rows : TILT_EVERY, :2].T))
            # the pack stays as it was: one operating point, however long it takes
            session.x[X.CHARGE] = self._charge
            self._runs += session.rows
            done += n
        return given


def at_node(heard: Any, node: int) -> Array:
    """The log at a node (n,), see `injection.value_at`."""
    signals = (
        heard.angular_acceleration_wanted,
        heard.thrust_wanted[:, None],
        heard.rates_wanted,
        heard.attitude_wanted,
    )
    return np.asarray(np.hstack(signals)[:, node])


def at_limit(heard: Any, idle: float) -> NDArray[np.bool_]:
    """Runs (n,) in which something asked for was not given, or a command stood at a limit."""
    motor = heard.motor
    return np.any(heard.unallocated != 0.0, axis=1) | np.any((motor <= idle) | (motor >= 1.0), axis=1)


def thrust_axis(q: Array) -> Array:
    """Body z in world axes of quaternions (n, 4) -> (n, 3)."""
    w, x, y, z = q.T
    return np.column_stack([2.0 * (x * z + w * y), 2.0 * (y * z - w * x), 1.0 - 2.0 * (x * x + y * y)])
