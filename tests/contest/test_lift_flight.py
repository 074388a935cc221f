"""The lift prediction flown: held at the rated payload in the gust and at 0.97, lost at 1.05 of the failure payload."""

import numpy as np
import pytest

from quadsim.config import load_craft
from quadsim.config.quantity import Uncertain
from quadsim.contest.lift import HARD, WORDS, first_limit, hard_margins, margins, payload_limits, ratings
from quadsim.contest.lift_prediction import times_to_failure
from quadsim.contest.loaded import loaded_crowd, probe
from quadsim.contest.rules import LiftRule
from quadsim.environment.atmosphere import Site

pytestmark = pytest.mark.jit
RULE = LiftRule(time_s=30.0)


def other_craft(which):
    """Two craft that no file describes: a tired pack in thin air, and a lifter with longer, weaker motors."""
    if which == "tired":
        craft = load_craft("siskin")
        pack = {"resistance_growth_pct": Uncertain(80.0), "capacity_fade_pct": Uncertain(25.0)}
        return craft.model_copy(update={"battery": craft.battery.model_copy(update=pack)}), Site(30.0, 900.0)
    craft = load_craft("bonxie")
    motor = {"kv_rpm_per_V": Uncertain(560.0), "resistance_mohm": Uncertain(190.0)}
    return craft.model_copy(update={"motor": craft.motor.model_copy(update=motor)}), Site()


@pytest.mark.parametrize("name", ["siskin", "bonxie", "williwaw", "tired", "weaker"])
def test_flown_as_predicted(name):
    from quadsim.contest.lift_flight import fly_attempt

    craft, site = other_craft(name) if name in ("tired", "weaker") else (load_craft(name), Site())
    bare, boxed = probe(craft, site)
    loaded, rated = loaded_crowd([bare], bare, boxed), ratings(craft, bare)
    payload = float(first_limit(loaded, RULE, rated, margins)[0])
    failures = payload_limits(loaded, RULE, rated, tuple(HARD), hard_margins)
    mode = min(failures, key=lambda one: failures[one])
    gusty = fly_attempt(craft, site, payload, RULE.time_s, RULE.gust_m_s)
    assert gusty.held and gusty.agrees and gusty.height_error_m < 0.5, gusty.words
    under = fly_attempt(craft, site, 0.97 * failures[mode], RULE.time_s)
    assert under.held, under.words
    over = fly_attempt(craft, site, 1.05 * failures[mode], RULE.time_s, expected=mode)
    assert not over.held and over.agrees, over.words
    predicted = times_to_failure(loaded, np.array([1.05 * failures[mode]]))[0]
    assert over.lost_at_s == pytest.approx(predicted, abs=6.0)
    assert set(WORDS) > {"gust", "guide_cap"}
