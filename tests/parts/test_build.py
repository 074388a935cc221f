"""From a choice to a bill and to craft files: every frame with its parts, masses, quantities, prices."""

import math

import pytest

from quadsim.config import mass_properties
from quadsim.config.contest_schema import load_contest
from quadsim.config.parts_loader import load_catalogue
from quadsim.environment.atmosphere import Site
from quadsim.errors import InputError
from quadsim.parts.bill import Terms, at_home, bill, fixed_price, part_price, parts_of
from quadsim.parts.build import UNLISTED_PCT, build_craft, craft_text, listed_mass_g
from quadsim.parts.choice import EVENTS, Choice, Fitted, Shared, fitted_misfits, shared_misfits
from quadsim.parts.clearance import disc_gap, frame_gap
from quadsim.parts.fit import fit_findings

MARKET, CONTEST = load_catalogue("market"), load_contest("three_events")


def named(kind, name):
    return next(one for one in getattr(MARKET, kind) if one.name == name)


SHARED = Shared(
    named("frame", "Oddny Plain 5"),
    named("motor", "Brambell 22-07, 1750 rpm/V"),
    named("esc", "Vellum board 45 A"),
    named("flight_controller", "Pellow full"),
    named("radio", "Nettle small"),
)
FITTED = Fitted(
    named("propeller", "Tiplo 5.0 x 4.3, three blades"), named("battery", "Halse 4 cells, 1500 mAh")
)
STRONG = Fitted(
    named("propeller", "Marrit 5.1 x 5.5, three blades"), named("battery", "Halse 6 cells, 1300 mAh")
)
CHOICE = Choice(SHARED, slalom=FITTED, lift=FITTED, dash=STRONG)


def on_frame(frame):
    """The largest propeller and motor that a frame takes, and its largest pack."""
    pick = {
        kind: [one for one in getattr(MARKET, kind)]
        for kind in ("motor", "esc", "flight_controller", "propeller")
    }
    shared = next(
        shared
        for motor in reversed(pick["motor"])
        for esc in pick["esc"][4:]
        for board in pick["flight_controller"]
        if not shared_misfits(
            shared := Shared(frame, motor, esc, board, named("radio", "Nettle small")), CONTEST
        )
    )
    choices = [Fitted(p, b) for p in reversed(pick["propeller"]) for b in reversed(MARKET.battery)]
    return shared, next(one for one in choices if not fitted_misfits(shared, one, MARKET))


@pytest.mark.parametrize("frame", MARKET.frame, ids=lambda one: one.name)
def test_on_every_frame_the_largest_propeller_turns_free(frame):
    craft = build_craft(*on_frame(frame), "slalom", MARKET, CONTEST)
    assert disc_gap(craft)[0] > 0.0
    assert frame_gap(craft)[0] >= 0.003 - 1e-9


@pytest.mark.parametrize("event", EVENTS)
def test_a_built_craft_weighs_what_its_parts_weigh_and_nothing_misfits(event):
    craft = build_craft(SHARED, FITTED, event, MARKET, CONTEST)
    listed = listed_mass_g(SHARED, FITTED, event, MARKET, CONTEST)
    assert mass_properties(craft).mass_kg == pytest.approx(
        (1.0 + UNLISTED_PCT / 100.0) * listed * 1e-3, rel=1e-12
    )
    assert craft.event == {"dash": "speed"}.get(event, event)
    assert [one.name for one in fit_findings(craft, Site()) if not one.ok and one.severity == "misfit"] == []


def test_single_escs_and_legs_are_placed_and_counted():
    heron = named("frame", "Thornby Heron 11")
    shared = Shared(
        heron, named("motor", "Thornby 31-10, 780 rpm/V"), named("esc", "Sorrel single 30 A"),
        named("flight_controller", "Pellow full"), named("radio", "Nettle small"),
    )  # fmt: skip
    fitted = Fitted(
        named("propeller", "Hollin 10.0 x 4.5, two blades"), named("battery", "Orlop 4 cells, 5000 mAh")
    )
    craft = build_craft(shared, fitted, "lift", MARKET, CONTEST)
    listed = listed_mass_g(shared, fitted, "lift", MARKET, CONTEST)
    assert mass_properties(craft).listed_mass_kg == pytest.approx(listed * 1e-3, rel=1e-12)
    assert craft.price == pytest.approx(84 + 4 * 35 + 4 * 12 + 42 + 16 + 57 + 13 + 12)


