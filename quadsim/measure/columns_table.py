"""Tables of the columns of every kind, for scenarios/bench/README.md.

After a change of columns, `python -m quadsim.measure.columns_table` brings that README up to date.
"""

from __future__ import annotations

from quadsim.config.find_data import library
from quadsim.config.keys_table import write_tables
from quadsim.measure.columns import Column
from quadsim.measure.kinds import KINDS


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
    write_tables(library() / "bench" / "README.md", columns_tables())
