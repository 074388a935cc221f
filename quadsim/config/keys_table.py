"""Tables of every key of a schema with unit, range and default, for the READMEs of scenarios.

After a change of a schema, `python -m quadsim.config.keys_table` brings the READMEs of scenarios/ up to date.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any, Literal, get_args, get_origin

from pydantic import BaseModel
from pydantic.fields import FieldInfo
from pydantic_core import PydanticUndefined

from quadsim.config.listing import model_at, quantity_of
from quadsim.config.metric_names import METRIC_NAMES
from quadsim.config.quantity import Triple, Uncertain
from quadsim.errors import InputError, Problem

MARK = "<!-- made by python -m quadsim.config.keys_table; a test compares the two -->"
"""Line of a README below which the tables stand, to its end."""


def write_tables(readme: Path, tables: str) -> None:
    """Put `tables` below the mark of a README."""
    above, mark, _ = readme.read_text(encoding="utf-8").partition(MARK)
    if not mark:
        raise InputError([Problem("", f"{readme} lacks the line {MARK}")])
    readme.write_text(f"{above}{MARK}\n\n{tables}\n", encoding="utf-8")


def keys_table(model: type[BaseModel]) -> str:
    """Markdown: one heading and one table per section of a schema, in file order."""
    return "\n\n".join(_sections(model, "top level"))


def _sections(model: type[BaseModel], heading: str) -> list[str]:
    lines = [f"### {heading}", "", "| key | unit | allowed | default | meaning |", "|---|---|---|---|---|"]
    below: list[str] = []
    for name, field in model.model_fields.items():
        inner = model_at(model, (name,))
        if inner is None or field.description:
            lines.append(_line(name, field))
        if inner is not None:
            prefix = "" if heading == "top level" else heading.strip("`[]") + "."
            brackets = f"[[{prefix}{name}]]" if get_origin(field.annotation) is tuple else f"[{prefix}{name}]"
            below += _sections(inner, f"`{brackets}`")
    own = ["\n".join(lines)] if len(lines) > 4 else [lines[0]]
    return [*own, *below]


def _line(name: str, field: FieldInfo) -> str:
    quantity = quantity_of(field)
    options = get_args(field.annotation) if get_origin(field.annotation) is Literal else ()
    optional = [get_args(part) for part in get_args(field.annotation) if get_origin(part) is Literal]
    options = options or (optional[0] if optional and get_origin(field.annotation) is not dict else ())
    if field.description or quantity is None:
        meaning = field.description or ""
    else:
        meaning = quantity.meaning
    unit = quantity.unit if quantity and quantity.unit != "-" else ""
    allowed = ", ".join(options)
    if quantity:
        many = f"{quantity.count} numbers, each " if isinstance(quantity, Triple) else ""
        allowed = many + ("whole, " if quantity.whole else "") + quantity.range_text.removesuffix(f" {unit}")
    return f"| `{name}` | {unit} | {allowed} | {_default(field)} | {meaning} |"


def _default(field: FieldInfo) -> str:
    value: Any = field.default
    if value is PydanticUndefined:
        return "required"
    if isinstance(value, Uncertain):
        return f"{value:g}" + (f" ± {value.sigma:g}" if value.sigma else "")
    if isinstance(value, bool):
        return str(value).lower()
    if value is None or value in ("", (), {}):
        return "-"
    return str(list(value)) if isinstance(value, tuple) else str(value)


def metrics_table() -> str:
    """Markdown table of the metrics that a flight may expect something of."""
    lines = ["### metrics", "", "| metric | unit | meaning |", "|---|---|---|"]
    return "\n".join(
        lines + [f"| `{name}` | {unit} | {about} |" for name, (unit, about) in METRIC_NAMES.items()]
    )


if __name__ == "__main__":
    from quadsim.config.contest_schema import Contest
    from quadsim.config.course_schema import CourseFile
    from quadsim.config.craft_schema import Craft
    from quadsim.config.find_data import library
    from quadsim.config.flight_schema import FlightFile
    from quadsim.config.parts_schema import Catalogue
    from quadsim.config.stick_device import StickDevice

    write_tables(library() / "crafts" / "README.md", keys_table(Craft))
    write_tables(library() / "sticks" / "README.md", keys_table(StickDevice))
    write_tables(library() / "flights" / "README.md", f"{keys_table(FlightFile)}\n\n{metrics_table()}")
    write_tables(library() / "parts" / "README.md", keys_table(Catalogue))
    write_tables(library() / "contests" / "README.md", keys_table(Contest))
    write_tables(library() / "courses" / "README.md", keys_table(CourseFile))
