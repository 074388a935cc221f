"""The colours of the viewer, and why these.

A light sheet with dark ink reads outdoors, where a laptop competes with daylight. Three hues carry meaning and nothing
else is coloured: blue is what was flown, ochre what was wanted, vermilion an alarm; teal marks the wind. Blue against
orange-red is the pair that all three kinds of colour blindness keep apart (M. Okabe, K. Ito, Color Universal Design,
2008), so neither red nor green decides anything. No meaning rests on hue alone: the wanted line is thinner, an alarm
also changes shape and thickness, a verdict also carries a mark and a word.

Tests check the contrast of text and lines (WCAG 2.1, success criteria 1.4.3 and 1.4.11) and the distance between the
meaning-bearing hues as a colour-blind user sees them.
"""

from __future__ import annotations

Colour = tuple[int, int, int]

PAPER: Colour = (244, 241, 233)
"""Panels."""
CARD: Colour = (252, 251, 247)
"""Plot areas and cards."""
RULE: Colour = (214, 208, 194)
"""Thin rules and plot grids; decoration, carries no meaning."""
INK: Colour = (24, 33, 44)
"""Values and titles."""
INK_SOFT: Colour = (84, 93, 102)
"""Labels and units."""
DIM: Colour = (172, 170, 162)
"""What is switched off."""

FLOWN: Colour = (24, 86, 158)
WANTED: Colour = (184, 124, 8)
ALARM: Colour = (196, 38, 20)
WIND: Colour = (0, 112, 112)
FLOWN_PALE: Colour = (197, 214, 232)
"""Area below a flown line."""
ALARM_PALE: Colour = (246, 208, 200)
"""Area of a time in saturation."""

SKY_LOW: Colour = (238, 240, 236)
SKY_HIGH: Colour = (190, 208, 220)
GROUND_FAR: Colour = (232, 229, 218)
GROUND_NEAR: Colour = (208, 203, 186)
HORIZON: Colour = (176, 178, 170)
GRID_FINE: Colour = (182, 176, 157)
GRID_MAIN: Colour = (146, 141, 124)
GRID_ORIGIN: Colour = (104, 104, 98)
SHADOW: Colour = (160, 155, 139)
TRAIL_OLD: Colour = (150, 166, 184)
DROP_LINE: Colour = (98, 98, 92)

HULL: tuple[Colour, ...] = ((108, 120, 131), (130, 141, 150), (90, 102, 114))
"""Parts of the craft."""
BATTERY: Colour = (186, 164, 120)
PAYLOAD: Colour = (64, 128, 126)
ROTOR_REAR: Colour = (92, 104, 116)
"""Rear rotors; the front pair is drawn in FLOWN so that the nose is found at a glance."""

GATE: Colour = (72, 84, 96)
"""Frame of a gate from the side it is flown from."""
GATE_FAR: Colour = (122, 126, 128)
"""The same from behind."""
POST: Colour = (128, 106, 78)
EDGE: Colour = (120, 112, 92)
"""Edge of the flying space."""


def mix(a: Colour, b: Colour, share: float) -> Colour:
    """Colour between `a` (share 0) and `b` (share 1)."""
    s = min(max(share, 0.0), 1.0)
    return (
        round(a[0] + (b[0] - a[0]) * s),
        round(a[1] + (b[1] - a[1]) * s),
        round(a[2] + (b[2] - a[2]) * s),
    )


def shade(colour: Colour, light: float) -> Colour:
    """Colour under a light of relative strength `light` (1 leaves it as it is)."""
    r, g, b = colour
    return min(255, round(r * light)), min(255, round(g * light)), min(255, round(b * light))
