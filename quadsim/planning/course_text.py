"""A course plan as a TOML file: read, written, saved; and what is wrong with it, thing by thing."""

from __future__ import annotations

import re
from collections.abc import Iterator, Set
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from quadsim.config.course_rules import RULES
from quadsim.config.course_schema import CourseFile, parse_course
from quadsim.config.find_data import find_file, library
from quadsim.config.listing import checked
from quadsim.config.toml_reader import read_toml
from quadsim.errors import InputError, Problem
from quadsim.planning.course_comments import NONE, TOP, Comments, comments_of, with_comments
from quadsim.planning.course_plan import (
    COURSE,
    FIELD,
    START,
    BoxPlan,
    Chosen,
    CoursePlan,
    FieldPlan,
    GatePlan,
    PostPlan,
    StartPlan,
)
from quadsim.whole_file import whole_file

NEW_FIELD = FieldPlan((-10.0, 60.0), (-30.0, 30.0), 20.0)
NEW_CLEARANCE_M = 0.3
"""Of a course that begins empty; assumed."""
QUOTED = "(?:'.*'|\".*\")"
SAID = (
    (f"^puts {QUOTED}", "reaches"),
    (f"^lets {QUOTED} cut through", "cuts through"),
    (f"in the opening of {QUOTED}$", "in its opening"),
)
"""Findings of the schema that name their thing, and what is left where it is named already."""


@dataclass(frozen=True)
class Fault:
    """What is wrong with a thing of the course, as a sentence without its name."""

    chosen: Chosen
    text: str


@dataclass(frozen=True)
class CourseSource:
    """Where a course came from.

    path : the file it is saved to; None for a shipped course, which is never written over
    stem : its name without folder and suffix
    header : the comments it begins with
    comments : the others, which are written again with what they belong to
    """

    plan: CoursePlan
    path: Path | None
    stem: str
    header: str
    comments: Comments = NONE


def open_course(path_or_name: str | Path) -> CourseSource:
    """A course to be laid out: a shipped one by its name, a file, or an empty one where the .toml file does not exist yet.

    Raises
    ------
    InputError
        for a file that is no course: keys, numbers or names that are not allowed. Gates in the wrong place are no
        error here; `faults` lists them.
    """
    path = Path(path_or_name).expanduser()
    if path.suffix == ".toml" and not path.exists() and path.parent.is_dir():
        return CourseSource(_empty(path.stem), path, path.stem, "")
    found = find_file(path_or_name, "courses")
    document = read_toml(found)
    file = checked(CourseFile, document)
    if any(path[0] == "order" or path[-1] == "name" for _, rule in RULES for path, *_ in rule(file)):
        checked(CourseFile, document, RULES)  # raises: without names of their own things cannot be told apart
    plan = plan_of(file)
    own = None if found.resolve().is_relative_to(library().resolve()) else found
    header = _header(document.text)
    return CourseSource(plan, own, found.stem, header, comments_of(document.text, header))


def plan_of(file: CourseFile) -> CoursePlan:
    """The plan of a checked file."""
    gates = tuple(GatePlan(**one.model_dump()) for one in file.gate)
    return CoursePlan(
        name=file.name,
        gates=gates,
        order=file.order or tuple(gate.name for gate in gates),
        posts=tuple(PostPlan(**one.model_dump()) for one in file.post),
        boxes=tuple(BoxPlan(**one.model_dump()) for one in file.box),
        start=StartPlan(**file.start.model_dump()),
        field=FieldPlan(**file.field.model_dump()),
        closed=file.closed,
        laps=file.laps,
        clearance_m=file.clearance_m,
        about=file.about,
    )


def data_of(plan: CoursePlan) -> dict[str, Any]:
    """The plan as the tables of a file, in the order in which they are written."""
    data: dict[str, Any] = {"name": plan.name}
    if plan.about:
        data["about"] = plan.about
    data |= {"closed": plan.closed, "laps": plan.laps, "clearance_m": plan.clearance_m}
    if plan.order != tuple(gate.name for gate in plan.gates):
        data["order"] = plan.order
    data |= {"field": asdict(plan.field), "start": asdict(plan.start)}
    for key, row in (("gate", plan.gates), ("post", plan.posts), ("box", plan.boxes)):
        if row:
            data[key] = [asdict(one) for one in row]
    return data


