"""Advice: every finding has its reason, and on one screen nothing contradicts anything, over generated craft."""

import itertools

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from quadsim.environment.atmosphere import Site
from quadsim.parts import Finding, fit_findings
from quadsim.parts.advice import NOTHING, advised, opposed
from quadsim.parts.bench import Bench
from quadsim.parts.finding import at_least, at_most
from quadsim.parts.fit import IF_STATED
from quadsim.parts.remedies import DEMANDS, REMEDIES, WHY

UP = ("larger propeller", "one more cell")
DOWN = ("smaller propeller", "less pitch", "lower Kv", "one cell fewer")
AGAINST = [
    ("larger propeller", "smaller propeller"),
    ("one more cell", "one cell fewer"),
    ("mass off", "more capacity"),
    *itertools.product(UP, DOWN),
]
"""Words that must not stand on one screen."""
DRAW = (
    "motor_current",
    "esc_current",
    "event_current",
    "pack_current",
    "cell_voltage",
    "connector",
    "lead_wire",
)

MOTOR, ESC = (f'\ncurrent_limit_measured_at = "{place}"' for place in ("motor", "esc input"))

CRAFT = st.fixed_dictionaries(
    {
        "event": st.sampled_from(["slalom", "lift", "speed"]),
        "kv": st.floats(250.0, 6000.0),
        "limit": st.floats(4.0, 120.0),
        "esc": st.floats(4.0, 120.0),
        "cells": st.integers(1, 8),
        "capacity": st.floats(300.0, 8000.0),
        "cell": st.floats(1.0, 40.0),
        "label": st.floats(5.0, 120.0),
        "ratio": st.one_of(st.floats(1.5, 4.0), st.floats(0.6, 9.0)),
        "hub": st.floats(76.5, 160.0),
        "ahead": st.floats(-40.0, 40.0),
        "gauge": st.integers(8, 24),
        "plug": st.floats(5.0, 120.0),
        "channels": st.integers(4, 12),
        "rpm": st.floats(5e3, 8e4),
    }
)


def built(make_craft, c, pack=200.0):
    """A drawn craft, its pack weighing so many grams."""
    hubs = [("front_right", 1, 1), ("rear_right", -1, 1), ("rear_left", -1, -1), ("front_left", 1, -1)]
    return make_craft(
        *(
            (f"{n} = [{100 * x}, {100 * y}, -20]", f"{n} = [{c['hub'] * x}, {c['hub'] * y}, -20]")
            for n, x, y in hubs
        ),
        ('event = "slalom"', f'event = "{c["event"]}"'),
        ("kv_rpm_per_V = 1000", f"max_rpm = {c['rpm']}\nkv_rpm_per_V = {c['kv']}"),
        (f"current_limit_A = 30{MOTOR}", f"current_limit_A = {c['limit']}{MOTOR}"),
        (f"current_limit_A = 40{ESC}", f"current_limit_A = {c['esc']}{ESC}\nmax_V = 20"),
        ("cells = 4", f"cells = {c['cells']}"),
        ("capacity_mAh = 2000", f"capacity_mAh = {c['capacity']}"),
        ("cell_resistance_mohm = 4", f"cell_resistance_mohm = {c['cell']}"),
        ("label_C_rating = 60", f"label_C_rating = {c['label']}\nlead_awg = {c['gauge']}\nconnector_limit_A = {c['plug']}"),
        ("mass_g = 200", f"mass_g = {pack}"),
        ("size_mm = [80, 40, 30]\nat_mm = [0, 0, 0]", f"size_mm = [80, 40, 30]\nat_mm = [{c['ahead']}, 0, 0]"),
        ('link_loss = "cut"', f'link_loss = "cut"\nchannels = {c["channels"]}'),
    )  # fmt: skip


@settings(
    max_examples=40,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
    phases=(Phase.explicit, Phase.reuse, Phase.generate),  # making a failure smaller would take minutes
)
@given(CRAFT)
def test_nothing_contradicts_anything(make_craft, drawn):
    # ballast in the pack, so that all kinds of reserve are met, not only far too little and far too much
    plain = Bench.of(built(make_craft, drawn), Site())
    grams = 1e3 * plain.weight / float(plain.plant.gravity) * (plain.thrust_to_weight / drawn["ratio"] - 1.0)
    craft = built(make_craft, drawn, pack=min(max(200.0 + grams, 10.0), 20000.0))
    found = {one.name: one for one in fit_findings(craft, Site(), budget=50.0)}
    agree_on_the_reserve(found)
    agree_on_the_advice(found)


