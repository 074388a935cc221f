"""Schema of a contest: the rules of its three events, what counts, what may be spent. README: scenarios/contests/README.md."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Annotated, Literal

from pydantic import Field

from quadsim.config.find_data import find_file
from quadsim.config.listing import Finding, Rule, Section, checked
from quadsim.config.quantity import Quantity, Triple, Uncertain
from quadsim.config.toml_reader import Document, parse_toml, read_toml

Gate = Annotated[
    tuple[float, float, float],
    Triple(-2000.0, 2000.0, "m", "centre: forward, right, down from the take-off point"),
]
Points = Annotated[Uncertain, Quantity(0.0, 1000.0, "-", "points for a result as good as the reference")]
Carried = Annotated[Uncertain, Quantity(0.0, 5000.0, "g", "camera and the like that must be on board")]


class Budget(Section):
    """What may be spent, and what comes on top of the parts."""

    limit: Annotated[Uncertain, Quantity(10.0, 1e5, "EUR", "all that is bought, shipping included")]
    reserve_pct: Annotated[
        Uncertain,
        Quantity(0.0, 100.0, "%", "of what flies, kept for crashes; 15 to 20, common practice, no source"),
    ] = Uncertain(15.0)
    spare_sets: Annotated[
        int, Quantity(0, 20, "-", "packets of propellers bought beyond the first, of each kind", whole=True)
    ] = 1


class Air(Section):
    """The weather that a choice of parts must stand."""

    temperature_C: Annotated[Uncertain, Quantity(-30.0, 50.0, "deg C", "of the air")] = Uncertain(15.0)
    pressure_hPa: Annotated[Uncertain, Quantity(500.0, 1100.0, "hPa", "at the field")] = Uncertain(1013.25)
    wind_m_s: Annotated[Uncertain, Quantity(0.0, 15.0, "m/s", "steady, along the dash")] = Uncertain(0.0)


class Slalom(Section):
    """Laps through gates against the clock."""

    points: Points
    reference_s: Annotated[Uncertain, Quantity(1.0, 1000.0, "s", "lap time that earns the points")]
    carried_g: Carried = Uncertain(0.0)
    gates_m: tuple[Gate, ...] = Field(
        min_length=3,
        description="centres in flying order: forward, right, down; the last leads to the first",
    )
    opening_m: Annotated[Uncertain, Quantity(0.3, 20.0, "m", "width of a gate, square")]
    thrust_kept_pct: Annotated[
        Uncertain,
        Quantity(0.0, 60.0, "%", "of full thrust kept for control in the estimate of a lap; assumed"),
    ] = Uncertain(20.0)
    laps: Annotated[int, Quantity(1, 100, "-", "flown in one go", whole=True)] = 3


class Lift(Section):
    """The heaviest load held at a height for a time."""

    points: Points
    reference_g: Annotated[Uncertain, Quantity(1.0, 50000.0, "g", "load that earns the points")]
    carried_g: Carried = Uncertain(0.0)
    height_m: Annotated[Uncertain, Quantity(0.2, 50.0, "m", "of the load over the ground")]
    time_s: Annotated[Uncertain, Quantity(1.0, 3600.0, "s", "to hold it, and to fly with it in all")]
    thrust_over_weight: Annotated[
        Uncertain,
        Quantity(
            1.05,
            3.0,
            "-",
            "full thrust over weight at the end of that time: what gusts and control need; assumed",
        ),
    ] = Uncertain(1.3)
    attempts: Annotated[int, Quantity(1, 20, "-", "that are allowed", whole=True)] = 3


class Dash(Section):
    """The greatest level speed."""

    points: Points
    reference_m_s: Annotated[Uncertain, Quantity(1.0, 150.0, "m/s", "speed that earns the points")]
    carried_g: Carried = Uncertain(0.0)
    measured_m: Annotated[Uncertain, Quantity(5.0, 2000.0, "m", "distance that is timed")]
    run_up_m: Annotated[Uncertain, Quantity(0.0, 5000.0, "m", "before it")]
    braking_m: Annotated[Uncertain, Quantity(0.0, 5000.0, "m", "behind it")]
    start: Literal["standing", "flying"] = Field(description="flying: the clock starts at the first line")
    timing: Literal["mean of speeds", "mean of times", "one way"] = Field(
        description="of runs both ways; with wind the mean of times is the slower"
    )


class Contest(Section):
    """A whole contest file."""

    name: str = Field(description="what the contest is called", min_length=1)
    about: str = Field(default="", description="one sentence for whoever opens the file")
    budget: Budget
    air: Air = Air()
    slalom: Slalom
    lift: Lift
    dash: Dash
    radio_channels: Annotated[int, Quantity(2, 32, "-", "that the events need", whole=True)] = 6
    radio_range_m: Annotated[
        Uncertain, Quantity(0.0, 100000.0, "m", "claimed range that the field asks for")
    ] = Uncertain(500.0)


def load_contest(path_or_name: str | Path) -> Contest:
    """A checked contest from a file, or from the name of a shipped one. InputError lists every problem."""
    return _checked(read_toml(find_file(path_or_name, "contests")))


def parse_contest(text: str, source: str = "contest") -> Contest:
    """The same from TOML text."""
    return _checked(parse_toml(text, source))


def _checked(document: Document) -> Contest:
    return checked(Contest, document, RULES)


def _gates_apart(contest: Contest) -> Iterator[Finding]:
    """Two gates in one place leave no direction to fly through them."""
    gates = contest.slalom.gates_m
    for number, (here, there) in enumerate(zip(gates, (*gates[1:], gates[0]), strict=True)):
        if sum((a - b) ** 2 for a, b in zip(here, there, strict=True)) < float(contest.slalom.opening_m) ** 2:
            given = f"lies within one opening of gate {(number + 1) % len(gates) + 1}"
            yield (
                ("slalom", "gates_m", number),
                given,
                f"at least {contest.slalom.opening_m:g} m apart",
                "Move one",
            )


def _points_at_stake(contest: Contest) -> Iterator[Finding]:
    if contest.slalom.points + contest.lift.points + contest.dash.points == 0.0:
        yield (
            ("slalom", "points"),
            "are 0, like all others",
            "one event must count",
            "Give points to an event",
        )


RULES: tuple[Rule, ...] = (({"slalom"}, _gates_apart), ({"slalom", "lift", "dash"}, _points_at_stake))
"""What the sections must fulfil together."""
