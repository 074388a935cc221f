"""Which single measurement would narrow the answers on a craft most."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from quadsim.analysis.evidence import LOSS, MASS, MOUNTED, THRUST, TORQUE, Contribution, CraftEvidence
from quadsim.config.propeller_evidence import TORQUE_FROM_CURRENT
from quadsim.dynamics.map_uncertainty import CHORD, POINT, TABLE, Sigmas, sigmas, what_would_narrow

LEAVES = {
    MASS: (0.002, "weigh the craft ready to fly, battery in"),
    "motor.kv_rpm_per_V": (
        0.01,
        "run a motor without a propeller and measure its speed and voltage (quadsim measure motor)",
    ),
    "motor.resistance_mohm": (0.02, "measure a motor's winding resistance with four wires"),
    "battery.cell_resistance_mohm": (
        0.05,
        "measure the cells' resistance with steps of load (quadsim measure pack)",
    ),
    "motor.no_load_iron_pct": (
        0.1,
        "measure the current of a motor without a propeller at two voltages (quadsim measure motor)",
    ),
    "battery.relaxation_ratio": (
        0.1,
        "log the pack's voltage for five minutes, load and rest (quadsim measure pack)",
    ),
}
"""Relative standard deviation that a measurement of an input leaves, and what the builder does; the deviations are assumed:
scales of 1 g, a speed sensor, a four-wire reading at room temperature, a step of current with a steady meter."""
WORDS = {
    POINT: (
        "measure thrust, torque and speed of one propeller at one throttle on a bench (quadsim measure thrust)",
        True,
    ),
    TABLE: (
        "measure thrust, torque and speed at five or more throttles on a bench (quadsim measure thrust)",
        True,
    ),
    CHORD: ("measure the blade's chord at 75 % of the radius", False),
}
"""What a builder does for a further measurement of the propeller, and whether it turns. A wind tunnel is left out: at rest it
tells no more than a bench."""


@dataclass(frozen=True)
class Measurement:
    """A measurement in a builder's words, and what it leaves: share of the deviation of inputs that is still there.

    spins : a propeller turns under power in it
    """

    measure: str
    narrows: tuple[str, ...]
    left: dict[str, float]
    spins: bool = False


@dataclass(frozen=True)
class Best:
    """A measurement with half the 80 % interval of each judged answer, before and after it."""

    measurement: Measurement
    before: dict[str, float]
    after: dict[str, float]


def best_measurement(seen: CraftEvidence) -> Best | None:
    """The measurement that leaves least variance of the event's answer and of the minutes of hover, taken together as shares
    of what there is; None when none of ours would narrow either."""
    ranked = sorted(measurements(seen), key=lambda one: _remaining(seen, one))
    if not ranked or _remaining(seen, ranked[0]) > 0.999 * len(seen.judged):
        return None
    before = {name: seen.half(name) for name in seen.judged}
    return Best(ranked[0], before, {name: seen.half(name, ranked[0].left) for name in seen.judged})


def _remaining(seen: CraftEvidence, one: Measurement) -> float:
    """Sum over the judged answers of the share of variance that would be left."""
    whole = {name: seen.sigma(name) for name in seen.judged}
    return sum(
        (seen.sigma(name, one.left) / sigma) ** 2 if sigma > 0.0 else 1.0 for name, sigma in whole.items()
    )


def measurements(seen: CraftEvidence) -> Iterator[Measurement]:
    """Every measurement that would leave less than there is."""
    inputs = {one.input: one for one in seen.contributions}
    for one in (*_of_propeller(seen, inputs), *_of_key(inputs)):
        if any(share < 1.0 for share in one.left.values()):
            yield one


def _of_key(inputs: dict[str, Contribution]) -> Iterator[Measurement]:
    for name, (relative, words) in LEAVES.items():
        if name in inputs:
            one = inputs[name]
            yield Measurement(words, (name,), {name: min(relative * one.value / one.sigma, 1.0)})


def _of_propeller(seen: CraftEvidence, inputs: dict[str, Contribution]) -> Iterator[Measurement]:
    """The bench, one step further than there is: a point first, then a table, then the craft's own arm; and the chord."""
    kind = seen.blades.evidence_kind
    geometry, _, bench = kind.partition(" + ")
    for further in what_would_narrow(kind):
        if further.measurement in WORDS and not (further.measurement == TABLE and bench in ("", "thrust")):
            words, spins = WORDS[further.measurement]
            yield replace(_propeller(words, further.sigmas, inputs), spins=spins)
    if bench in ("", "thrust"):
        rough = sigmas(geometry + " + point", torque_sigma=TORQUE_FROM_CURRENT)
        words = "measure thrust, current and speed of one propeller at one throttle on the craft's own arm"
        words += " (quadsim measure thrust)"
        yield _propeller(words, rough, inputs, installed=True)
    if bench in ("point", "table") and TORQUE in inputs and inputs[TORQUE].sigma > 101.0 * sigmas(kind).cp:
        words = "measure torque and speed themselves on the bench, not the motor's current and voltage"
        yield _propeller(words, sigmas(kind), inputs)
    if bench and LOSS in inputs:
        left = sigmas(kind)
        words = "measure thrust and current once more on the craft's own arm, at the bench's speeds"
        shares = {
            name: min(100.0 * sigma / inputs[name].sigma, 1.0)
            for name, sigma in ((LOSS, left.ct), (MOUNTED, left.cp))
            if name in inputs
        }
        yield Measurement(words, tuple(shares), shares, spins=True)


def _propeller(
    words: str, left: Sigmas, inputs: dict[str, Contribution], installed: bool = False
) -> Measurement:
    """A measurement of the propeller; `installed`: the loss on the craft is in it."""
    shares = {
        name: min(100.0 * sigma / inputs[name].sigma, 1.0)
        for name, sigma in ((THRUST, left.ct), (TORQUE, left.cp))
        if name in inputs
    }
    if installed:
        shares |= {name: 0.0 for name in (LOSS, MOUNTED) if name in inputs}
    return Measurement(words, tuple(shares), shares, spins=True)
