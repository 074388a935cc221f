"""Numbers drawn for a scatter: every one that carries an uncertainty, moved together by a Sobol sequence.

The sequence is scrambled by the seed and goes on where it stopped: the first 200 of 400 draws are those of 200, so a longer
scatter flies only what is new. A. B. Owen, Randomly permuted (t,m,s)-nets and (t,s)-sequences, in: Monte Carlo and Quasi-Monte
Carlo Methods in Scientific Computing (1995), 299-317. Numbers are independent and normal, cut off at the range of their key;
no drawn rotor beats momentum theory.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from quadsim.analysis.evidence import LEAST_LEFT, map_sigmas
from quadsim.config import Craft
from quadsim.config.equilibrium import HOVER_NODE
from quadsim.config.flight_schema import FlightFile
from quadsim.config.propeller_evidence import propeller_map
from quadsim.config.quantity import Uncertain, uncertain_inputs
from quadsim.contest.uncertainty import BEST_MERIT
from quadsim.dynamics.rotor_coefficients import figure_of_merit
from quadsim.simulation.session import Session
from quadsim.sweep.axes import Drawn, rounded
from quadsim.sweep.keys import find_key

Array = NDArray[np.float64]
_figure_of_merit = getattr(figure_of_merit, "py_func", figure_of_merit)
"""The plain function: nothing is compiled for one number."""

MAP_KEYS = ("propeller.thrust_scale", "propeller.torque_scale")
"""Where the uncertainty of the propeller's map goes: factors on its thrust and its power."""
OF_THE_PRICE = "price"
SHAPES_THE_MAP = (
    "propeller.flap_ratio",
    "propeller.chord_75_mm",
    "propeller.diameter_in",
    "propeller.pitch_in",
)
"""Keys that the propeller's map is computed from, a tenth of a second each time; it is kept on disk."""
STEPS_PER_SIGMA = 4.0
"""To such steps they are drawn: it adds 1/(12 16) = 0.5 % to their variance, and a few tens of maps serve all draws."""


def uncertain_keys(craft: Craft, flight: FlightFile) -> Iterator[Drawn]:
    """Every number of the two files that carries an uncertainty, stated or by default, and the propeller's map."""
    for name, sigma in zip(MAP_KEYS, map_sigmas(craft, propeller_map(craft)), strict=True):
        key = find_key(name, craft, flight)
        yield Drawn(key, float(key.value), rounded(sigma * float(key.value)))
    for model in (craft, flight):
        for name, number in uncertain_inputs(model):
            if name not in MAP_KEYS and not name.endswith(OF_THE_PRICE):
                yield _of_file(name, number, craft, flight)


def _of_file(name: str, number: Uncertain, craft: Craft, flight: FlightFile) -> Drawn:
    return Drawn(find_key(name, craft, flight), float(number), number.sigma)


def felt(drawn: Sequence[Drawn], fly: Any) -> tuple[list[Drawn], list[Drawn]]:
    """Those that a flight feels, and those that change none of its records.

    fly : a Session of the files with one key changed, `fly(drawn, value)`; with None as they are
    """
    plain = records(fly(None, None))
    moved = [records(fly(one, within(one, one.value + one.sigma))) for one in drawn]
    pairs = list(zip(drawn, moved, strict=True))
    return [one for one, now in pairs if now != plain], [one for one, now in pairs if now == plain]


def records(session: Session) -> bytes:
    """Everything that decides a flight, as it begins."""
    told = (
        session.plant,
        session.builder,
        session.sensors,
        session.carried,
        session.x,
        session.gains,
        session.wind,
    )
    plans = (session.commands, session.winds, session.gusts)
    return b"".join(np.asarray(one).tobytes() for one in (*told, *plans)) + repr(session.due).encode()


def moves(count: int, inputs: int, seed: int) -> Array:
    """Places in the unit cube (count, inputs), the same for the same seed; a longer set begins with the shorter one."""
    from scipy.stats import qmc

    if inputs == 0:
        return np.empty((count, 0))
    sequence = qmc.Sobol(inputs, scramble=True, seed=np.random.default_rng(seed))
    return np.asarray(sequence.random_base2(math.ceil(math.log2(max(count, 2))))[:count])


def values(drawn: Sequence[Drawn], count: int, seed: int, merit: float = 0.0) -> Array:
    """What each draw sets each key to (count, keys).

    merit : figure of merit of the rotor as the files have it [-]; errors of thrust and power are drawn apart, and where they meet
        in a rotor better than BEST_MERIT and than its own, it takes more power
    """
    from scipy.special import ndtri

    places = moves(count, len(drawn), seed)
    found = np.empty(places.shape)
    for k, one in enumerate(drawn):
        steps = math.sqrt(12.0) * (places[:, k] - 0.5) if one.uniform else ndtri(places[:, k])
        found[:, k] = [within(one, number) for number in (one.value + one.sigma * steps).tolist()]
    _keep_merit(drawn, found, merit)
    return found


def merit_of(plant: Any) -> float:
    """Figure of merit of the free rotor at the craft's hover speed [-]."""
    ct, cp = np.asarray(plant.rotor_map)[HOVER_NODE, 0, :2].tolist()
    return float(_figure_of_merit(ct, cp))


def _keep_merit(drawn: Sequence[Drawn], found: Array, merit: float) -> None:
    """The merit goes with thrust^1.5 over power: CT^1.5/CP."""
    names = [one.key.name for one in drawn]
    if not all(name in names for name in MAP_KEYS):
        return
    thrust, power = (names.index(name) for name in MAP_KEYS)
    moved = found[:, [thrust, power]] / [drawn[thrust].value, drawn[power].value]
    excess = merit * moved[:, 0] ** 1.5 / moved[:, 1] / max(BEST_MERIT, merit)
    raised = found[:, power] * np.maximum(excess, 1.0)
    found[:, power] = [within(drawn[power], number) for number in raised.tolist()]


def within(one: Drawn, number: float) -> float:
    """A drawn number as a file takes it: what is positive stays so, and nothing leaves its range."""
    least = (
        LEAST_LEFT * one.value if one.value > 0.0 and not one.uniform and not _goes_below(one) else -math.inf
    )
    if one.key.name in SHAPES_THE_MAP:
        step = one.sigma / STEPS_PER_SIGMA
        number = one.value + step * round((number - one.value) / step)
    return rounded(one.key.within(max(number, least)))


def _goes_below(one: Drawn) -> bool:
    """True for a number that may be zero or negative."""
    return one.key.quantity is None or one.key.quantity.low < 0.0 or one.sigma >= one.value