def text_of(plan: CoursePlan, header: str = "", comments: Comments = NONE) -> str:
    """The plan as TOML, below the comments of `header`, with those of `comments` where they belong."""
    data, above = data_of(plan), comments.of(TOP)
    if above.noted & {"order"}:
        data.setdefault("order", plan.order)
    top = {key: value for key, value in data.items() if not isinstance(value, dict | list)}
    blocks = [with_comments(above, "", _lines(top))]
    for key, value in data.items():
        if isinstance(value, dict):
            notes = comments.of(key)
            blocks.append(with_comments(notes, f"[{key}]", _lines(value, notes.noted)))
        elif isinstance(value, list):
            names = [one["name"] for one in value]
            blocks += [
                with_comments(comments.of(key, k, one["name"], names), f"[[{key}]]", _lines(one))
                for k, one in enumerate(value)
            ]
    blocks += [list(comments.foot)] if comments.foot else []
    return header + "\n\n".join("\n".join(block) for block in blocks) + "\n"


def faults(plan: CoursePlan) -> tuple[Fault, ...]:
    """What keeps the plan from being a course that may be flown, by the rules of the file's schema."""
    if not plan.gates:
        return (Fault(COURSE, "has no gate yet"),)
    file = CourseFile.model_validate(data_of(plan))
    found = [finding for _, rule in RULES for finding in rule(file)]
    return tuple(Fault(_thing(path), _words(path, given, allowed)) for path, given, allowed, _ in found)


def save_course(plan: CoursePlan, source: CourseSource, folder: Path) -> CourseSource:
    """Write the plan to the file it came from; a shipped course goes into `folder` under a name that is free.

    Raises
    ------
    InputError
        when the plan is no course that can be read back.
    FlightError
        when the file cannot be written.
    """
    text = text_of(plan, source.header, source.comments)
    if not plan.gates:
        raise InputError([Problem("", "the course has no gate yet", "", "Place one and save again")])
    parse_course(text, source.stem)
    path = source.path or _free_path(folder, source.stem)
    with whole_file(path) as part:
        part.write_text(text, encoding="utf-8")
    return CourseSource(plan, path, path.stem, source.header, comments_of(text, source.header))


def _free_path(folder: Path, stem: str) -> Path:
    """`stem_2.toml`, `stem_3.toml`, ..., the first that is not there."""
    number = 2
    while (path := folder / f"{stem}_{number}.toml").exists():
        number += 1
    return path


def _empty(stem: str) -> CoursePlan:
    name = stem.replace("_", " ").strip() or "course"
    start = StartPlan(0.0, 0.0, 0.0, 0.0)
    return CoursePlan(name[0].upper() + name[1:], (), (), (), (), start, NEW_FIELD, False, 1, NEW_CLEARANCE_M)


def _header(text: str) -> str:
    """The comments a file begins with."""
    kept = []
    for line in text.splitlines():
        if line.strip() and not line.lstrip().startswith("#"):
            break
        kept.append(line.rstrip())
    while kept and not kept[-1]:
        kept.pop()
    return "\n".join(kept) + "\n" if kept else ""


def _lines(table: dict[str, Any], noted: Set[str] = frozenset()) -> Iterator[str]:
    for key, value in table.items():
        if key == "net" and not value and key not in noted:
            continue
        yield f"{key} = {_value(value)}"


def _value(value: Any) -> str:
    """A value as TOML; a whole number without a point."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return _quoted(value)
    if isinstance(value, tuple):
        return "[" + ", ".join(_value(part) for part in value) + "]"
    return str(int(value)) if value == int(value) and abs(value) < 1e15 else repr(float(value))


def _quoted(text: str) -> str:
    """A basic string of TOML 1.0."""
    escapes = {"\\": "\\\\", '"': '\\"', "\n": "\\n", "\t": "\\t", "\r": "\\r"}
    return '"' + "".join(escapes.get(c) or (c if c.isprintable() else f"\\U{ord(c):08x}") for c in text) + '"'


def _thing(path: tuple[str | int, ...]) -> Chosen:
    """What a key path belongs to."""
    kind = str(path[0])
    if kind in ("gate", "post", "box") and len(path) > 1:
        return Chosen(kind, int(path[1]))
    return {"field": FIELD, "start": START}.get(kind, COURSE)


def _words(path: tuple[str | int, ...], given: str, allowed: str) -> str:
    """A finding as a sentence without the thing's name: `forward is 90; must lie ...`, `reaches 0.1 m into the ground; ...`."""
    key = str(path[-1])
    if given.startswith("is ") and key.endswith(("_m", "_deg")):
        given = f"{key.removesuffix('_m').removesuffix('_deg')} {given}"
    for named, said in SAID:
        given = re.sub(named, said, given)
    return f"{given}; {allowed}"
