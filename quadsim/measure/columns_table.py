"""Tables of the columns of every kind, for scenarios/bench/README.md.

After a change of columns, `python -m quadsim.measure.columns_table` brings that README up to date.
"""

from __future__ import annotations

from pathlib import Path

from quadsim.config.find_data import library
from quadsim.measure.columns import Column
from quadsim.measure.kinds import KINDS

MARK = "<!-- made by python -m quadsim.measure.columns_table; a test compares the two -->"
"""Line of the README below which the tables stand, to its end."""


def write_readme(path: Path) -> None:
    """Put the tables below the mark of a README."""
    above, _, _ = path.read_text(encoding="utf-8").partition(MARK)
    path.write_text(f"{above}{MARK}\n\n{columns_tables()}\n", encoding="utf-8")


def columns_tables() -> str:
    """Markdown: one heading and one table per kind."""
    blocks = []
    for name, kind in KINDS.items():
        lines = [f"### `quadsim measure {name}`", "", f"Gives {kind.gives}.", ""]
        lines += ["| column | unit | allowed | needed | also as | meaning |", "|---|---|---|---|---|---|"]
        blocks.append("\n".join([*lines, *(_line(column) for column in kind.columns)]))
    return "\n\n".join(blocks)


def _line(column: Column) -> str:
    allowed = ", ".join(column.words) if column.words else f"{column.low:g} to {column.high:g}"
    unit = "" if column.unit == "-" else column.unit
    also = ", ".join(f"`{name}`" for name, _ in column.also)
    needed = "yes" if column.required else ""
    return f"| `{column.name}` | {unit} | {allowed} | {needed} | {also} | {column.meaning} |"


if __name__ == "__main__":
    write_readme(library() / "bench" / "README.md")
