"""Title line, tools and panel of the layout screen: words, rows of numbers, buttons, what is wrong."""

from __future__ import annotations

from quadsim.viewer import palette
from quadsim.viewer.canvas import Canvas
from quadsim.viewer.fonts import BODY, LABEL, SMALL, STRONG, TITLE, VALUE, Style
from quadsim.viewer.layout import Rect
from quadsim.viewer.palette import Colour, mix
from quadsim.viewer.plan_layout import TOOLS, WORDS, PlanLayout
from quadsim.viewer.plan_state import ACTIONS, PlanState, Row, name_of, rows_of, title_of

WORD_TEXTS = {"undo": "Undo", "redo": "Redo", "snap": "Snap", "help": "Keys", "save": "Save", "fly": "Fly"}
TOOL_TEXTS = {"gate": "+ Gate", "post": "+ Post", "box": "+ Box", "fit": "Fit"}
BUTTON: Colour = mix(palette.PAPER, palette.RULE, 0.55)
CURSOR = "▏"


def draw_title(canvas: Canvas, layout: PlanLayout, state: PlanState) -> None:
    """Course, file and state at the left, words that can be clicked at the right."""
    px, title = layout.px, layout.title
    canvas.fill(palette.PAPER, Rect(0, 0, layout.size[0], title.h))
    canvas.fill(palette.RULE, Rect(0, title.h - max(1, px(1)), layout.size[0], max(1, px(1))))
    shown = canvas.text((title.x, title.y + px(7)), state.plan.name, TITLE, palette.INK, width=title.w * 0.6)
    if state.changed:
        canvas.circle(palette.WANTED, (shown.right + px(10), shown.y + shown.h / 2), px(3.5))
        canvas.text(
            (shown.right + px(18), shown.y + shown.h / 2), "not saved", SMALL, palette.INK_SOFT, anchor="cw"
        )
    note = state.note or state.place
    colour = palette.ALARM if state.alarm and state.note else palette.INK_SOFT
    canvas.text((title.x, title.y + px(29)), note, LABEL, colour, width=title.w)
    able = {"undo": state.can_undo, "redo": state.can_redo, "fly": not state.faults, "save": True}
    for name in WORDS:
        box, dim = layout.words[name], not able.get(name, True)
        strong = name == "fly" and not dim
        lit = name == "snap" and state.snap
        ground = palette.FLOWN if strong else (palette.FLOWN_PALE if lit else BUTTON)
        ink = palette.CARD if strong else (palette.DIM if dim else palette.INK)
        _button(canvas, layout, box, WORD_TEXTS[name], ground, ink)


def draw_tools(canvas: Canvas, layout: PlanLayout, state: PlanState) -> None:
    """The tools over the map."""
    for name in TOOLS:
        lit = state.tool == name
        ground, ink = (palette.FLOWN, palette.CARD) if lit else (palette.PAPER, palette.INK)
        box = layout.tools[name]
        canvas.card(palette.GRID_FINE, box.inset(-max(1, layout.px(1))), layout.px(6))
        _button(canvas, layout, box, TOOL_TEXTS[name], ground, ink)


def draw_panel(canvas: Canvas, layout: PlanLayout, state: PlanState) -> None:
    """What is chosen, its numbers, what can be done with it, what is wrong."""
    px, panel = layout.px, layout.panel
    canvas.fill(palette.PAPER, panel)
    canvas.fill(palette.RULE, Rect(panel.x, panel.y, max(1, px(1)), panel.h))
    kind, about = title_of(state.plan, state.chosen)
    x, width = layout.rows[0].x, layout.rows[0].w
    canvas.text((x, panel.y + px(12)), kind, VALUE, palette.INK, width=width)
    canvas.text((x, panel.y + px(38)), about, LABEL, palette.INK_SOFT, width=width)
    for k, row in enumerate(rows_of(state.plan, state.chosen)):
        _draw_row(canvas, layout, layout.rows[k], row, state, state.row == k)
    for box, (_, text) in zip(action_places(layout, state), ACTIONS[state.chosen.kind], strict=True):
        ink = palette.ALARM if text == "Remove" else palette.INK
        _button(canvas, layout, box, text, BUTTON, ink)
    _draw_faults(canvas, layout, state)


