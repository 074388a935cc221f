"""A course as a layout works on it: frozen records in the units of the file (metres forward, right and up; degrees).

What is drawn is what is written, so nothing is rounded between screen and file. A step of editing gives a new
`CoursePlan` (`course_edits`); the old one stays as it was, which makes undo exact (`course_draft`).
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class GatePlan:
    """An upright gate: the centre of its opening, the direction of flight through it, the opening."""

    name: str
    forward_m: float
    right_m: float
    height_m: float
    heading_deg: float
    width_m: float
    tall_m: float


@dataclass(frozen=True)
class PostPlan:
    """A post that stands on the ground."""

    name: str
    forward_m: float
    right_m: float
    height_m: float
    radius_m: float


@dataclass(frozen=True)
class BoxPlan:
    """A box that must not be flown through: its edges, lower first."""

    name: str
    forward_m: tuple[float, float]
    right_m: tuple[float, float]
    height_m: tuple[float, float]


@dataclass(frozen=True)
class StartPlan:
    """Where the craft stands at the start signal, and which way it looks."""

    forward_m: float
    right_m: float
    height_m: float
    heading_deg: float


@dataclass(frozen=True)
class FieldPlan:
    """Limits of the flying space; the ground is its floor. `net`: its sides are a net or walls."""

    forward_m: tuple[float, float]
    right_m: tuple[float, float]
    ceiling_m: float
    net: bool = False


@dataclass(frozen=True)
class CoursePlan:
    """The whole course. `order` holds names of gates in flying order: a gate may be flown several times."""

    name: str
    gates: tuple[GatePlan, ...]
    order: tuple[str, ...]
    posts: tuple[PostPlan, ...]
    boxes: tuple[BoxPlan, ...]
    start: StartPlan
    field: FieldPlan
    closed: bool
    laps: int
    clearance_m: float
    about: str = ""

    def gate(self, name: str) -> GatePlan:
        """The gate of that name."""
        return next(gate for gate in self.gates if gate.name == name)

    @property
    def flown(self) -> tuple[GatePlan, ...]:
        """The gates in flying order, each as often as it is flown."""
        by_name = {gate.name: gate for gate in self.gates}
        return tuple(by_name[name] for name in self.order)

    def numbers(self, name: str) -> tuple[int, ...]:
        """Places 1, 2, ... of a gate in the flying order."""
        return tuple(k for k, other in enumerate(self.order, start=1) if other == name)


@dataclass(frozen=True)
class Chosen:
    """One thing of a course: kind is gate, post, box, start, field or course; index counts gates, posts and boxes."""

    kind: str
    index: int = 0


Item = GatePlan | PostPlan | BoxPlan | StartPlan | FieldPlan | CoursePlan
COURSE, START, FIELD = Chosen("course"), Chosen("start"), Chosen("field")


def items(plan: CoursePlan) -> list[Chosen]:
    """Everything that stands somewhere, gates first."""
    return [
        *(Chosen("gate", k) for k in range(len(plan.gates))),
        *(Chosen("post", k) for k in range(len(plan.posts))),
        *(Chosen("box", k) for k in range(len(plan.boxes))),
        START,
    ]


def item_of(plan: CoursePlan, chosen: Chosen) -> Item:
    """The record of what is chosen."""
    match chosen.kind:
        case "gate":
            return plan.gates[chosen.index]
        case "post":
            return plan.posts[chosen.index]
        case "box":
            return plan.boxes[chosen.index]
        case "start":
            return plan.start
        case "field":
            return plan.field
        case _:
            return plan


def place_of(plan: CoursePlan, chosen: Chosen) -> tuple[float, float]:
    """Middle of a thing on the ground: forward, right [m]."""
    item = item_of(plan, chosen)
    if isinstance(item, BoxPlan | FieldPlan):
        return sum(item.forward_m) / 2.0, sum(item.right_m) / 2.0
    if isinstance(item, CoursePlan):
        return place_of(plan, FIELD)
    return item.forward_m, item.right_m
