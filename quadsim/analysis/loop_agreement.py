"""A flown loop beside one from a linear model: how far apart at each line, and if too far, what would explain it.

What is said is measured: lines that noise hides, limits met, an answer at harmonics where no wave was, and the one gain and one
delay that fit the difference best.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from quadsim.analysis.flown_sweep import SURE, FlownLoop
from quadsim.analysis.loop_estimate import DB_PER_NEPER

Array = NDArray[np.float64]

MOST_DB, MOST_DEG = 1.0, 5.0
"""Differences up to which linear and flown count as agreeing; our choice."""
UNEVEN = 0.05
"""Answer on even harmonics over that on the lines, from which the loop is said not to be linear; assumed."""
OFF_SPEED = 0.03
"""Share of the airspeed by which the flight may miss it; our choice."""
LEAST_LINES = 3
"""Sure lines without which nothing is said."""


@dataclass(frozen=True)
class Agreement:
    """Differences flown less linear.

    dB, deg : at each line (n,)
    counted : lines that are sure (n,)
    gain_dB, delay_ms : one gain and one delay which, given to the linear model, bring it nearest to the flown loop
    left_dB, left_deg : greatest difference at a counted line after that
    why : sentences on what stands against it, empty when all is well
    """

    dB: Array
    deg: Array
    counted: NDArray[np.bool_]
    gain_dB: float
    delay_ms: float
    left_dB: float
    left_deg: float
    why: tuple[str, ...]

    @property
    def worst_dB(self) -> float:
        """Greatest difference in size at a line that counts [dB]; nan without one."""
        return _greatest(self.dB[self.counted])

    @property
    def worst_deg(self) -> float:
        """Greatest difference in phase at a line that counts [deg]; nan without one."""
        return _greatest(self.deg[self.counted])

    @property
    def agrees(self) -> bool:
        """True when enough lines count and none is further apart than allowed."""
        enough = int(np.count_nonzero(self.counted)) >= LEAST_LINES
        return enough and self.worst_dB <= MOST_DB and self.worst_deg <= MOST_DEG


def agreement(flown: FlownLoop, linear: NDArray[np.complex128], speed: float = 0.0) -> Agreement:
    """Compare a flown loop with a linear model's at the same frequencies, `flown.w`, and airspeed [m/s] if not hover."""
    ratio = flown.loop / np.asarray(linear)
    dB, deg = 20.0 * np.log10(np.abs(ratio)), np.degrees(np.angle(ratio))
    counted = flown.sure
    gain = delay = 0.0
    if counted.any():
        w, turn = flown.w[counted], np.radians(deg[counted])
        gain, delay = float(np.mean(dB[counted])), -float(np.sum(w * turn) / np.sum(w * w))
    left = np.degrees(np.angle(ratio * np.exp(1j * flown.w * delay)))[counted]
    found = Agreement(
        dB, deg, counted, gain, 1e3 * delay, _greatest(dB[counted] - gain), _greatest(left), _hindrances(flown, speed)
    )  # fmt: skip
    return found if found.agrees else _with_explanation(found, flown)


def _greatest(values: Array) -> float:
    return float(np.max(np.abs(values))) if values.size else math.nan


def _hindrances(flown: FlownLoop, speed: float) -> tuple[str, ...]:
    """What of the flight itself stands against a comparison."""
    said = []
    if flown.clipped > 0.0:
        said.append(f"rotors met a limit in {100.0 * flown.clipped:.2g} % of the time, whatever the wave")
    elif not flown.near_trim:
        said.append(f"the craft left its trim: the thrust axis moved by {math.degrees(flown.tilt):.0f} deg")
    if abs(flown.speed - speed) > OFF_SPEED * speed > 0.0:
        said.append(
            f"the flight went at {flown.speed:.1f} m/s, the model at {speed:.1f}: an attitude estimated a little off moves the "
            f"speed; compare with --airspeed-m-s {flown.speed:.1f}"
        )
    for error, cause in (
        (flown.scatter, "noise leaves"),
        (flown.bend, "cubes and limits in the loop make"),
    ):
        hidden, worst = error >= SURE, int(np.argmax(error))
        if hidden.any():
            said.append(
                f"{np.count_nonzero(hidden)} of {len(hidden)} lines are not sure: at {flown.w[worst]:.3g} rad/s {cause} "
                f"{DB_PER_NEPER * error[worst] / math.sqrt(2.0):.1f} dB (one sigma)"
            )
    if flown.even > UNEVEN:
        share = f"{100.0 * flown.even:.0f} % of the answer comes from unequal ways up and down, or a square"
        said.append(f"the loop is not linear: {share}")
    return tuple(said)


def _with_explanation(found: Agreement, flown: FlownLoop) -> Agreement:
    """The same with a sentence on the difference, where there are lines to judge it by."""
    if np.count_nonzero(found.counted) < LEAST_LINES:
        text = f"fewer than {LEAST_LINES} lines count"
    elif found.left_dB <= MOST_DB and found.left_deg <= MOST_DEG:
        text = f"the flown loop is as the linear one with {found.gain_dB:+.1f} dB and {found.delay_ms:+.2f} ms more delay"
    else:
        off = np.maximum(np.abs(found.dB) / MOST_DB, np.abs(found.deg) / MOST_DEG)
        worst = int(np.argmax(np.where(found.counted, off, 0.0)))
        text = (
            f"no one gain and delay explains it: at {flown.w[worst]:.3g} rad/s the flown loop differs by "
            f"{found.dB[worst]:+.1f} dB and {round(found.deg[worst]):+d} deg"
        )
    return Agreement(
        found.dB, found.deg, found.counted, found.gain_dB, found.delay_ms, found.left_dB, found.left_deg,
        (*found.why, text),
    )  # fmt: skip
