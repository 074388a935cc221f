"""What the flights of a dash showed, and whether that is what was predicted.

The bounds here, the crew's law and its lags were set with the three shipped craft in view, so their agreement proves little. Of
61 flights of twelve other craft (weaker motors, tired packs, thin air, small ratings) 58 agreed; 40 of these are of five craft on
which four more had disagreed, until the cause was told apart by HOLD_BACK. What disagrees stays that way: a standing start scored
7 % better than predicted. One wrong score and one speed not kept, of craft whose ESCs held the current back, were the reason for
the limit `current_reserve`; with it 12 flights of four craft with small ESCs agree, of which two had not.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from quadsim.contest.dash import WORDS

Array = NDArray[np.float64]

WITHIN, BEYOND = 0.97, 1.05
"""Shares of the top speed that must, and must not, be flown inside all limits."""
REACHED = 0.97
"""Share of the airspeed wanted that counts as reached: BEYOND times this is more than the top speed; our choice."""
LEVEL = 0.04
"""Mean climb or sink over the course that still counts as level, over the speed [-]: 4 m on 100 m; our choice."""

CURRENTS = ("motor_current", "esc_current")
"""Of these the ESC enforces the lower one."""
HOLD_BACK = ("guide_cap", "motor_current", "esc_current", "tilt")
"""Limits that guide or ESC enforce: of these nothing is left when they are reached, but never less than nothing."""
NOTHING = 0.015
"""What may be left of one of these while it holds the craft back [-]; our choice, above the noise of a flight."""


@dataclass(frozen=True)
class FlownRun:
    """One run.

    wind_m_s : from behind; ground_m_s : mean over the course, over ground; airspeed_m_s : at its end
    run_up_m : to straight.SETTLED of the airspeed wanted; braking_m : None, like run_up_m, where it was not reached
    climb_m_s : mean over the course; height_error_m : greatest, from lean-in to the far gate
    baro_error_m : barometer less true height at the far gate; attitude_error_deg : greatest pitch that the estimate was off
    margins : what was left of each limit of quadsim.contest.dash.WORDS at the far gate, as a share of it
    way : along the straight from the lean-in [m], and the speed over ground there [m/s]
    """

    wind_m_s: float
    ground_m_s: float
    airspeed_m_s: float
    run_up_m: float | None
    braking_m: float | None
    climb_m_s: float
    height_error_m: float
    baro_error_m: float
    attitude_error_deg: float
    margins: dict[str, float]
    way: tuple[Array, Array] | None = None

    @property
    def level(self) -> bool:
        """Whether height was held well enough for the speed to count as level."""
        return abs(self.climb_m_s) <= LEVEL * max(self.airspeed_m_s, 1.0)

    @property
    def least(self) -> str:
        """The limit of which least was left."""
        return min(self.margins, key=lambda name: self.margins[name])


@dataclass(frozen=True)
class FlownDash:
    """An airspeed as flown [m/s].

    expected : the limit that was predicted to be passed, empty where none was
    predicted_m_s, scored_m_s : of both ways by the rule, which may differ by `score_within` [-]; None for one run alone
    raised : gains that had to be raised for it, in their units; ended : how the flight ended where its runs were not all made
    """

    asked_m_s: float
    runs: list[FlownRun]
    expected: str
    predicted_m_s: float | None
    scored_m_s: float | None
    score_within: float
    raised: dict[str, float]
    ended: str

    @property
    def kept(self) -> bool:
        """The airspeed was reached, level, with something left of all limits."""
        return not self.ended and all(
            one.level and one.airspeed_m_s >= REACHED * self.asked_m_s and one.margins[one.least] >= 0.0
            for one in self.runs
        )

    @property
    def agrees(self) -> bool:
        """As predicted. The runs for the score are flown at the limit itself, the second on a pack that is not full any more:
        there only the score counts; the others by what was kept or passed."""
        if self.ended or not self.runs:
            return False
        if self.predicted_m_s is not None:
            return self.scored_m_s is not None and (
                abs(self.scored_m_s - self.predicted_m_s) <= self.score_within * self.predicted_m_s
            )
        return self.kept if not self.expected else not self.kept and self.cause == self.expected

    @property
    def cause(self) -> str:
        """The limit that the first run met: the expected one where that held it back, else the one of which least was left.

        While the ESC holds the current back, the loops run the command up to its stop: that is no cause.
        """
        margins = self.runs[0].margins
        if self.expected in HOLD_BACK and margins[self.expected] <= NOTHING:
            return self.expected
        held = min(margins[one] for one in CURRENTS) <= NOTHING
        return min(margins, key=lambda one: math.inf if held and one == "command" else margins[one])

    @property
    def words(self) -> str:
        """The flight in a sentence."""
        fits = "as predicted" if self.agrees else "NOT as predicted"
        if self.ended or not self.runs:
            return f"{self.ended or 'no run was made'}, {fits}"
        if self.scored_m_s is not None and self.predicted_m_s is not None:
            both = " and ".join(f"{one.ground_m_s:.1f}" for one in self.runs)
            return f"{both} m/s over ground, scored {self.scored_m_s:.1f} m/s for {self.predicted_m_s:.1f}, {fits}"
        one = self.runs[0]
        if self.kept:
            return f"held level inside all limits, {fits}"
        sinking = f" and sinks {-one.climb_m_s:.1f} m/s" if one.climb_m_s < -LEVEL * one.airspeed_m_s else ""
        return f"flies {one.airspeed_m_s:.1f} m/s{sinking}, {WORDS[self.cause]}, {fits}"
