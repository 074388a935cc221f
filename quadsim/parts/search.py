"""Search a whole catalogue: every craft that fits, its figures in three events, and the front over figures and price.

Shared parts are chosen once, propeller and pack per event; each kind is bought once. Exact, not a heuristic: of one set of
shared parts, a propeller that another one equals or beats with every pack and in every event, for no more money, is left
out, likewise a pack; all sets of up to three of what remains are priced. Nothing is assumed to grow with mass or power.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from itertools import product
from typing import Any

import numpy as np
from numpy.typing import NDArray

from quadsim.config.contest_schema import Contest
from quadsim.config.parts_schema import Catalogue
from quadsim.parts import figures
from quadsim.parts.bill import Terms, fixed_price, part_price
from quadsim.parts.choice import EVENTS, Choice, Event, Fitted, Shared, fitted_misfits, shared_misfits
from quadsim.parts.front import Front, beaten, goods, kind_sets, set_prices, worth_having

Array = NDArray[np.float64]
Index = NDArray[np.int64]
Group = tuple[Index, tuple[int, int, int], Index, Index, Index]
"""Shared rows (s, 5), shape (s, p, b), propellers (p,), packs (b,), craft rows (s p b, 7) of one motor and ESC on a frame."""
NOT_FITTING, OUT = -2e6, -1e5
"""Goods of what does not fit, and below which a craft cannot take part [steps]."""
THREADS = 2
"""Threads that work out figures; the kernel holds no lock."""
COLUMNS = ("frame", "motor", "propeller", "esc", "battery", "flight_controller", "radio")
"""Columns of a craft's row in the tables."""


@dataclass(frozen=True)
class Ranked:
    """A choice with its figures: dash [m/s], load [kg], lap [s], price [EUR] and points."""

    choice: Choice
    dash: float
    lift: float
    lap: float
    price: float
    points: float


@dataclass(frozen=True)
class Found:
    """Outcome of a search.

    evaluated, within_budget : craft whose figures were worked out, and those of them that the budget buys, one propeller
        and one pack each
    front : by falling points, within the budget and `beyond` it
    """

    evaluated: int
    within_budget: int
    budget: float
    front: list[Ranked]
    beyond: list[Ranked]


@dataclass(frozen=True)
class Market:
    """A catalogue ready for the search: tables, rules, course, and the price of every part by kind."""

    catalogue: Catalogue
    contest: Contest
    terms: Terms
    tables: figures.Tables
    rules: Any
    course: Array
    prices: dict[str, Array]
    fixed: float


def market(catalogue: Catalogue, contest: Contest, terms: Terms) -> Market:
    """Everything that a search needs."""
    site = figures.site_of(contest)
    prices = {
        kind: np.array([part_price(kind, one, terms, catalogue.shop) for one in getattr(catalogue, kind)])
        for kind in COLUMNS
    }
    return Market(
        catalogue, contest, terms, figures.tables(catalogue, site), figures.rule_record(catalogue, contest, site),
        figures.course_rows(contest), prices, fixed_price(terms, catalogue.shop),
    )  # fmt: skip


def search(
    here: Market, budget: float, beyond: float = 0.0, progress: Callable[[float, str], None] | None = None
) -> Found:
    """The front within a budget [EUR]; with `beyond` also what so much more would buy."""
    front, evaluated, within = Front(5 + 6), 0, 0
    frames = here.catalogue.frame
    groups = [(k, list(_groups(here, k))) for k in range(len(frames))]
    total, done = sum(len(rows) for _, many in groups for *_, rows in many) or 1, 0
    with ThreadPoolExecutor(THREADS) as pool:
        for k, many in groups:
            answers = list(pool.map(lambda group: _values(here, group[-1]), many))
            for *_, rows in many:
                evaluated, done = evaluated + len(rows), done + len(rows)
                within += int(np.sum(_craft_prices(here, rows) <= budget))
            if many:
                _add_frame(here, front, many, answers, budget + beyond)
            if progress:
                progress(100.0 * done / total, frames[k].name)
    ranked = [_ranked(here, tags, price) for tags, price in zip(front.tags, front.points[:, 3], strict=True)]
    ranked.sort(key=lambda one: (-one.points, one.price))
    inside = [one for one in ranked if one.price <= budget]
    return Found(evaluated, within, budget, inside, [one for one in ranked if one.price > budget])


