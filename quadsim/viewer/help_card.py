"""The help card: every key, in two columns."""

from __future__ import annotations

from quadsim.viewer import palette
from quadsim.viewer.canvas import Canvas
from quadsim.viewer.cards import key_list, paper
from quadsim.viewer.fonts import VALUE
from quadsim.viewer.layout import Layout

WATCH = (
    ("Space", "play, pause; click the clock (button 1)"),
    ("←  →", "a log row back, on; wheel on the time bar"),
    ("↑  ↓", "a second on, back; drag the time bar"),
    ("+  −", "faster, slower; wheel on the clock"),
    ("0", "real time; click the pace"),
    ("Home  End", "start, end (live: now); drag the time bar"),
    (",  .", "event before, event after (buttons 5, 6)"),
    ("V", "verdict; click it above (button 7)"),
)
LOOK = (
    ("1  2", "chase camera, from the take-off point"),
    ("3  4", "on board, from above with north up"),
    ("C", "next camera; click its name (button 2)"),
    ("Mouse", "drag to look around, wheel to zoom"),
    ("R", "look straight again (button 9)"),
    ("H  ?", "this card; click it (button 8)"),
    ("Esc", "close this card; quit"),
    ("Q", "quit; close the window"),
)
FLY = (
    (
        "T",
        "take the sticks, in height hold; click them (button 3). Axes 1 to 4 are roll, pitch, throttle, yaw",
    ),
    ("W S  A D", "throttle, yaw"),
    ("I K  J L", "pitch forward and back, roll left and right"),
    ("M", "response: height hold, attitude, rate, position hold; click the sticks (button 4)"),
    (
        "G",
        "gains (button 10): drag one, or ↑ ↓ choose, ← → change; Tab next block, Backspace as the craft file",
    ),
)


def draw_help(canvas: Canvas, layout: Layout, live: bool) -> None:
    """Draw the card over the scene."""
    px, card = layout.px, layout.help
    paper(canvas, px, card)
    x, y = card.x + px(26), card.y + px(18)
    canvas.text((x, y), "Keys, mouse and gamepad", VALUE, palette.INK)
    half, top = (card.w - px(52)) // 2, y + px(36)
    below = key_list(canvas, px, (x, top), half, "Time", WATCH, column=96, row=23)
    key_list(canvas, px, (x + half + px(8), top), half - px(8), "View", LOOK, column=70, row=23)
    title = "Sticks" if live else "Sticks (in a live flight: quadsim watch FLIGHT)"
    key_list(canvas, px, (x, below + px(10)), 2 * half, title, FLY, column=96, row=23)
