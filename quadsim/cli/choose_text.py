"""What `quadsim choose` prints."""

from __future__ import annotations

from typing import Any

from quadsim.cli.out import counted, say
from quadsim.cli.table import Column, table
from quadsim.parts.bill import bill
from quadsim.parts.choice import EVENTS, Choice, Event
from quadsim.parts.neighbours import neighbours
from quadsim.parts.search import Found, Market, Ranked, best_in

SHOWN = 8
"""Rows of the front that the table shows; JSON has them all."""


def print_found(here: Market, found: Found, step: float) -> None:
    """Tables for people."""
    worked = (
        f"{counted(found.evaluated, 'craft')} that fit worked out, {counted(found.within_budget, 'craft')}"
    )
    say(f"{worked} within {found.budget:g} EUR; {counted(len(found.front), 'choice')} that no other beats")
    if not found.front:
        say("nothing fits within the budget and takes part in all three events", "bad")
        return
    best = found.front[0]
    say()
    say("Front, by points", "title")
    say(_front_table(found.front[:SHOWN]))
    say()
    say("Best in each event", "title")
    say(_front_table([one for _, one in best_per_event(found)]))
    say()
    say(f"Best overall: {best.points:.1f} points for {best.price:.0f} EUR", "title")
    say(_parts_table(best.choice))
    say()
    say("Bill of materials", "title")
    say(_bill_table(here, best.choice))
    say()
    say("Why a neighbour lost: the nearest exchange of each kind", "title")
    rows = [[one.instead_of, one.part, one.why] for one in neighbours(here, best, found.budget)]
    say(table([Column("instead of", words=True), Column("", words=True), Column("", words=True)], rows))
    say()
    for limit, one in money(found, step):
        words = (
            f"{one.points:.1f} points ({one.points - best.points:+.1f})"
            if one
            else "nothing takes part in all events"
        )
        say(f"  with {limit:.0f} EUR: {words}")
    say(CAUTION, "soft")


CAUTION = (
    "Estimates from a catalogue's claims. Of ten choices flown, loads came out 1 to 6 % higher (one of 30 g by 12 %) and "
    "dashes 1 to 23 % slower, three of them by more than 10 %. The lap is a point mass's: of ten craft, seven flew it in 0.95 "
    "to 1.25 of that time, three missed gates even in twice the time. Inspect and fly the craft here first (--flown). "
    "A simulated pass is never a clearance to fly."
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


def _front_table(front: list[Ranked]) -> str:
    columns = [
        Column("points"), Column("price", "EUR"), Column("dash", "m/s"), Column("lift", "g"), Column("lap", "s"),
        Column("frame", words=True), Column("motor", words=True),
    ]  # fmt: skip
    rows = [
        [f"{one.points:.1f}", f"{one.price:.0f}", f"{one.dash:.1f}", f"{1e3 * one.lift:.0f}", f"{one.lap:.2f}",
         one.choice.shared.frame.name, one.choice.shared.motor.name]
        for one in front
    ]  # fmt: skip
    return table(columns, rows)


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
    rows.append(["", "all", "", f"{sum(one.price for one in lines):.2f}", ""])
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
