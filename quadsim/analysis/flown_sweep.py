"""A loop measured in flight: a wave added to what a law asks for, the law's answer to it, all other loops closed.

L = -(law's own output)/(what is given on), cut at what the allocator is asked for on one axis, or at the rates or the tilt that
outer loops ask for. "Given" at a run of the law is its output plus the wave, held until its next run: the moment at which the
law's own output acts. The craft flies the whole simulation, with its noise, steps, delays and limits.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from quadsim.analysis.injection import LOOPS
from quadsim.analysis.loop_estimate import LoopEstimate, Wave, estimate_loop, wave_at
from quadsim.analysis.sweep_flight import MakeSession, SweepFlight, room, runs_per_second, steady
from quadsim.errors import FlightError, InputError, Problem
from quadsim.simulation.session import Session

Array = NDArray[np.float64]

PERIODS = 6
"""Periods measured at least; their scatter says how sure each line is."""
MOST_PERIODS = 48
"""Periods measured at most, while a line is not sure."""
SHARE = {"roll": 0.25, "pitch": 0.25, "yaw": 0.25, "height": 0.5}
"""Peak of the wave, as a share of the room that the rotors' thrusts have up and down around hover: small enough for a linear
picture; more for the thrust, whose loop is slow and hears the noise of the accelerometer."""
LEAN = math.radians(6.0)
"""Of loops further out the peak: a rate that turns the craft by so much in 1/(lowest line), or a tilt of so much."""
MOST_TILT = math.radians(10.0)
"""Departure of the thrust axis from its mean direction up to which the craft counts as near its trim."""
HALVINGS = 4
"""How often a wave that proves too great is halved."""
SURE = 0.05
"""Error of L over |L| up to which a line counts: 0.3 dB and 2 deg along and across."""
DEAD = 1e-6
"""Answer over the wave up to which a law does not answer."""
BAND = 0.8
"""Highest line over half the rate at which the law runs."""


@dataclass(frozen=True)
class FlownLoop:
    """A measured loop.

    name : one of LOOPS
    w : angular frequencies of the lines [rad/s], (n,)
    loop : L at each, negative feedback
    coherence, scatter, bend, even : see LoopEstimate
    amplitude : peak of the wave added [the cut's unit]
    periods : that were measured
    clipped, tilt, speed : see SweepFlight
    """

    name: str
    w: Array
    loop: NDArray[np.complex128]
    coherence: Array
    scatter: Array
    bend: Array
    even: float
    amplitude: float
    periods: int
    clipped: float
    tilt: float
    speed: float

    @property
    def near_trim(self) -> bool:
        """True when no limit was met and the craft stayed about its trim."""
        return self.clipped == 0.0 and self.tilt < MOST_TILT

    @property
    def sure(self) -> NDArray[np.bool_]:
        """Lines that count (n,): measured to SURE, noise and bend together, near the trim."""
        return (np.hypot(self.scatter, self.bend) < SURE) & self.near_trim

    @property
    def too_great(self) -> bool:
        """True when a smaller wave would do better: a limit was met, the craft left its trim, or bend is more than noise."""
        return not self.near_trim or bool(np.any((self.bend > 0.5 * SURE) & (self.bend > self.scatter)))


def flown_loop(
    make: MakeSession,
    name: str,
    w: Array,
    *,
    periods: int = PERIODS,
    most_periods: int = MOST_PERIODS,
    settle_s: float = 4.0,
    peak: float | None = None,
) -> FlownLoop:
    """A loop, measured in flight.

    Parameters
    ----------
    make : makes sessions in steady flight, such as `steady("siskin")`
    name : one of LOOPS
    w : angular frequencies wanted [rad/s]; measured is at the nearest odd harmonics
    periods, most_periods : measured, and gone on to while a line is not sure
    settle_s : time flown with the wave before anything counts
    peak : of the wave [the cut's unit], see SHARE and LEAN if absent; halved until no limit is met and nothing bends

    Raises
    ------
    InputError
        when the frequencies make no sense, or there is no such loop or none that is closed in that mode.
    FlightError
        when every flight ends early, however small the wave.
    """
    _check(name, periods)
    session = make(1.0)
    wave = _wave_for(np.asarray(w, dtype=float), runs_per_second(session, LOOPS[name]))
    greatest = usual_peak(session, name, wave) if peak is None else peak

    def measured(size: float, patient: bool = False) -> FlownLoop:
        flight = SweepFlight(make, name, wave.scaled(size), settle_s, most_periods)
        return _measured(flight, periods, most_periods, patient)

    best: FlownLoop | None = None
    for halving in range(HALVINGS + 1):
        try:
            found = measured(greatest * 0.5**halving)
        except FlightError:
            if halving == HALVINGS:
                raise
            continue
        if best is not None and np.count_nonzero(found.sure) < np.count_nonzero(best.sure):
            break  # noise costs more than the smaller wave gains
        best = found
        if not best.too_great:
            break
    assert best is not None
    patience = best.near_trim and best.periods < most_periods and not np.all(best.sure)
    return measured(best.amplitude, patient=True) if patience else best


def usual_peak(session: Session, name: str, wave: Wave) -> float:
    """Peak of a wave by SHARE or LEAN [the cut's unit]."""
    if name in SHARE:
        return SHARE[name] * room(session, LOOPS[name].node)
    return LEAN * float(wave.w[0]) if LOOPS[name].slot == "attitude" else 0.5 * LEAN


def _measured(flight: SweepFlight, periods: int, most: int, patient: bool) -> FlownLoop:
    """Fly on, twice as long each time, until every line is sure, the wave proves too great or the time is up.

    patient : go on although the wave bends the loop
    """
    flight.fly(periods)
    if np.ptp(flight.law) <= DEAD * flight.wave.peak:
        raise InputError(f"the loop {flight.loop} is not closed in this flight: its law does not answer")
    while True:
        estimate: LoopEstimate = estimate_loop(flight.wave, flight.law)
        count = flight.law.shape[0]
        found = FlownLoop(
            flight.loop, flight.wave.w, estimate.loop, estimate.coherence, estimate.scatter, estimate.bend,
            estimate.even, flight.wave.peak, count, flight.clipped, flight.tilt, flight.speed,
        )  # fmt: skip
        hopeless = not found.near_trim if patient else found.too_great
        if np.all(found.sure) or hopeless or count >= most:
            return found
        flight.fly(min(count, most - count))


def _check(name: str, periods: int) -> None:
    problems = []
    if name not in LOOPS:
        problems.append(Problem("loop", f"is {name!r}", f"must be one of {', '.join(LOOPS)}"))
    if periods < 2:
        remedy = "Their scatter is the accuracy"
        problems.append(Problem("periods", f"are {periods}", "must be at least 2", remedy))
    if problems:
        raise InputError(problems)


def _wave_for(w: Array, rate_Hz: float) -> Wave:
    """The wave, where the frequencies make sense."""
    most = BAND * math.pi * rate_Hz
    if w.ndim != 1 or not w.size or not np.all((w > 0.0) & (w < most)):
        given = f"are {np.array2string(w, threshold=6)} rad/s"
        allowed = f"must be above 0 and below {most:.0f} rad/s, {BAND:g} of half the rate of the law"
        raise InputError([Problem("frequencies", given, allowed)])
    return wave_at(w, rate_Hz)


__all__ = ["FlownLoop", "flown_loop", "steady"]