def test_a_craft_file_says_where_it_comes_from_and_keeps_uncertainties():
    text = craft_text(SHARED, FITTED, "slalom", MARKET, CONTEST)
    assert "claims until you measure them" in text.splitlines()[0]
    craft = build_craft(SHARED, FITTED, "slalom", MARKET, CONTEST)
    assert craft.motor.kv_rpm_per_V.sigma == SHARED.motor.kv_rpm_per_V.sigma > 0.0


def test_the_bill_by_hand():
    """Quantities and prices added up by hand from market.toml: 2 packets of each propeller, shared parts once."""
    lines = {line.what: line for line in bill(CHOICE, MARKET, Terms(1, 0.15))}
    assert lines["Brambell 22-07, 1750 rpm/V"].quantity == 4
    assert (
        lines["Tiplo 5.0 x 4.3, three blades"].quantity
        == lines["Marrit 5.1 x 5.5, three blades"].quantity
        == 2
    )
    assert lines["strap"].quantity == 2
    flown = 34 + 4 * 16 + 46 + 42 + 16 + 2 * 3.6 + 2 * 5.8 + 28 + 41
    assert lines["reserve for crashes, 15 %"].price == pytest.approx(0.15 * flown)
    assert sum(one.price for one in lines.values()) == pytest.approx(
        1.15 * flown + 7 + 6 + 2 * 3 + 36 + 9 + 12 + 8
    )


def test_the_bill_is_the_sum_that_the_search_adds_up():
    for terms in (
        Terms(),
        Terms(3, 0.2),
        Terms(0, 0.0, frozenset({("battery", FITTED.battery.name), ("shop", "charger")})),
    ):
        parts = sum(part_price(kind, part, terms, MARKET.shop) for kind, part in parts_of(CHOICE))
        total = sum(line.price for line in bill(CHOICE, MARKET, terms))
        assert parts + fixed_price(terms, MARKET.shop) == pytest.approx(total, rel=1e-12)


def test_what_lies_at_home_costs_nothing():
    home = at_home(["battery=halse 4 cells, 1500", "charger"], MARKET)
    assert home == {("battery", "Halse 4 cells, 1500 mAh"), ("shop", "charger")}
    saved = sum(one.price for one in bill(CHOICE, MARKET, Terms())) - sum(
        one.price for one in bill(CHOICE, MARKET, Terms(at_home=home))
    )
    assert saved == pytest.approx(1.15 * 28 + 3 + 36)


def test_what_is_not_in_the_catalogue_is_said_all_at_once():
    with pytest.raises(InputError) as caught:
        at_home(["battery=nothing like it", "wheel=round", "battery=Halse"], MARKET)
    assert len(caught.value.problems) == 3
    text = str(caught.value)
    assert "fits no part" in text and "charger" in text and "'battery=Halse' fits 1" in text


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"motor": named("motor", "Thornby 31-10, 780 rpm/V")}, "no holes for a motor"),
        ({"frame": named("frame", "Brambell Wren 3")}, "no holes for"),
        ({"radio": named("radio", "Nettle bare")}, "reaches 400"),
    ],
)
def test_what_cannot_go_together_says_why(change, words):
    shared = Shared(**{**vars(SHARED), **change})
    assert any(words in reason for reason in shared_misfits(shared, CONTEST))


def test_packs_and_propellers_that_do_not_fit_say_why():
    weak = Shared(**{**vars(SHARED), "esc": named("esc", "Sorrel board 40 A, 4 cells")})
    assert "stands 17.6 V" in fitted_misfits(weak, STRONG, MARKET)[0]
    large = Fitted(
        named("propeller", "Tiplo 7.0 x 3.5, two blades"), named("battery", "Orlop 6 cells, 4000 mAh")
    )
    reasons = fitted_misfits(SHARED, large, MARKET)
    assert len(reasons) == 2 and "up to 5.1 in" in reasons[0] and "too large" in reasons[1]
    assert math.isfinite(sum(one.price for one in bill(CHOICE, MARKET, Terms())))
