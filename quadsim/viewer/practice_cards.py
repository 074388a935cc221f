"""Cards over the practice scene: countdown, end of an attempt, aids, keys."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from quadsim.practice.aids import AIDS, Aids
from quadsim.practice.ghost import Ghost
from quadsim.practice.lap_watch import Lap
from quadsim.practice.practice_flight import PracticeFlight
from quadsim.viewer import palette
from quadsim.viewer.canvas import Canvas
from quadsim.viewer.cards import key_list, paper
from quadsim.viewer.fonts import BODY, LABEL, STRONG, VALUE, Style
from quadsim.viewer.layout import Layout, Rect
from quadsim.viewer.practice_panels import signed

COUNT = Style(64, bold=True)
AID_KEYS = {"marker": "N", "ghost": "G", "slow": "O", "calm": "U", "forgiving": "F"}
HEAD, ROW = 44, 28
FLYING = (
    ("R", "restart at once (gamepad button 1)"),
    ("Space", "after the end: again; or click restart"),
    ("P", "pause, go on; or click the clock (button 5)"),
    ("V  1 2 3", "view: camera, pilot's place, chase (button 2)"),
    ("M", "response: height, attitude, rate, position (button 3)"),
    ("Tab", "training aids: ↑ ↓ and Enter, or click (button 4)"),
    ("N G O U F", "one aid each: see the list of aids"),
    ("C", "calibrate radio or gamepad (button 7)"),
    ("E", "lay the course out; F there flies it, Q here goes back (button 6)"),
    ("0  Mouse", "look straight (button 9); drag to look around, wheel to zoom"),
    ("H  ?", "this card; or click it above (button 8)"),
    ("Q  Esc", "quit; or close the window"),
)
STICK_KEYS = (
    ("W S", "throttle up, down"),
    ("A D", "yaw left, right"),
    ("I K", "pitch forward, back"),
    ("J L", "roll left, right"),
)
RULES = (
    "Fly through the gates in order, the way the chevrons point. The clock runs from the first gate (closed course)",
    "or from the start signal. A missed gate stays the next one. Frames, posts, boxes and the edge end the attempt.",
    "A lap with slow motion, wind off or a set-back is kept, but is never the best one.",
)


@dataclass(frozen=True)
class EndCard:
    """What is said at the end of an attempt."""

    title: str
    lines: Sequence[tuple[str, str, str]]
    """Label, value, difference."""
    good: bool
    foot: str


def end_lines(laps: list[Lap], ghost: Ghost | None, flight: PracticeFlight) -> list[tuple[str, str, str]]:
    """Laps when there are several, else the splits of the one flown or begun."""
    if len(laps) > 1:
        return [
            (f"lap {lap.number}" + (f", missed {lap.misses}" if lap.misses else ""), f"{lap.time_s:.2f} s",
             signed(lap.time_s - ghost.time_s) if ghost else "")
            for lap in laps
        ]  # fmt: skip
    splits = laps[0].splits_s if laps else flight.watch.splits_s
    names = [
        f"gate {k}" + (f"  {gate.name}" if gate.name != str(k) else "")
        for k, gate in enumerate(flight.course.gates, start=1)
    ]
    if flight.course.closed and laps:
        names.append("lap")
    lines = []
    for k, split in enumerate(splits):
        lost = ghost.difference_s(k, split) if ghost else None
        lines.append((names[k], f"{split:.2f} s", signed(lost) if lost is not None else ""))
    if flight.closest_m < 99.0 and not flight.struck:
        lines.append(("closest to a frame or post", f"{flight.closest_m:.2f} m", ""))
    return lines


def draw_count(canvas: Canvas, layout: Layout, words: str, note: str) -> None:
    """The countdown: a number in the middle, a line below it."""
    scene, px = layout.panels["scene"], layout.px
    middle, y = scene.x + scene.w // 2, scene.y + round(0.34 * scene.h)
    wide = max(px(150), canvas.measure(note, BODY)[0] + px(40))
    card = Rect(middle - wide // 2, y - px(56), wide, px(118))
    paper(canvas, layout.px, card)
    canvas.text((middle, y - px(8)), words, COUNT, palette.INK, anchor="cc")
    canvas.text((middle, card.bottom - px(10)), note, BODY, palette.INK_SOFT, anchor="sc")


def draw_end(canvas: Canvas, layout: Layout, end: EndCard) -> None:
    """How the attempt ended, its laps or its splits."""
    px, room = layout.px, layout.insets["card"]
    fitting = (room.h - px(HEAD + 50)) // px(20)
    lines = list(end.lines)[:fitting]
    high = px(HEAD) + len(lines) * px(20) + px(42)
    card = Rect(room.x, room.y + (room.h - high) // 3, room.w, high)
    paper(canvas, layout.px, card)
    tone = palette.FLOWN if end.good else palette.ALARM
    canvas.fill(tone, Rect(card.x, card.y + px(8), px(4), card.h - px(16)))
    x = card.x + px(22)
    room_x = card.w - px(40)
    style = VALUE if canvas.measure(end.title, VALUE)[0] <= room_x else STRONG
    canvas.text((x, card.y + px(12)), end.title, style, tone, width=room_x)
    for k, (label, value, lost) in enumerate(lines):
        y = card.y + px(HEAD) + k * px(20)
        canvas.fill(palette.RULE, Rect(x, y - px(3), card.w - px(44), 1))
        canvas.text((x, y), label, LABEL, palette.INK, width=px(200))
        canvas.text((card.x + px(310), y), value, STRONG, palette.INK, anchor="ne")
        canvas.text((card.right - px(24), y), lost, LABEL, palette.ALARM if lost.startswith("+") else palette.INK,
                    anchor="ne")  # fmt: skip
    canvas.text(
        (x, card.bottom - px(14)), end.foot, BODY, palette.INK_SOFT, anchor="sw", width=card.w - px(40)
    )


def aid_row(layout: Layout, number: int) -> Rect:
    """Where one aid stands on the card of aids, to be clicked."""
    box, px = layout.insets["aids"], layout.px
    return Rect(box.x + px(8), box.y + px(HEAD) + number * px(ROW), box.w - px(16), px(ROW))


def draw_aids(canvas: Canvas, layout: Layout, aids: Aids, chosen: int, ghost: str) -> None:
    """The aids, each with a box that is ticked when it is on."""
    box, px = layout.insets["aids"], layout.px
    paper(canvas, layout.px, box)
    canvas.text((box.x + px(18), box.y + px(12)), "Training aids", VALUE, palette.INK)
    for k, (name, words) in enumerate(AIDS.items()):
        row = aid_row(layout, k)
        if k == chosen:
            canvas.card(palette.PAPER, row, px(4))
        middle, side = row.y + row.h // 2, px(12)
        square = Rect(row.x + px(10), middle - side // 2, side, side)
        canvas.frame(palette.INK, square, max(1, px(1.5)))
        if getattr(aids, name):
            canvas.fill(palette.INK, square.inset(px(3)))
        said = ghost if name == "ghost" else words
        canvas.text((row.x + px(32), middle), said, BODY, palette.INK, anchor="cw", width=row.w - px(64))
        canvas.text((row.right - px(10), middle), AID_KEYS[name], STRONG, palette.INK_SOFT, anchor="ce")


def draw_keys(canvas: Canvas, layout: Layout) -> None:
    """Every key with what it does, and the rules of a lap."""
    px, card = layout.px, layout.help
    paper(canvas, layout.px, card)
    x, y = card.x + px(26), card.y + px(18)
    canvas.text((x, y), "Practice", VALUE, palette.INK)
    at, right = (x, y + px(40)), (x + px(490), y + px(40))
    below = key_list(canvas, px, at, px(470), "Keys and buttons", FLYING, column=84, row=22) + px(10)
    key_list(canvas, px, right, px(280), "Sticks without a device", STICK_KEYS, column=84, row=22)
    canvas.text((x, below), "Rules", STRONG, palette.FLOWN)
    for k, line in enumerate(RULES):
        canvas.text((x, below + px(24) + k * px(20)), line, LABEL, palette.INK_SOFT, width=card.w - px(52))
    foot = "Radio or gamepad: axes 1 to 4 are roll, pitch, throttle, yaw until C calibrates them. One lost in flight pauses it."
    canvas.text((x, below + px(90)), foot, LABEL, palette.INK_SOFT, width=card.w - px(52))