def action_places(layout: PlanLayout, state: PlanState) -> list[Rect]:
    """Where the buttons of what is chosen stand: below its last row."""
    shift = layout.rows[len(rows_of(state.plan, state.chosen)) - 1].bottom - layout.rows[-1].bottom
    count = len(ACTIONS[state.chosen.kind])
    return [Rect(box.x, box.y + shift, box.w, box.h) for box in layout.actions[:count]]


def fault_places(layout: PlanLayout, state: PlanState) -> list[Rect]:
    """Where what is wrong is listed, one line and a half each, as many as there is room for."""
    px, area = layout.px, layout.faults
    high, top = px(36), area.y + px(24)
    room = max(0, (area.bottom - top - px(4)) // high)
    return [Rect(area.x, top + k * high, area.w, high - px(4)) for k in range(min(room, len(state.faults)))]


def _draw_row(canvas: Canvas, layout: PlanLayout, box: Rect, row: Row, state: PlanState, here: bool) -> None:
    px, middle = layout.px, box.y + box.h / 2
    if here:
        canvas.card(
            palette.FLOWN_PALE, Rect(box.x - px(6), box.y - px(1), box.w + px(12), box.h + px(2)), px(4)
        )
    typed = state.typed if here else None
    canvas.text((box.x, middle), row.label, BODY, palette.INK_SOFT, anchor="cw", width=px(112))
    value = row.value if typed is None else typed + CURSOR
    ink = palette.INK if typed is None else palette.FLOWN
    if row.entry is None:
        field = Rect(box.x + px(92), box.y, box.w - px(92), box.h)
        canvas.card(palette.CARD, field, px(4))
        canvas.text((field.x + px(8), middle), value, STRONG, ink, anchor="cw", width=field.w - px(12))
        return
    minus, field, plus = layout.steppers(box)
    for side, sign in ((minus, "−"), (plus, "+")):
        canvas.card(BUTTON, side.inset(px(1)), px(4))
        canvas.text((side.x + side.w / 2, middle), sign, STRONG, palette.INK, anchor="cc")
    canvas.card(palette.CARD, field, px(4))
    unit = f" {row.unit}" if row.unit == "m" else row.unit
    canvas.text((field.x + field.w / 2, middle), value + ("" if typed is not None else unit), STRONG, ink,
                anchor="cc", width=field.w - px(4))  # fmt: skip


def _draw_faults(canvas: Canvas, layout: PlanLayout, state: PlanState) -> None:
    px, area = layout.px, layout.faults
    canvas.fill(palette.RULE, Rect(area.x, area.y, area.w, max(1, px(1))))
    if not state.faults:
        canvas.text(
            (area.x, area.y + px(8)), "Nothing in the way of a flight", STRONG, palette.WIND, width=area.w
        )
        about = "by the rules of the file; fly it to see more"
        canvas.text((area.x, area.y + px(26)), about, SMALL, palette.INK_SOFT, width=area.w)
        return
    count = len(state.faults)
    places = fault_places(layout, state)
    more = f", {len(places)} shown" if len(places) < count else ""
    title = f"{count} to put right{more}"
    canvas.text((area.x, area.y + px(7)), title, STRONG, palette.ALARM, width=area.w)
    for box, fault in zip(places, state.faults, strict=False):
        canvas.fill(palette.ALARM, Rect(box.x, box.y + px(2), max(2, px(2)), box.h - px(4)))
        lines = wrapped(canvas, f"{name_of(state.plan, fault.chosen)}: {fault.text}", box.w - px(10))
        for k, line in enumerate(lines[:2]):
            text = line if k == 0 or len(lines) <= 2 else line + " …"
            canvas.text(
                (box.x + px(9), box.y + px(1) + k * px(15)), text, SMALL, palette.INK, width=box.w - px(9)
            )


def wrapped(canvas: Canvas, text: str, width: float, style: Style = SMALL) -> list[str]:
    """A text in lines that fit."""
    lines, line = [], ""
    for word in text.split():
        longer = f"{line} {word}".strip()
        if line and canvas.measure(longer, style)[0] > width:
            lines.append(line)
            line = word
        else:
            line = longer
    return [*lines, line]


def _button(canvas: Canvas, layout: PlanLayout, box: Rect, text: str, ground: Colour, ink: Colour) -> None:
    canvas.card(ground, box, layout.px(5))
    canvas.text(
        (box.x + box.w / 2, box.y + box.h / 2), text, STRONG, ink, anchor="cc", width=box.w - layout.px(4)
    )
