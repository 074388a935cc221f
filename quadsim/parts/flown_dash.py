"""The dash of a choice flown as `quadsim dash` flies it, by the contest's timing: the greatest airspeed that is flown level.

Asked for more and more airspeed a craft leans further, until it sinks; nothing of the estimate's top speed comes in but where
the search begins. Braking is flown too, as gently as that crew brakes; how much of the field it takes is said.
"""

from __future__ import annotations

from dataclasses import dataclass

from quadsim.config import Craft
from quadsim.config.contest_schema import Contest
from quadsim.contest.dash_flight import fly_speed
from quadsim.contest.dash_flown import REACHED, FlownRun
from quadsim.contest.dash_flown import FlownDash as OneDash
from quadsim.contest.rules import DashRule, dash_rule_of
from quadsim.environment.atmosphere import Site
from quadsim.parts.gains import Gains, with_gains

DASH_GAINS: Gains = {
    "guide.thrust_high": 1.0,
    "guide.height_p": 2.0,
    "guide.climb_p": 8.0,
    "guide.climb_i": 10.0,
}
"""All thrust, and a firm hold of the height: thrust falls as speed rises, and with the stock gains some craft sank by metres;
found by flying three choices. Poles of the third order loop are stable, s^3 + 8 s^2 + 26 s + 20 (as of GuideGain.HEIGHT_P)."""
LEVEL = 0.02
"""Mean climb or sink over the timed distance that still counts as level, over the speed [-]; our choice."""
SUNK_M = 2.0
"""Height error since the lean-in that still counts as held [m]: worth g h / v, 0.5 m/s at 40 m/s; our choice."""
RANGE = 0.5, 1.25
"""Shares of the estimated speed between which the airspeed is looked for; assumed."""
NEARLY = 0.9
"""Share of half the label from which it is said how near the pack came; our choice."""
HALVINGS = 5
"""Of that range: 2 % of the speed are left."""


@dataclass(frozen=True)
class FlownDash:
    """Mean speed over the timed distance by the rule [m/s], 0 where none in RANGE is level; in words; the gains it takes,
    by "slot.gain"."""

    speed: float
    words: str
    gains: Gains


def fly_dash(craft: Craft, site: Site, contest: Contest, estimate: float) -> FlownDash:
    """The fastest dash of a craft, level and within half the pack's label, looked for around an estimate [m/s]."""
    rule, firm = dash_rule_of(contest, float(contest.air.wind_m_s)), with_gains(craft, DASH_GAINS)
    best: OneDash | None = None
    low, high = (share * estimate for share in RANGE)
    asked = low
    for _ in range(HALVINGS + 1):
        run = fly_rule(firm, site, rule, asked)
        if keeps(run):
            low, best = asked, run
            if run.runs[0].airspeed_m_s < REACHED * asked:
                break  # it leans as far as it may: asked for more it flies no faster
        elif best is None:
            short = "pack beyond half its label" if is_level(run) else "not level"
            return FlownDash(0.0, f"{short} at {asked:.0f} m/s", {})
        else:
            high = asked
        asked = 0.5 * (low + high)
    assert best is not None
    return FlownDash(scored(best), _words(best, contest), DASH_GAINS | rounded(best.raised))


def fly_rule(craft: Craft, site: Site, rule: DashRule, speed: float) -> OneDash:
    """An airspeed [m/s] by the rule: both ways in wind, of which the score is made; one way where both are alike."""
    return fly_speed(craft, site, rule, speed, score=speed if rule.wind_m_s else None)


def scored(run: OneDash) -> float:
    """What counts [m/s]."""
    return run.runs[0].ground_m_s if run.scored_m_s is None else run.scored_m_s


def keeps(run: OneDash) -> bool:
    """Whether a run counts: level, and half the pack's label not passed, which is kept on purpose, here as in the estimate."""
    return is_level(run) and all(one.margins["pack_current"] >= 0.0 for one in run.runs)


def is_level(run: OneDash) -> bool:
    """Whether all its runs were made and held the height."""
    return not run.ended and bool(run.runs) and all(map(_held, run.runs))


def _held(run: FlownRun) -> bool:
    return abs(run.climb_m_s) <= LEVEL * run.ground_m_s and run.height_error_m <= SUNK_M


def rounded(gains: Gains) -> Gains:
    """Up to three figures, as in a file."""
    return {name: float(f"{value:.3g}") for name, value in gains.items()}


def _words(best: OneDash, contest: Contest) -> str:
    room, stops = float(contest.dash.braking_m), [one.braking_m for one in best.runs]
    taken = max((one for one in stops if one is not None), default=0.0)
    words = f"takes {taken:.0f} m to stop, the field has {room:.0f}" if None not in stops else "does not stop"
    pack = 1.0 - min(one.margins["pack_current"] for one in best.runs)
    return words + (f"; pack at {100.0 * pack:.0f} % of half its label" if pack > NEARLY else "")
