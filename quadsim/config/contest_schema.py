"""Schema of a contest: the rules of its three events, what counts, what may be spent. README: scenarios/contests/README.md."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Annotated, Literal

import numpy as np
from pydantic import Field, PrivateAttr

from quadsim.config.course import Course
from quadsim.config.course_schema import load_course
from quadsim.config.find_data import find_file
from quadsim.config.listing import Finding, Rule, Section, checked
from quadsim.config.quantity import Quantity, Triple, Uncertain
from quadsim.config.toml_reader import Document, parse_toml, read_toml
from quadsim.errors import InputError, Problem

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
    course: str = Field(
        default="",
        description="course file or name of a shipped course, closed; in place of `gates_m` and `opening_m`",
    )
    gates_m: tuple[Gate, ...] = Field(
        default=(),
        min_length=3,
        description="centres in flying order: forward, right, down; the last leads to the first",
    )
    opening_m: Annotated[Uncertain, Quantity(0.3, 20.0, "m", "width of a gate, square")] | None = None
    thrust_kept_pct: Annotated[
        Uncertain,
        Quantity(
            0.0,
            60.0,
            "%",
            "kept for control in the estimate of a lap, of the thrust at the motor command of a planned one",
        ),
    ] = Uncertain(3.0)
    laps: Annotated[int, Quantity(1, 100, "-", "flown in one go", whole=True)] = 3
    _laid: Course | None = PrivateAttr(None)

    @property
    def laid(self) -> Course | None:
        """The course of a course file, None where the gates stand here."""
        return self._laid

    @property
    def centres(self) -> np.ndarray:
        """Centres of the gates (n, 3) in flying order, north-east-down [m]."""
        if self._laid is not None:
            return np.array([gate.centre for gate in self._laid.gates])
        return np.array(self.gates_m, float)

    @property
    def opening(self) -> float:
        """Least width or height of the gates' openings [m]."""
        if self._laid is not None:
            return min(min(gate.width, gate.height) for gate in self._laid.gates)
        assert self.opening_m is not None
        return float(self.opening_m)


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
    contest = checked(Contest, document, RULES)
    if contest.slalom.course:
        contest.slalom._laid = _round_course(contest.slalom.course)
    return contest


def _round_course(path_or_name: str) -> Course:
    """A course that leads round: the point mass of the estimates flies from the last gate to the first."""
    course = load_course(path_or_name)
    given = "" if course.closed else "is an open course"
    given = given if len(course.gates) >= 3 else f"has {len(course.gates)} passages of gates"
    if given:
        allowed = "must be closed, with 3 passages or more"
        raise InputError(
            [Problem(f"course {path_or_name}", given, allowed, "Name another course")], "slalom.course"
        )
    return course


def _one_course(contest: Contest) -> Iterator[Finding]:
    """Either a course, or gates with their opening."""
    slalom = contest.slalom
    here = [name for name in ("gates_m", "opening_m") if getattr(slalom, name)]
    allowed = "either course, or gates_m and opening_m"
    if slalom.course:
        for name in here:
            yield ("slalom", name), "stands beside course", allowed, "Take one of them out"
    for name in ("gates_m", "opening_m"):
        if not slalom.course and name not in here:
            yield ("slalom", name), "is missing", allowed, "Add it, or name a course"


def _gates_apart(contest: Contest) -> Iterator[Finding]:
    """Two gates in one place leave no direction to fly through them."""
    gates, opening = contest.slalom.gates_m, contest.slalom.opening_m
    if not gates or opening is None:
        return
    for number, (here, there) in enumerate(zip(gates, (*gates[1:], gates[0]), strict=True)):
        if sum((a - b) ** 2 for a, b in zip(here, there, strict=True)) < float(opening) ** 2:
            given = f"lies within one opening of gate {(number + 1) % len(gates) + 1}"
            yield (
                ("slalom", "gates_m", number),
                given,
                f"at least {opening:g} m apart",
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


RULES: tuple[Rule, ...] = (
    ({"slalom"}, _one_course),
    ({"slalom"}, _gates_apart),
    ({"slalom", "lift", "dash"}, _points_at_stake),
)
"""What the sections must fulfil together."""
