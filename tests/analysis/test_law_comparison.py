"""Laws compared: who takes part, on which flights, and that the figures are those of the flights flown singly."""

import numpy as np
import pytest

from controllers.explain import BlockError
from controllers.registry import DEFAULTS, STOCK
from quadsim.analysis import law_comparison as laws
from quadsim.analysis.law_flights import FLIGHTS, LEAST_LIFT, LOAD_SHARE, law_flights, load_mass_kg
from quadsim.config import load_craft
from quadsim.config.flight_loader import load_flight, parse_flight
from quadsim.config.mass_properties import mass_properties
from quadsim.errors import InputError
from quadsim.simulation.fly import fly

BRIEF = """
title = "A moment of roll"
craft = "siskin"
duration_s = 0.4
log_rate_Hz = 1000
[start]
height_m = 3
[[at]]
t_s = 0.05
roll_deg = 10
"""
ASKED_DEG = 10.0

OWN = """
from controllers import block

@block("attitude")
def both_at_once(s, craft, gains, memory):
    for axis in range(3):
        s.angular_acceleration_wanted[axis] = -20.0 * s.rates[axis]

@block("attitude")
def rates_alone(s, craft, gains, memory):
    for axis in range(3):
        s.rates_wanted[axis] = 0.0

@block("rate")
def pid(s, craft, gains, memory):
    for axis in range(3):
        s.angular_acceleration_wanted[axis] = 20.0 * (s.rates_wanted[axis] - s.rates[axis])
"""


@pytest.fixture
def own_file(tmp_path):
    path = tmp_path / "mine.py"
    path.write_text(OWN, encoding="utf-8")
    return path


def test_every_stock_law_takes_part():
    taking_part = {law.blocks["rate"] for law in laws.stock_laws()}
    assert taking_part | {laws.PASS_THROUGH} == {name for slot, name in STOCK if slot == "rate"}
    first = laws.stock_laws()[0]
    assert (first.name, first.blocks["rate"]) == (laws.STANDARD, DEFAULTS["rate"])


def test_laws_are_chosen_by_name():
    assert [law.name for law in laws.chosen_laws(["lqr", "cascaded", "lqr"])] == ["lqr", "cascaded"]
    with pytest.raises(InputError, match=r"'fuzzy'.*must be one of cascaded, geometric"):
        laws.chosen_laws(["lqr", "fuzzy"])


def test_a_law_of_the_users_stands_in_its_slot(own_file):
    rate = laws.own_law(f"{own_file}:pid", "rate")
    assert rate.blocks == {"attitude": DEFAULTS["attitude"], "rate": f"{own_file}:pid"}
    alone = laws.own_law(f"{own_file}:rates_alone", "attitude")
    assert alone.blocks["rate"] == DEFAULTS["rate"]
    both = laws.own_law(f"{own_file}:both_at_once", "attitude")
    assert both.blocks["rate"] == "hold"
    assert "hold" in both.note
    assert laws.own_law(f"{own_file}:pid", "rate", ["cascaded", "pid"]).name == "mine.py:pid"
    with pytest.raises(BlockError, match="is a block for slot 'rate', not 'attitude'"):
        laws.own_law(f"{own_file}:pid", "attitude")


def test_figures_are_those_of_the_flight_flown_alone(own_file):
    craft, flight = load_craft("siskin"), parse_flight(BRIEF)
    chosen = [*laws.chosen_laws(["cascaded", "geometric"]), laws.own_law(f"{own_file}:pid", "rate")]
    found = list(laws.compare(craft, chosen, [flight], seed=7))
    costs = [one for one in found if isinstance(one, laws.LawCost)]
    flown = [one for one in found if isinstance(one, laws.LawFlight)]
    assert [one.law for one in costs] == [one.law for one in flown] == ["cascaded", "geometric", "pid"]
    for law, one in zip(chosen, flown, strict=True):
        alone = fly(flight, craft=craft, seed=7, blocks=law.blocks)
        assert one.figures == alone.metrics
        assert one.status == "done"
        assert one.tilt_error_deg.max() <= alone.metrics["max_tilt_deg"] + ASKED_DEG
        assert one.t_s[0] == 0.0
    assert len({one.figures["effort_rad_s2"] for one in flown}) == 3
    # shared blocks are timed once; a user's block with the name of a stock one is another block
    assert costs[0].ns_per_step["guide"] == costs[1].ns_per_step["guide"] > 0.0
    assert costs[0].ns_per_step["rate"] != costs[2].ns_per_step["rate"]
    assert costs[1].total_ns == pytest.approx(sum(costs[1].ns_per_step.values()))


