"""Picture files: which kinds we draw, and how a figure gets into one."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import matplotlib
from matplotlib.figure import Figure

from quadsim.errors import InputError, Problem
from quadsim.report import palette
from quadsim.whole_file import whole_file

DPI = 160
SUFFIXES = (".png", ".pdf", ".svg")


def checked_suffix(path: Path, option: str = "--out") -> Path:
    """The path that this option named, if its suffix names a kind of picture that we draw.

    Raises
    ------
    InputError
        for any other suffix.
    """
    if path.suffix.lower() not in SUFFIXES:
        given = f"{path.name!r} ends in {path.suffix or 'nothing'}"
        raise InputError([Problem(option, given, f"must end in {', '.join(SUFFIXES)}")])
    return path


def save_picture(make: Callable[[], Figure], path: Path) -> Path:
    """Make a figure with our settings and write it into a picture file.

    Raises
    ------
    InputError
        when the suffix names no kind of picture.
    FlightError
        when the file cannot be written.
    """
    checked_suffix(path)
    with whole_file(path) as part, matplotlib.rc_context(palette.SETTINGS):
        make().savefig(part, dpi=DPI, facecolor=palette.PAPER)
    return path
