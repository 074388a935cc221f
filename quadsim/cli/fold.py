"""Lines that fit the terminal: folded where somebody reads them there, whole in a pipe or a file."""

from __future__ import annotations

import re
import shutil
import sys

NARROWEST = 40
"""Letters below which nothing is folded."""
STEP = 2
"""How far a line that goes on stands further in."""
_LOOK = re.compile(r"\x1b\[[0-9;]*m")


def room() -> int | None:
    """Letters of a line of the terminal; None where stdout is none, or one that is no use."""
    if not sys.stdout.isatty():
        return None
    columns = shutil.get_terminal_size().columns
    return columns if columns >= NARROWEST else None


def shown_length(text: str) -> int:
    """Letters that are seen, without the codes of looks."""
    return len(_LOOK.sub("", text))


def folded(text: str, width: int, hang: int | None = None) -> str:
    """The text with lines broken between words; hang : where a line goes on, its own indent and a step when None."""
    return "\n".join(_folded_line(line, width, hang) for line in text.split("\n"))


def _folded_line(line: str, width: int, hang: int | None) -> str:
    if shown_length(line) <= width:
        return line
    start = len(line) - len(line.lstrip(" "))
    onward = " " * (start + STEP if hang is None else hang)
    lines, now = [], ""
    for gap, word in re.findall(r"( *)([^ ]+)", line):
        longer = now + gap + word
        if shown_length(longer) > width and now.strip():
            lines.append(now)
            longer = onward + word
        now = longer
    return "\n".join([*lines, now])
