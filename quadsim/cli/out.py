"""What commands print: text in our look, or one JSON document."""

from __future__ import annotations

import json
import math
import os
import textwrap
from collections.abc import Mapping, Sequence
from pathlib import PurePath
from typing import Any

import typer

from quadsim.cli.fold import folded, room

INTERRUPTED = 130
"""Exit status after Ctrl-C, the shells' 128 + SIGINT, whatever was known by then and printed."""

STYLES: dict[str, dict[str, Any]] = {
    "": {},
    "title": {"bold": True},
    "soft": {"dim": True},
    "good": {"fg": "blue", "bold": True},
    "bad": {"fg": "red", "bold": True, "reverse": True},
    "caution": {"fg": "yellow", "bold": True},
}
"""Looks by role. A word always says the same as the colour, and blue against red keeps apart for colour-blind eyes."""


def status_of(good: bool, stopped: bool) -> int:
    """The exit status of a command that did its work: 130 where Ctrl-C cut it off, else 0, or 1 where it is no pass."""
    return INTERRUPTED if stopped else 0 if good else 1


def styled(text: str, style: str) -> str:
    """Text in the look of a role; plain where the user asks for no colour (https://no-color.org)."""
    if not text or not STYLES[style] or os.environ.get("NO_COLOR"):
        return text
    return typer.style(text, **STYLES[style])


def say(text: str = "", style: str = "") -> None:
    """Print a line of the result; on a terminal a long one goes on below, a little further in."""
    width = room()
    typer.echo(styled(folded(text, width) if width else text, style))


def say_prose(lines: Sequence[str], style: str = "") -> None:
    """Print sentences set in lines by hand, indented by two; where those are wider than the terminal they are set anew."""
    width = room()
    if width and max(map(len, lines), default=0) + 2 > width:
        lines = textwrap.wrap(" ".join(lines), width - 2)
    for line in lines:
        say(f"  {line}", style)


def tell(text: str) -> None:
    """Print a line that is not part of the result: progress and warnings."""
    typer.echo(text, err=True)


def print_json(document: Mapping[str, Any]) -> None:
    """Print a document; JSON has neither NaN nor infinity, so both become null."""
    typer.echo(json.dumps(_plain(document), indent=2, allow_nan=False))


def _plain(value: Any) -> Any:
    """The value made of what JSON knows."""
    if isinstance(value, Mapping):
        return {str(key): _plain(item) for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        return [_plain(item) for item in value]
    if hasattr(value, "tolist"):  # numpy
        return _plain(value.tolist())
    if isinstance(value, float):
        return float(value) if math.isfinite(value) else None
    return str(value) if isinstance(value, PurePath) else value


def counted(number: int, noun: str) -> str:
    """`1 step`, `40 001 steps`."""
    return f"{number:,}".replace(",", " ") + f" {noun}" + ("" if number == 1 else "s")
