"""The card of keys on the layout screen; every one has its way by mouse."""

from __future__ import annotations

from quadsim.viewer import palette
from quadsim.viewer.canvas import Canvas
from quadsim.viewer.cards import key_list, paper
from quadsim.viewer.fonts import VALUE
from quadsim.viewer.plan_layout import PlanLayout

VEIL = 150
"""How far the map steps back behind the card, of 255."""

MOUSE = (
    ("Drag a thing", "move it; round knob turns, squares size"),
    ("+ Gate", "press where it stands, drag to aim it"),
    ("Drag ground", "move the map; the wheel zooms"),
    ("Wheel", "over a chosen gate turns it, over a number changes it"),
    ("Heights", "drag a bar up or down, an end of it to make the opening taller"),
    ("Click", "ground: the course itself; its edge: the limits"),
    ("Gamepad", "stick or hat moves it; buttons 1 2 choose the next, the one before, 3 4 turn it,"),
    ("", "5 next row of the panel, 6 7 its number up, down, 8 undo, 9 save, 10 fly, 11 this card"),
)
THINGS = (
    ("← ↑ ↓ →", "move by a grid step"),
    ("[  ]", "turn left, right"),
    ("PgUp PgDn", "higher, lower"),
    ("T", "turn a gate round"),
    ("C", "copy a gate"),
    ("E  L", "earlier, later in the order"),
    ("A  D", "fly it once more, once less"),
    ("Del  Bksp", "remove"),
    (",  .", "choose the one before, the next"),
)
SCREEN = (
    ("G  P  B", "place a gate, post, box"),
    ("Tab", "next row of the panel"),
    ("+  −", "change it; without a row: zoom"),
    ("0 to 9", "type into it; Enter keeps, Esc drops"),
    ("Z  Y", "undo, redo"),
    ("N  O", "snap to grid and neighbours; fit all in"),
    ("S  F", "save, fly at once"),
    ("H  ?", "this card"),
    ("Q  Esc", "leave; Esc goes a step back first"),
)


def draw_plan_help(canvas: Canvas, layout: PlanLayout) -> None:
    """Draw the card over the map."""
    px, card = layout.px, layout.help
    canvas.veil(palette.PAPER, VEIL, layout.map)
    paper(canvas, px, card)
    x, y = card.x + px(24), card.y + px(14)
    canvas.text((x, y), "Mouse and keys", VALUE, palette.INK)
    whole = card.w - px(48)
    y = key_list(canvas, px, (x, y + px(32)), whole, "Mouse and gamepad", MOUSE, column=112, row=19)
    half = whole // 2
    key_list(canvas, px, (x, y + px(6)), half - px(8), "What is chosen", THINGS, column=84, row=19)
    key_list(canvas, px, (x + half, y + px(6)), half, "Screen", SCREEN, column=66, row=19)
