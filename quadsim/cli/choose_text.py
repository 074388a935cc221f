"""What `quadsim choose` prints."""

from __future__ import annotations

from typing import Any

from quadsim.cli.out import counted, say
from quadsim.cli.table import Column, table
from quadsim.parts.bill import bill, parts_of
from quadsim.parts.choice import EVENTS, Choice, Event
from quadsim.parts.neighbours import neighbours
from quadsim.parts.search import Found, Market, Ranked, best_in

SHOWN = 8
"""Rows of the front that the table shows; JSON has them all."""


def print_found(here: Market, found: Found, step: float) -> None:
    """Tables for people."""
    within = f"{found.within_budget:,}".replace(",", " ") + " of them within"
    say(
        f"{counted(found.evaluated, 'combination')} of parts that fit worked out; {within} {found.budget:g} EUR"
    )
    if not found.front:
        say("nothing fits within the budget and takes part in all three events", "bad")
        return
    best = found.front[0]
    say()
    say("Best choices by points in all three events", "title")
    say(_front_table(found.front[:SHOWN]))
    more = len(found.front) - SHOWN
    if more > 0:
        say(
            f"  and {counted(more, 'choice')} more that nothing beats in all events and in price; --json lists them"
        )
    say()
    say("Best in each event", "title")
    say(_front_table([one for _, one in best_per_event(found)], list(EVENTS)))
    say()
    say(f"Best overall: {best.points:.1f} points for {best.price:.0f} EUR", "title")
    say(_parts_table(best.choice))
    say()
    say("Bill of materials", "title")
    say(_bill_table(here, best.choice))
    say()
    say("Why a neighbour lost: for each part the exchange that comes nearest", "title")
    rows = [[one.instead_of, one.part, one.why] for one in neighbours(here, best, found.budget)]
    say(table([Column(one, words=True) for one in ("part", "exchanged for", "what then")], rows))
    say()
    say(f"What {step:.0f} EUR less or more would change", "title")
    for limit, one in money(found, step):
        say(f"  with {limit:.0f} EUR: {_other_budget(one, best)}")
    say()
    say(CAUTION, "soft")


def _other_budget(one: Ranked | None, best: Ranked) -> str:
    """What is best with another budget, and what differs."""
    if one is None:
        return "nothing takes part in all events"
    if one.choice == best.choice:
        return f"nothing; the best choice costs {best.price:.0f} EUR"
    old, new = part_names(best.choice), part_names(one.choice)
    fresh = ", ".join(name for name in new if name not in old)
    return f"{one.points:.1f} points ({one.points - best.points:+.1f}) for {one.price:.0f} EUR, with {fresh or 'fewer parts'}"


def part_names(choice: Choice) -> list[str]:
    """Every part once."""
    return list(dict.fromkeys(part.name for _, part in parts_of(choice)))


CAUTION = (
    "Estimates from a catalogue's claims; in every event no more than half its label is asked of a pack. Of choices flown, from "
    "two fronts and at random, 37 dashes and 37 of 38 loads came within 9 % of the estimate, one load was 11 % higher; 18 of 20 "
    "laps came within 8 %, two of large and strong craft took 16 and 23 % more: their laws do not hold a line that fast, and how "
    "fast a craft turns the estimate does not know. Inspect and fly the craft here first (--flown). A simulated pass is never a "
    "clearance to fly."
)


def best_per_event(found: Found) -> list[tuple[Event, Ranked]]:
    """The choice of the front that is best in each event."""
    return [(event, best_in(found, event)) for event in EVENTS]


def money(found: Found, step: float) -> list[tuple[float, Ranked | None]]:
    """The best choice with `step` less and with `step` more."""
    every = [*found.front, *found.beyond]
    both = []
    for limit in (found.budget - step, found.budget + step):
        within = [one for one in every if one.price <= limit]
        both.append((limit, max(within, key=lambda one: one.points) if within else None))
    return both