def _groups(here: Market, frame: int) -> Iterator[Group]:
    """What fits on a frame, per motor and ESC."""
    listed = here.catalogue
    boards = range(len(listed.flight_controller))
    for motor, esc in product(range(len(listed.motor)), range(len(listed.esc))):
        shared = np.array(
            [
                (frame, motor, esc, board, radio)
                for board, radio in product(boards, range(len(listed.radio)))
                if not shared_misfits(shared_of(listed, (frame, motor, esc, board, radio)), here.contest)
            ],
            np.int64,
        )
        if not len(shared):
            continue
        propellers, packs = _that_fit(listed, shared_of(listed, shared[0]))
        shape = (len(shared), len(propellers), len(packs))
        if 0 in shape:
            continue
        s, p, b = (
            axis.ravel() for axis in np.meshgrid(np.arange(shape[0]), propellers, packs, indexing="ij")
        )
        chosen = shared[s]
        yield (
            shared,
            shape,
            propellers,
            packs,
            np.column_stack([chosen[:, :2], p, chosen[:, 2], b, chosen[:, 3:]]),
        )


def _that_fit(listed: Catalogue, shared: Shared) -> tuple[Index, Index]:
    """Rows of the propellers and packs that fit; whether one does has nothing to do with the other."""
    small = min(listed.propeller, key=lambda one: one.diameter_in)
    packs = [
        k for k, one in enumerate(listed.battery) if not fitted_misfits(shared, Fitted(small, one), listed)
    ]
    if not packs:
        return np.empty(0, np.int64), np.empty(0, np.int64)
    pack = listed.battery[packs[0]]
    propellers = [
        k for k, one in enumerate(listed.propeller) if not fitted_misfits(shared, Fitted(one, pack), listed)
    ]
    return np.array(propellers, np.int64), np.array(packs, np.int64)


def _values(here: Market, rows: Index) -> Array:
    """Goods (n, 3) of craft rows."""
    from quadsim.parts.figure_kernels import DASH, LAP, LIFT

    answer = figures.craft_figures(rows, here.tables, here.rules, here.course)
    return goods(answer[:, DASH], answer[:, LIFT], answer[:, LAP])


def _craft_prices(here: Market, rows: Index) -> Array:
    return np.asarray(here.fixed + sum(here.prices[kind][rows[:, k]] for k, kind in enumerate(COLUMNS)))


def _add_frame(here: Market, front: Front, groups: list[Group], answers: list[Array], most: float) -> None:
    """Put before the front what each set of shared parts on one frame can do with its best propellers and packs."""
    shared = np.concatenate([group[0] for group in groups])
    propellers = np.unique(np.concatenate([group[2] for group in groups]))
    packs = np.unique(np.concatenate([group[3] for group in groups]))
    values = np.full((len(shared), len(propellers), len(packs), 3), NOT_FITTING)
    start = 0
    for (own, shape, p, b, _), answer in zip(groups, answers, strict=True):
        places = np.ix_(
            np.arange(start, start + len(own)), np.searchsorted(propellers, p), np.searchsorted(packs, b)
        )
        values[places] = answer.reshape(*shape, 3)
        start += len(own)
    prices = here.prices
    kinds = ("frame", "motor", "esc", "flight_controller", "radio")
    basis = np.asarray(here.fixed + sum(prices[kind][shared[:, k]] for k, kind in enumerate(kinds)))
    least = prices["propeller"][propellers].min() + prices["battery"][packs].min()
    few = np.flatnonzero(basis + least <= most)
    few = few[worth_having(values[few], basis[few])] if len(few) else few
    for s in few[np.argsort(-values[few].max(axis=(1, 2)).sum(axis=1), kind="stable")].tolist():
        peak = values[s].max(axis=(0, 1))
        if np.any(peak <= OUT) or front.beats(peak, float(basis[s] + least)):
            continue
        points, tags = _options(values[s], propellers, packs, float(basis[s]), prices, most, front)
        front.add(points, np.column_stack([np.repeat(shared[s][None], len(tags), axis=0), tags]))