def test_the_craft_s_gains_for_another_block_are_said_to_be_left_out():
    craft = load_craft("bonxie").model_copy(update={"gains": {"rate": {"roll_p": 20.0}}})
    found = list(laws.compare(craft, laws.chosen_laws(["geometric"]), [parse_flight(BRIEF)]))
    assert any("gains.rate are for pid" in note for note in found[0].notes)


def test_shipped_flights_get_a_load_that_suits_the_craft():
    for name in ("siskin", "bonxie"):
        craft = load_craft(name)
        flights = law_flights(craft)
        assert [flight.name for flight in flights] == list(FLIGHTS)
        assert all(flight.log_rate_Hz >= 1000 and not flight.expect for flight in flights)
        load = next(action.attach for action in flights[2].at if action.attach)
        assert load.mass_g == pytest.approx(1e3 * LOAD_SHARE * mass_properties(craft).mass_kg)
        filed = next(action.attach for action in load_flight("payload_step").at if action.attach)
        assert np.prod(load.size_mm) / load.mass_g == pytest.approx(np.prod(filed.size_mm) / filed.mass_g)


def test_a_craft_that_lifts_little_gets_little_or_nothing():
    craft, flight = load_craft("bonxie"), load_flight("payload_step")

    def with_ballast(mass_g):
        lead = craft.parts[0].model_copy(update={"name": "lead", "shape": "point", "mass_g": mass_g})
        free = craft.mass.model_copy(update={"weighed_mass_g": None})
        return craft.model_copy(update={"parts": (*craft.parts, lead), "mass": free})

    most = 4.0 * lift_of_one_rotor(craft) / (LEAST_LIFT * 9.80665)
    own = mass_properties(with_ballast(1.0)).mass_kg
    heavy = with_ballast(1e3 * (0.9 * most - own))
    assert 0.0 < load_mass_kg(heavy, flight) < 0.12 * most
    too_heavy = with_ballast(1e3 * (1.05 * most - own))
    assert load_mass_kg(too_heavy, flight) < 0.0
    assert "payload_step" not in [one.name for one in law_flights(too_heavy)]


def lift_of_one_rotor(craft):
    from quadsim.config import resolve_builder, resolve_plant

    return float(resolve_builder(craft, resolve_plant(craft, load_flight("hover").site.resolved)).max_thrust)


def test_named_flights_are_flown_as_they_are():
    (flight,) = law_flights(load_craft("siskin"), ["payload_step"])
    filed = load_flight("payload_step")
    assert (flight.at, flight.expect, flight.duration_s) == (filed.at, filed.expect, filed.duration_s)


def test_stopped_by_hand_ends_the_comparison_and_keeps_what_is_whole():
    chosen, flight = laws.chosen_laws(["cascaded", "lqr"]), parse_flight(BRIEF)

    def stop_the_second(law, session):
        if law.name == "lqr":
            raise KeyboardInterrupt

    seen = []
    comparison = laws.compare(load_craft("siskin"), chosen, [flight], progress=stop_the_second)
    with pytest.raises(KeyboardInterrupt):
        for one in comparison:
            seen.append(one)
    assert [one.law for one in seen if isinstance(one, laws.LawFlight)] == ["cascaded"]
