"""What a choice of parts costs: quantities as they are bought, spares, a reserve for crashes, less what is at home."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from quadsim.config.parts_schema import KINDS, Catalogue, CataloguePropeller, Shop
from quadsim.errors import InputError, Problem
from quadsim.parts.choice import Choice

SHOP_ITEMS = ("wire", "connectors", "strap", "charger", "fire_safe_bag", "payload_rig", "shipping")
"""Prices of [shop]."""
ON_DELIVERY = {
    "frame": "weigh body and one arm; measure the shafts' diagonal",
    "motor": "weigh one; measure resistance line to line and current without a propeller",
    "propeller": "weigh one; balance all; measure thrust and torque at one speed",
    "esc": "weigh; check its idle and the sense of each motor, propellers off",
    "battery": "weigh; measure each cell's voltage, and resistance by a DC pulse",
    "flight_controller": "weigh; level the accelerometer; note the rate at which its loop runs",
    "radio": "weigh; test range and link loss, propellers off",
}
"""What to weigh or measure when the parcel comes, by kind; common practice, no source."""


@dataclass(frozen=True)
class Terms:
    """How it is bought.

    spare_sets : packets of propellers beyond the first, of each kind
    reserve : share of the price of what flies, kept for crashes [-]
    at_home : (kind, name) of parts that lie there already, and ("shop", item)
    """

    spare_sets: int = 1
    reserve: float = 0.15
    at_home: frozenset[tuple[str, str]] = frozenset()


@dataclass(frozen=True)
class Line:
    """One line of the bill; prices in EUR."""

    kind: str
    what: str
    quantity: int
    price_each: float
    on_delivery: str = ""

    @property
    def price(self) -> float:
        """Of all of them [EUR]."""
        return self.quantity * self.price_each


def at_home(stated: list[str], catalogue: Catalogue) -> frozenset[tuple[str, str]]:
    """What `--have` says: `battery=NAME` of a part in the catalogue, or `charger` of the shop's items.

    Raises
    ------
    InputError
        that lists everything that cannot be found.
    """
    found, problems = set(), []
    for text in stated:
        kind, _, name = text.partition("=")
        if not name and kind in SHOP_ITEMS:
            found.add(("shop", kind))
            continue
        known = [part.name for part in getattr(catalogue, kind)] if kind in KINDS else []
        near = [one for one in known if one.casefold() == name.casefold()]
        near = near or [one for one in known if name and name.casefold() in one.casefold()]
        if len(near) == 1:
            found.add((kind, near[0]))
            continue
        problems.append(_not_found(text, known, near))
    if problems:
        raise InputError(problems)
    return frozenset(found)


def _not_found(text: str, known: list[str], near: list[str]) -> Problem:
    """What `--have` names without meaning one part: known, near : names of its kind, and those among them that it fits."""
    names = "; ".join(near or known)
    if near:
        return Problem("--have", f"{text!r} fits {len(near)} parts", "must fit one", f"Say which: {names}")
    if known:
        return Problem("--have", f"{text!r} fits no part", "must fit one", f"There are: {names}")
    allowed = f"must be KIND=NAME with a kind of {', '.join(KINDS)}, or one of {', '.join(SHOP_ITEMS)}"
    return Problem("--have", f"{text!r} is neither", allowed, "")


def quantity_of(kind: str, part: Any, terms: Terms) -> int:
    """How many pieces or packets of a part are bought."""
    if (kind, part.name) in terms.at_home:
        return 0
    if kind == "motor" or (kind == "esc" and part.arrangement == "one per motor"):
        return 4
    return packets(part) + terms.spare_sets if kind == "propeller" else 1


def packets(propeller: CataloguePropeller) -> int:
    """Packets that hold one set of four."""
    return math.ceil(4 / propeller.pieces)


def part_price(kind: str, part: Any, terms: Terms, shop: Shop) -> float:
    """What choosing a part adds to the bill [EUR]: all its pieces, their share of the reserve, a pack's straps."""
    straps = (
        kind == "battery"
        and ("shop", "strap") not in terms.at_home
        and (kind, part.name) not in terms.at_home
    )
    price = quantity_of(kind, part, terms) * float(part.price) * (1.0 + terms.reserve)
    return price + (float(shop.strap) if straps else 0.0)


def fixed_price(terms: Terms, shop: Shop) -> float:
    """What every choice costs besides its parts [EUR]."""
    items = [item for item in SHOP_ITEMS if item != "strap" and ("shop", item) not in terms.at_home]
    return float(sum(getattr(shop, item) for item in items))


def bill(choice: Choice, catalogue: Catalogue, terms: Terms) -> list[Line]:
    """Every line that is paid for; `sum(line.price for line in bill(...))` is the price."""
    lines = [
        Line(kind, part.name, quantity_of(kind, part, terms), float(part.price), ON_DELIVERY[kind])
        for kind, part in parts_of(choice)
    ]
    straps = sum(1 for line in lines if line.kind == "battery" and line.quantity)
    flown = sum(line.price for line in lines)
    for item in SHOP_ITEMS:
        count = straps if item == "strap" else 1
        if count and ("shop", item) not in terms.at_home:
            lines.append(Line("shop", item.replace("_", " "), count, float(getattr(catalogue.shop, item))))
    lines.append(Line("reserve", f"reserve for crashes, {100 * terms.reserve:g} %", 1, terms.reserve * flown))
    return lines


def parts_of(choice: Choice) -> Iterator[tuple[str, Any]]:
    """Kind and part of everything of the catalogue in a choice, each once."""
    shared = choice.shared
    yield from (
        (kind, getattr(shared, kind)) for kind in ("frame", "motor", "esc", "flight_controller", "radio")
    )
    yield from (("propeller", one) for one in choice.propellers)
    yield from (("battery", one) for one in choice.batteries)