def _options(
    values: Array,
    propellers: Index,
    packs: Index,
    basis: float,
    prices: dict[str, Array],
    most: float,
    front: Front,
) -> tuple[Array, Index]:
    """Sets of propellers and packs worth having with one set of shared parts: points (n, 4), tags (n, 6).

    A set of packs that the front beats even with every propeller at the price of the cheapest is left out, and so is a set
    of propellers with every pack.
    """
    of_propeller, of_pack = prices["propeller"][propellers], prices["battery"][packs]
    p = worth_having(values, of_propeller)
    b = worth_having(values[p].swapaxes(0, 1), of_pack)
    few = values[np.ix_(p, b)]
    sets_p, sets_b = kind_sets(len(p)), kind_sets(len(b))
    price_p, price_b = set_prices(sets_p, of_propeller[p]), set_prices(sets_b, of_pack[b])
    hope_p = few.max(axis=1)[sets_p].max(axis=1)
    hope_b = few.max(axis=0)[sets_b].max(axis=1)
    live_p = ~beaten(np.column_stack([hope_p, basis + price_p + of_pack.min()]), front.points)
    live_b = ~beaten(np.column_stack([hope_b, basis + price_b + of_propeller.min()]), front.points)
    sets_p, price_p, sets_b, price_b = sets_p[live_p], price_p[live_p], sets_b[live_b], price_b[live_b]
    best = few[sets_p].max(axis=1)[:, sets_b].max(axis=2)
    price = basis + price_p[:, None] + price_b[None]
    points = np.concatenate([best, price[..., None]], axis=2).reshape(-1, 4)
    good = (points[:, 3] <= most) & np.all(points[:, :3] > OUT, axis=1) & (points[:, 1] > 0.0)
    i, j = np.divmod(np.flatnonzero(good), max(len(sets_b), 1))
    return points[good], np.column_stack([propellers[p][sets_p[i]], packs[b][sets_b[j]]])


def shared_of(listed: Catalogue, row: Any) -> Shared:
    """Shared parts by their rows: frame, motor, ESC, flight controller, receiver."""
    frame, motor, esc, board, radio = (int(one) for one in row)
    return Shared(
        listed.frame[frame],
        listed.motor[motor],
        listed.esc[esc],
        listed.flight_controller[board],
        listed.radio[radio],
    )


def _ranked(here: Market, tags: Index, price: float) -> Ranked:
    """A point of the front with its words: in each event the best of what was bought."""
    from quadsim.parts.figure_kernels import DASH, LAP, LIFT

    pairs = [
        (int(p), int(b)) for p in dict.fromkeys(tags[5:8].tolist()) for b in dict.fromkeys(tags[8:].tolist())
    ]
    rows = np.array([[tags[0], tags[1], p, tags[2], b, tags[3], tags[4]] for p, b in pairs], np.int64)
    answer = figures.craft_figures(rows, here.tables, here.rules, here.course)
    best = {
        "slalom": int(np.argmin(answer[:, LAP])),
        "lift": int(np.argmax(answer[:, LIFT])),
        "dash": int(np.argmax(answer[:, DASH])),
    }
    listed = here.catalogue
    fitted = {
        event: Fitted(listed.propeller[pairs[best[event]][0]], listed.battery[pairs[best[event]][1]])
        for event in EVENTS
    }
    dash, lift, lap = (
        float(answer[best[e], c]) for e, c in (("dash", DASH), ("lift", LIFT), ("slalom", LAP))
    )
    choice = Choice(shared_of(listed, tags[:5]), **fitted)
    return Ranked(choice, dash, lift, lap, float(price), points_of(here.contest, dash, lift, lap))


def points_of(contest: Contest, dash: float, lift: float, lap: float) -> float:
    """Points of three results: in proportion to the references, a lap by the reference over it."""
    points = contest.dash.points * dash / contest.dash.reference_m_s
    points += contest.lift.points * 1e3 * lift / contest.lift.reference_g
    return float(points + (contest.slalom.points * contest.slalom.reference_s / lap if lap > 0.0 else 0.0))


def best_in(found: Found, event: Event) -> Ranked:
    """The choice of a front that is best in an event; of equals the cheaper."""
    keys: dict[Event, Callable[[Ranked], tuple[float, float]]] = {
        "slalom": lambda one: (one.lap, one.price),
        "lift": lambda one: (-one.lift, one.price),
        "dash": lambda one: (-one.dash, one.price),
    }
    return min(found.front, key=keys[event])