def _front_table(front: list[Ranked], events: list[Event] | None = None) -> str:
    """One row a choice; events : in which each is best."""
    columns = [
        Column("points"), Column("price", "EUR"), Column("dash", "m/s"), Column("lift", "g"), Column("lap", "s"),
        Column("frame", words=True), Column("motor", words=True), Column("propellers: " + ", ".join(EVENTS), "in", words=True),
    ]  # fmt: skip
    rows = [
        [f"{one.points:.1f}", f"{one.price:.0f}", f"{one.dash:.1f}", f"{1e3 * one.lift:.0f}", f"{one.lap:.2f}",
         one.choice.shared.frame.name, one.choice.shared.motor.name, ", ".join(_size(one.choice, event) for event in EVENTS)]
        for one in front
    ]  # fmt: skip
    if events:
        columns.insert(0, Column("", words=True, style="soft"))
        rows = [[event, *row] for event, row in zip(events, rows, strict=True)]
    return table(columns, rows)


def _size(choice: Choice, event: Event) -> str:
    propeller = choice.of(event).propeller
    return f"{propeller.diameter_in:g} x {propeller.pitch_in:g}"


def _parts_table(choice: Choice) -> str:
    shared = choice.shared
    rows = [
        ["all events", f"{shared.frame.name}; {shared.motor.name}; {shared.esc.name}"],
        ["", f"{shared.flight_controller.name}; {shared.radio.name}"],
        *([event, f"{choice.of(event).propeller.name}; {choice.of(event).battery.name}"] for event in EVENTS),
    ]
    return table([Column("", words=True, style="soft"), Column("", words=True)], rows)


def _bill_table(here: Market, choice: Choice) -> str:
    lines = bill(choice, here.catalogue, here.terms)
    rows = [
        [str(one.quantity), one.what, f"{one.price_each:.2f}", f"{one.price:.2f}", one.on_delivery]
        for one in lines
    ]
    rows.append(["", "total", "", f"{sum(one.price for one in lines):.2f}", ""])
    columns = [
        Column("pieces"), Column("what", words=True), Column("each", "EUR"), Column("all", "EUR"),
        Column("on delivery", words=True, style="soft"),
    ]  # fmt: skip
    return table(columns, rows)


def choice_document(here: Market, found: Found, step: float) -> dict[str, Any]:
    """The JSON document."""
    best = found.front[0] if found.front else None
    return {
        "catalogue": here.catalogue.name,
        "contest": here.contest.name,
        "budget": found.budget,
        "evaluated": found.evaluated,
        "within_budget": found.within_budget,
        "front": [_entry(here, one) for one in found.front],
        "best_per_event": {event: _entry(here, one) for event, one in best_per_event(found)} if best else {},
        "bill": [vars(line) | {"price": line.price} for line in bill(best.choice, here.catalogue, here.terms)]
        if best
        else [],
        "neighbours": [vars(one) for one in neighbours(here, best, found.budget)] if best else [],
        "other_budgets": [
            {"budget": limit, "points": one.points if one else None, "price": one.price if one else None}
            for limit, one in money(found, step)
        ],
    }


def _entry(here: Market, one: Ranked) -> dict[str, Any]:
    """One choice. The mass is that of the slalom craft, ready to fly."""
    from quadsim.parts.build import UNLISTED_PCT, listed_mass_g

    choice = one.choice
    shared = {kind: getattr(choice.shared, kind).name for kind in vars(choice.shared)}
    own = {
        event: {"propeller": choice.of(event).propeller.name, "battery": choice.of(event).battery.name}
        for event in EVENTS
    }
    listed = listed_mass_g(choice.shared, choice.slalom, "slalom", here.catalogue, here.contest)
    return {
        "parts": shared | own,
        "price": round(one.price, 2),
        "mass_g": (1.0 + UNLISTED_PCT / 100.0) * listed,
        "dash_m_s": one.dash,
        "lift_g": 1e3 * one.lift,
        "lap_s": one.lap,
        "points": one.points,
    }
