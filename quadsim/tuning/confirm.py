"""Gains confirmed in the full simulation: many short flights, every one with another craft, battery, load, gust and command.

What zero failures of n mean: with 95 % confidence fewer than 3/n fail (J. A. Hanley, A. Lippman-Hand, If nothing goes wrong, is
everything all right?, JAMA 249(13), 1983, 1743-1745, doi 10.1001/jama.1983.03330370053031).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from quadsim.analysis.craft_loops import scale_plant
from quadsim.analysis.response_bench import AXES, EVERY_NOISE, Bench, Flown
from quadsim.config import Craft, Load
from quadsim.dynamics.state import X
from quadsim.simulation.carried import COMMAND_FIELDS
from quadsim.tuning.corners import DELAY, INERTIA, THRUST
from quadsim.units import DEG

Array = NDArray[np.float64]

FLIGHTS = 300
FLIGHT_S = 1.6
ROTOR_SIGMA = 0.03
"""Of the thrust of one rotor against the others, share; assumed."""
LEAST_CHARGE = 0.2
GUST_M_S = 6.0
"""Greatest gust from the side [m/s]."""
STEP_DEG = 20.0
"""Greatest step of roll and pitch asked for [deg]."""
TORQUE_SHARE = 0.05
"""Greatest torque from outside: the angular acceleration of the craft, as a share of what full roll would give."""
MOST_TILT_DEG = 70.0
MOST_RATE = 0.5
"""Rms of a body rate over the last part of the flight from which it counts as shaking [rad/s]: three times what two shipped
crafts show with good gains (0.17 at most in 60 flights each)."""
MOST_LIMITED_PCT = 20.0
"""Share of the time with a motor at its least or greatest command from which it counts as failed [%]: a limit cycle may be kept
small by just that; good gains in these flights show 0. Assumed."""
LAST_S = 0.4
WORKERS = 2


@dataclass(frozen=True)
class Failure:
    """A flight that failed: its number, what was different, and why it counts as failed."""

    number: int
    case: str
    cause: str


@dataclass(frozen=True)
class Confirmed:
    """Flights flown and those that failed; `stopped` when it was interrupted before all were flown."""

    flown: int
    failures: tuple[Failure, ...]
    stopped: bool = False

    @property
    def below_pct(self) -> float:
        """With 95 % confidence fewer than this fail [%]: 300/n for none of n; for more, Wilson's upper bound
        (E. B. Wilson, JASA 22, 1927, 209-212; one-sided)."""
        if not self.flown:
            return 100.0
        if not self.failures:
            return min(300.0 / self.flown, 100.0)
        z, n, p = 1.6449, self.flown, len(self.failures) / self.flown
        spread = z * math.sqrt(p * (1.0 - p) / n + z * z / (4.0 * n * n))
        return 100.0 * (p + z * z / (2.0 * n) + spread) / (1.0 + z * z / n)


@dataclass(frozen=True)
class Case:
    """What is different in one flight."""

    number: int
    thrust: float
    inertia: float
    delay: float
    rotors: Array
    charge: float
    gust: Array
    step: Array
    torque: Array
    loaded: bool

    @property
    def words(self) -> str:
        """In words, for a failure."""
        load = ", loaded" if self.loaded else ""
        return (
            f"thrust {self.thrust:.2f}, inertia {self.inertia:.2f}, delay {self.delay:.2f} of the file's, "
            f"{100 * self.charge:.0f} % charge{load}, gust {np.hypot(*self.gust):.1f} m/s, "
            f"steps {self.step[0] / DEG:+.0f} and {self.step[1] / DEG:+.0f} deg"
        )


def draw_case(number: int, seed: int, loaded: bool) -> Case:
    """The case of a number; the same for the same seed."""
    rng = np.random.default_rng([seed, number])

    def about_one(share: float) -> float:
        return float(rng.uniform(1.0 - share, 1.0 + share))

    turn = rng.uniform(0.0, 2.0 * math.pi)
    return Case(
        number, about_one(THRUST), about_one(INERTIA), about_one(DELAY),
        np.clip(rng.normal(1.0, ROTOR_SIGMA, 4), 0.85, 1.15), float(rng.uniform(LEAST_CHARGE, 1.0)),
        rng.uniform(0.0, GUST_M_S) * np.array([math.cos(turn), math.sin(turn)]),
        rng.uniform(-STEP_DEG, STEP_DEG, 2) * DEG, rng.uniform(-1.0, 1.0, 3), loaded,
    )  # fmt: skip


def confirm(
    craft: Craft, gains: Array, loads: Sequence[Load], flights: int = FLIGHTS, seed: int = 1,
    always: bool = False, progress: Callable[[int], None] | None = None,
) -> Confirmed:  # fmt: skip
    """Fly the cases with some gains (5, GAINS_SIZE), half of them with the loads (all, if `always`); Ctrl-C keeps what has been
    flown."""
    outcomes: list[tuple[Case, str]] = []
    stop = False

    def work(worker: int) -> Iterator[tuple[Case, str]]:
        loadings = [False] * (not always) + [True] * bool(loads)
        benches = {
            loaded: Bench(craft, gains=gains, loads=loads if loaded else (), noise=EVERY_NOISE)
            for loaded in loadings
        }
        for number in range(worker, flights, WORKERS):
            if stop:
                return
            case = draw_case(number, seed, loadings[(number // WORKERS) % len(loadings)])
            yield case, judge_flight(fly_case(benches[case.loaded], case))

    def run(worker: int) -> None:
        for outcome in work(worker):
            outcomes.append(outcome)
            if progress is not None:
                progress(len(outcomes))

    interrupted = False
    with ThreadPoolExecutor(WORKERS) as pool:
        running = [pool.submit(run, worker) for worker in range(WORKERS)]
        try:
            for one in running:
                one.result()
        except KeyboardInterrupt:
            interrupted = True
        finally:
            stop = True
    bad = sorted((case.number, case.words, cause) for case, cause in outcomes if cause)
    return Confirmed(len(outcomes), tuple(Failure(*one) for one in bad), interrupted)


def fly_case(bench: Bench, case: Case) -> Flown:
    """Fly one case from the bench's settled hover."""

    def change(session: Any) -> None:
        session.plant = session.plant.copy()
        scale_plant(session.plant, {"thrust": case.thrust, "inertia": case.inertia})
        session.held.thrust_factor[:] = session.held.torque_factor[:] = case.rotors
        session.held.cell[:] = 0.0  # what is held is renewed at once
        session.sensors.imu_delay = float(session.sensors.imu_delay) * case.delay
        session.sensors.motor_delay = round((float(session.sensors.motor_delay) + 1.0) * case.delay) - 1
        session.carried.key = np.uint64(1_000_003 * (case.number + 1))
        session.x[X.CHARGE] = case.charge
        record = session.gusts[0]
        record.start, record.duration = session.t_s, FLIGHT_S
        record.velocity[:2] = case.gust
        row = -(-int(session.carried.tick) // int(session.clock.command_every))
        for k in range(2):
            session.commands[row:, COMMAND_FIELDS.index(f"target_{AXES[k]}")] += case.step[k]
        full = (
            2.0 * float(session.builder.max_thrust) * np.abs(np.asarray(session.builder.effectiveness)[:3, 0])
        )
        inertia = np.diag(np.asarray(session.plant.inertia))
        session.held.outside_torque[:] = TORQUE_SHARE * case.torque * full * inertia

    return bench.fly(FLIGHT_S, change)


def judge_flight(flown: Flown) -> str:
    """Why a flight failed; empty when it did not."""
    if flown.trouble:
        return flown.trouble
    up = 1.0 - 2.0 * (flown.attitude[:, 1] ** 2 + flown.attitude[:, 2] ** 2)
    tilt = math.degrees(math.acos(float(np.clip(np.min(up), -1.0, 1.0))))
    if tilt > MOST_TILT_DEG:
        return f"tilted to {tilt:.0f} deg"
    last = flown.t_s > flown.t_s[-1] - LAST_S
    shaking = np.sqrt(np.mean(flown.rates[last] ** 2, axis=0))
    axis = int(np.argmax(shaking))
    if shaking[axis] > MOST_RATE:
        return f"shakes about {AXES[axis]}, {shaking[axis] / DEG:.0f} deg/s rms at {_frequency(flown, last, axis):.0f} Hz"
    if flown.limited_pct > MOST_LIMITED_PCT:
        at = _frequency(flown, last, axis)
        return f"motors at their limits {flown.limited_pct:.0f} % of the time, {AXES[axis]} at {at:.0f} Hz"
    return ""


def _frequency(flown: Flown, last: Any, axis: int) -> float:
    """Frequency of the strongest line [Hz]."""
    rate = flown.rates[last, axis]
    lines = np.abs(np.fft.rfft((rate - rate.mean()) * np.hanning(len(rate))))
    step = float(flown.t_s[-1] - flown.t_s[-2])
    return float(np.argmax(lines) / (len(rate) * step))