def agree_on_the_reserve(found: dict[str, Finding]) -> None:
    hover, ratio, lifts = found["hover_throttle"], found["thrust_to_weight"], found["lifts_itself"]
    too_high = not hover.ok and hover.bound == "at most"
    assert not (too_high and ratio.ok), (hover, ratio)
    assert not (not hover.ok and hover.bound == "at least" and not ratio.ok), (hover, ratio)
    assert lifts.ok or (not ratio.ok and too_high)
    if found["motor_current"].ok and found["esc_current"].ok:
        assert found["event_current"].ok


def agree_on_the_advice(found: dict[str, Finding]) -> None:
    said = {name: one.change for name, one in found.items() if not one.ok}
    for a, b in AGAINST:
        assert not (any(a in text for text in said.values()) and any(b in text for text in said.values())), (
            said
        )
    if "thrust_to_weight" in said:
        assert not any(word in text for word in (*DOWN, "more capacity") for text in said.values()), said
    if set(DRAW) & set(said):
        assert not any(word in text for word in UP for text in said.values()), said
    if "disc_gap" in said:
        assert "larger propeller" not in str(said)
    for one in found.values():
        assert one.why
        assert (one.change == NOTHING) is one.ok
        assert "{" not in one.change


def test_the_first_remedy_alone_would_contradict():
    """A short lifter with a sagging pack: off with mass, and on with capacity? The second gives way."""
    ratio = at_least("thrust_to_weight", 1.8, 2.0, "-", "")
    sag = at_least("cell_voltage", 3.1, 3.3, "V", "")
    assert opposed(REMEDIES["thrust_to_weight"][0].moves, [REMEDIES["cell_voltage"][0].moves])
    ratio, sag = advised([ratio, sag])
    assert ratio.change == "take 10 % of the mass off"
    assert "capacity" not in sag.change
    assert "capacity" in advised([at_least("cell_voltage", 3.1, 3.3, "V", "")])[0].change


def test_what_is_left_when_every_change_spoils_something():
    """Far too little thrust with wires that are hot already: no larger propeller, no more cells."""
    ratio, wire = advised(
        [at_least("thrust_to_weight", 0.9, 2.0, "-", ""), at_most("lead_wire", 50.0, 20.0, "A", "")]
    )
    assert "anew" in ratio.change
    assert wire.change == "thicker leads: 50 A want 2.5 mm2 or more"  # 50 A over 20 A/mm2
    alone = advised([at_least("thrust_to_weight", 0.9, 2.0, "-", "")])[0]
    assert alone.change == "a larger propeller"


def test_one_advice_for_one_reserve():
    ratio, hover = (
        at_least("thrust_to_weight", 1.9, 2.6, "-", ""),
        at_most("hover_throttle", 0.8, 0.75, "-", "", "misfit"),
    )
    said = [one.change for one in advised([ratio, hover])]
    assert said == ["a larger propeller", "what thrust to weight asks for"]


@pytest.mark.parametrize(
    ("offset", "way"),
    [((12.0, 0.0), "back"), ((-12.0, 3.0), "forward and left"), ((0.2, -5.0), "right"), ((0.5, 0.5), "little")],
)  # fmt: skip
def test_the_pack_goes_against_the_offset(offset, way):
    one = advised([at_most("centre_of_mass", 5.0, 3.0, "%", "")], offset)[0]
    assert f"move the pack {way}" in one.change


def test_every_question_has_a_reason_and_a_remedy(make_craft):
    names = {one.name for one in fit_findings(make_craft(), Site(), budget=1.0)} | {
        name for name, *_ in IF_STATED
    }
    names |= {"mass_list", "esc_response", "flexible_mode"}
    assert names == set(WHY)
    assert names | {"hover_throttle too low"} == set(REMEDIES)
    assert set(DEMANDS) <= set(REMEDIES)


def test_no_remedy_works_against_its_own_finding():
    for case, remedies in REMEDIES.items():
        for remedy in remedies:
            assert not opposed(remedy.moves, [DEMANDS.get(case, {})]), (case, remedy.words)
