"""Type scale of the viewer and the files its letters come from.

The letters are DejaVu Sans, which matplotlib ships (a dependency, so no font of the system is needed); where that file
is missing pygame's own default font serves.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from importlib.util import find_spec
from pathlib import Path


@dataclass(frozen=True)
class Style:
    """A step of the type scale: height of the letters in pixels on a 1280 x 720 frame."""

    size_px: int
    bold: bool = False


CLOCK = Style(24, bold=True)
VALUE = Style(19, bold=True)
TITLE = Style(16, bold=True)
BODY = Style(12)
STRONG = Style(12, bold=True)
LABEL = Style(11)
SMALL = Style(10)
TINY = Style(9)


@cache
def font_file(bold: bool) -> Path | None:
    """Path of the font file, None when it is missing. Finds matplotlib's folder without importing it."""
    spec = find_spec("matplotlib")
    if spec is None or spec.origin is None:
        return None
    name = "DejaVuSans-Bold.ttf" if bold else "DejaVuSans.ttf"
    path = Path(spec.origin).parent / "mpl-data" / "fonts" / "ttf" / name
    return path if path.is_file() else None
