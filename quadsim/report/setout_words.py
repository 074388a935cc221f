"""What a set-out sheet says, once for the terminal, the printed page and the web page."""

from __future__ import annotations

import math
from dataclasses import dataclass

from quadsim.analysis.throw import REACTION_S, Throw
from quadsim.contest.people import People
from quadsim.planning.setout import Peg, Setout, crowd_line, length_around
from quadsim.report.numbers import figure

FIRST = "A simulated lap is not a clearance to fly."
CAUTIONS = (
    "The rules of the event and of the country come first: where they ask for more distance, keep more.",
    "Computed for one craft that fails over flat ground, its motors cut: no gusts, slopes, bounces or parts that fly off.",
    "Nobody within the line while a battery is connected; roads, paths and neighbours' ground count as people.",
    "A net holds only what it is made for: ask its maker.",
)
TAPE_WORDS = (
    "Peg by the place along the base line and offset square to it, right positive; check with the tape from O and E. "
    "Left and right as seen in flight; pegs stand under the inner edges of the opening."
)
MATERIAL_WORDS = "Lengths are those of the openings: add what goes into the ground and the joints."


@dataclass(frozen=True)
class Grid:
    """A table in words: title, heads, rows. The first column is words."""

    title: str
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True)
class Sheet:
    """A layout, with how far away people stand."""

    setout: Setout
    people: People

    @property
    def crowd_m(self) -> float:
        """Distance of the people's line from the line of flight [m], up to a whole metre."""
        return float(math.ceil(self.people.throw.distance_m))

    @property
    def rope_m(self) -> float:
        """Length of that line [m], up to a whole metre."""
        return float(math.ceil(length_around(crowd_line(self.people.way, self.crowd_m))))


def summary(sheet: Sheet) -> str:
    """One line under the title."""
    one = sheet.setout
    low, high = one.course.field.low, one.course.field.high
    size = f"field {high[0] - low[0]:g} m x {high[1] - low[1]:g} m, {-low[2]:g} m high"
    lap = "closed" if one.course.closed else "from start to last gate"
    return (
        f"{len(one.frames)} gates, {len(one.course.gates)} passages, {lap}; {size}; base line {one.base:g} m"
    )


def crowd_words(sheet: Sheet) -> tuple[str, ...]:
    """Where people stand, and why there."""
    people = sheet.people
    t = people.throw
    begin = f"{t.speed_m_s:.1f} m/s ({people.speed_from}), {t.height_m:g} m up, {t.wind_m_s:g} m/s of wind behind it"
    fall = f"falls {t.range_m:.0f} m far, worst when it climbs at {t.angle_deg:g} deg"
    return (
        f"People at least {sheet.crowd_m:.0f} m from the line of flight, on every side: {sheet.rope_m:.0f} m of line.",
        *([people.note] if people.note else []),
        f"{people.craft} fails at {begin}: flies on {t.reaction_m:.0f} m in {REACTION_S:g} s of reaction, {fall}.",
        f"Hits with up to {figure(t.impact_energy_J)} J, at {t.impact_speed_m_s:.0f} m/s.",
        *([_runaway(people.runaway)] if people.runaway is not None else []),
    )


def _runaway(t: Throw) -> str:
    return (
        f"Off its line with the stick at its stop it may reach {t.speed_m_s:.0f} m/s and come {math.ceil(t.distance_m)} m: "
        "a person with the switch in hand cuts within the second."
    )


def work_words(sheet: Sheet) -> tuple[str, ...]:
    """The order of work."""
    one, s = sheet.setout, sheet.setout.square
    closing = "Posts, boxes and start" if len(one.others) > 1 else "Start"
    return (
        f"Base line: peg O, then E {one.base:g} m from it in the line's direction. Leave the tape on the ground.",
        f"Right angle at O: mark {s.along:g} m along the line and {s.across:g} m to its right; they are {s.between:g} m apart.",
        f"Corners of the field by place and offset. Both its diagonals are {one.diagonal:.2f} m, or it is not square.",
        "Gates in flying order: peg left and right; two tapes, from O and E, must meet at each peg within 0.1 m.",
        "Frames: edges by the table, both diagonals of the opening alike; number and arrow where it is flown into.",
        f"{closing} by the other pegs.",
        f"Line for people, {sheet.crowd_m:.0f} m from the flight all around. Walk the lap in flying order, then clear the field.",
    )


def gate_grid(one: Setout) -> Grid:
    """A row for each gate in flying order: both pegs, its edges, and the diagonal of its opening."""
    tape = ("offset", "from O", "from E")
    heads = (
        "flown as",
        "gate",
        "heading",
        "left along",
        *tape,
        "right along",
        *tape,
        "lower",
        "upper",
        "width",
        "diagonal",
    )
    rows = [
        (
            ", ".join(map(str, frame.passages)),
            frame.name,
            f"{frame.heading_deg:.0f} deg",
            *_tape(frame.left),
            *_tape(frame.right),
            *(f"{edge:.2f}" for edge in (frame.lower, frame.upper, frame.width, frame.diagonal)),
        )
        for frame in one.frames
    ]
    return Grid("Gates in flying order [m]", heads, tuple(rows))


def peg_grid(one: Setout) -> Grid:
    """Start, posts, boxes and corners of the field."""
    rows = tuple((peg.name, *_tape(peg)) for peg in (*one.others, *one.corners))
    return Grid("Other pegs [m]", ("peg", "along", "offset", "from O", "from E"), rows)


def material_grid(one: Setout) -> Grid:
    """What to bring."""
    rows = tuple(
        (item.what, str(item.count), f"{item.length:.2f}" if item.length else "") for item in one.material
    )
    return Grid("Material", ("what", "how many", "length [m]"), rows)


def _tape(peg: Peg) -> tuple[str, ...]:
    return tuple(f"{value:.2f}" for value in (peg.forward, peg.right, peg.from_origin, peg.from_end))
