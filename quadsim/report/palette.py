"""Colours of our sheets, the same meanings as on the screen: blue flown, ochre wanted, vermilion alarm, teal wind.

Blue against orange-red keeps apart for all three kinds of colour blindness (M. Okabe, K. Ito, Color Universal Design,
2008). No meaning rests on hue alone: what is wanted is thinner, an alarm also has a word.
"""

from __future__ import annotations

from typing import Any

PAPER = "#ffffff"
CARD = "#f4f1e9"
RULE = "#d6d0c2"
INK = "#18212c"
INK_SOFT = "#545d66"
FLOWN = "#18569e"
WANTED = "#b87c08"
ALARM = "#c42614"
ALARM_PALE = "#f6d0c8"
WIND = "#007070"
REAR = "#5c6874"
"""Rear rotors; the front pair has the colour of what was flown, as in the viewer."""

SETTINGS: Any = {
    "font.family": "DejaVu Sans",
    "font.size": 7.5,
    "text.color": INK,
    "axes.edgecolor": RULE,
    "axes.linewidth": 0.6,
    "axes.labelcolor": INK_SOFT,
    "axes.facecolor": PAPER,
    "axes.axisbelow": True,
    "axes.grid": True,
    "grid.color": RULE,
    "grid.linewidth": 0.4,
    "xtick.color": INK_SOFT,
    "ytick.color": INK_SOFT,
    "xtick.labelsize": 7.0,
    "ytick.labelsize": 7.0,
    "xtick.major.size": 2.5,
    "ytick.major.size": 0.0,
    "ytick.major.pad": 3.0,
    "lines.solid_capstyle": "round",
    "lines.solid_joinstyle": "round",
    "path.simplify": True,
    "path.simplify_threshold": 0.2,
    "svg.fonttype": "none",
    "pdf.fonttype": 42,
}
"""matplotlib's settings for a sheet; DejaVu Sans ships with matplotlib."""
