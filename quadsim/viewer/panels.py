"""Title, clock, readouts and sticks: the words and numbers around the scene."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from controllers.signals import HANDS_OFF_MODES, Mode, Stick
from quadsim.units import DEG, KMH
from quadsim.viewer import palette
from quadsim.viewer.canvas import Canvas
from quadsim.viewer.fonts import BODY, CLOCK, LABEL, SMALL, STRONG, TITLE, VALUE
from quadsim.viewer.layout import Layout, Rect
from quadsim.viewer.track import Moment, Track

LOW_CELL_V = 3.3
"""Loaded cell voltage from which the readout alarms [V]; common practice, no source."""


WAKE_POINTS = 60
"""Most points, nearly, of a stick's wake."""


@dataclass(frozen=True)
class Pace:
    """How the clock stands: `asked` and `real` are flight seconds per second, `word` says playing, paused, live, ..."""

    asked: float
    real: float
    word: str


@dataclass(frozen=True)
class Reading:
    """One readout: label, value with unit, and a note below."""

    label: str
    value: str
    unit: str
    note: str
    alarm: bool = False


def number(value: float, decimals: int = 1) -> str:
    """A figure of at most six letters, with a true minus sign; very large ones as a power of ten."""
    if abs(value) >= 99999.5:
        return f"{value:.0e}".replace("e+0", "e").replace("e+", "e").replace("-", "−")
    decimals = 0 if abs(value) >= 99.95 else decimals
    text = f"{value:.{decimals}f}"
    return (text.lstrip("-") if float(text) == 0.0 else text).replace("-", "−")


def readings(track: Track, moment: Moment) -> dict[str, Reading]:
    """The readouts at a moment, by their place in the layout."""
    wanted, speed, wind = moment.height_wanted_m, moment.speed_m_s, float(np.linalg.norm(moment.wind[:2]))
    from_deg = (math.atan2(-moment.wind[1], -moment.wind[0]) / DEG) % 360.0
    cell = moment.volts / track.cells
    mAh = moment.used_mAh
    used = f"{number(mAh, 0)} mAh used" if mAh < 9999.5 else f"{number(mAh / 1000.0)} Ah used"
    return {
        "height": Reading("Height", number(moment.height_m), "m",
                          f"wanted {number(wanted)} m" if math.isfinite(wanted) else f"climb {number(-moment.velocity[2])} m/s"),
        "speed": Reading("Speed", number(speed), "m/s", f"{number(speed / KMH, 0)} km/h"),
        "heading": Reading("Heading", f"{round(moment.heading_deg) % 360:03d}", "°", "0 is north"),
        "tilt": Reading("Tilt", number(moment.tilt_deg, 0), "°", f"rate {number(moment.rate_deg_s, 0)} °/s"),
        "wind": Reading("Wind", number(wind), "m/s", f"from {round(from_deg) % 360:03d}°" if wind >= 0.05 else "calm"),
        "cell": Reading("Cell", number(cell, 2), "V", f"pack {number(moment.volts)} V", cell < LOW_CELL_V),
        "pack": Reading("Current", number(moment.amps), "A", f"{number(moment.amps * moment.volts, 0)} W"),
        "charge": Reading("Charge", number(moment.charge_pct, 0), "%", used,
                          moment.charge_pct < 10.0),
    }  # fmt: skip


def draw_readouts(canvas: Canvas, layout: Layout, track: Track, moment: Moment) -> None:
    """Eight readouts in a row below the scene."""
    px = layout.px
    for name, reading in readings(track, moment).items():
        box = layout.panels[name]
        x, room = box.x + px(12), box.w - px(14)
        colour = palette.ALARM if reading.alarm else palette.INK
        canvas.text((x, box.y + px(11)), reading.label, LABEL, palette.INK_SOFT, width=room)
        shown = canvas.text((x, box.y + px(27)), reading.value, VALUE, colour, width=room)
        gap = px(2 if reading.unit in "°" else 4)
        canvas.text((shown.right + gap, shown.bottom - px(4)), reading.unit, BODY, palette.INK_SOFT, anchor="sw",
                    width=box.right - shown.right - gap)  # fmt: skip
        canvas.text((x, box.y + px(56)), reading.note, SMALL, palette.INK_SOFT, width=room)
        if reading.alarm:
            canvas.fill(palette.ALARM, Rect(box.x + px(5), box.y + px(12), px(3), px(58)))


def draw_title(
    canvas: Canvas, layout: Layout, track: Track, hints: Sequence[tuple[str, str]], hint_px: float
) -> None:
    """Flight and craft; from the right edge on the hints, key and word, each `hint_px` wide."""
    box, run, px = layout.panels["title"], track.run, layout.px
    middle = box.y + box.h // 2
    for k, (key, word) in enumerate(hints):
        x = box.right - px(hint_px) * k - px(10)
        begin = canvas.text((x, middle), word, LABEL, palette.INK_SOFT, anchor="ce").x
        canvas.text((begin - px(4), middle), key, STRONG, palette.INK, anchor="ce")
    end = box.right - px(hint_px) * len(hints) - px(14)
    mass = run.view.get("mass_g")
    craft = f"{run.view.get('name') or run.craft}" + (f", {mass:.0f} g" if mass else "")
    wide = min(canvas.measure(craft, BODY)[0], (end - box.x) // 2)
    title = str(run.meta.get("title") or run.flight)
    room = end - box.x - wide - px(14)
    shown = canvas.text((box.x, middle), title, TITLE, palette.INK, anchor="cw", width=room)
    at = (shown.right + px(14), middle + px(1))
    canvas.text(at, craft, BODY, palette.INK_SOFT, anchor="cw", width=wide)


def draw_clock(canvas: Canvas, layout: Layout, t_s: float, end_s: float, pace: Pace | None) -> None:
    """Flight time, whether it runs and how fast in truth (a still picture has no pace)."""
    box = layout.panels["clock"]
    middle, x = box.y + box.h // 2, box.x + layout.px(40)
    shown = canvas.text((x, middle), f"{t_s:.2f} s", CLOCK, palette.INK, anchor="cw")
    at = (shown.right + layout.px(8), shown.bottom - layout.px(5))
    canvas.text(at, f"of {end_s:.2f}".rstrip("0").rstrip(".") + " s", LABEL, palette.INK_SOFT, anchor="sw")
    if pace is None:
        return
    right = box.right - layout.px(14)
    canvas.text((right, middle - layout.px(1)), pace.word, STRONG, palette.INK, anchor="se")
    asked = f"{pace.asked:g}x" if pace.asked >= 1.0 else f"1/{1.0 / pace.asked:.0f}x"
    words = f"{pace.real:.1f}x" if pace.real >= 0.95 else f"{pace.real:.2f}x"
    if pace.real == 0.0:
        words = f"at {asked}"
    elif abs(pace.asked - pace.real) > 0.08 * pace.asked:
        words += f" of {asked}"
    canvas.text((right, middle + layout.px(1)), words, LABEL, palette.INK_SOFT, anchor="ne")


def draw_sticks(canvas: Canvas, layout: Layout, track: Track, moment: Moment, by_hand: bool) -> None:
    """Both sticks seen from above: a lever from the middle, its wake, and a bead on a ruler for each axis."""
    box, px = layout.panels["sticks"], layout.px
    read = moment.mode not in HANDS_OFF_MODES or by_hand
    side, gap = px(56), px(24)
    top = box.y + px(10)
    x = box.x + (box.w - 2 * side - gap) // 2
    k = track.index(moment.t_s)
    wake = track["stick"][max(track.index(moment.t_s - 0.6), k - 400) : k + 1]
    wake = wake[:: -max(1, len(wake) // WAKE_POINTS)][
        ::-1
    ]  # counted from the tip: that is where the stick is
    for n, (across, along) in enumerate(((Stick.YAW, Stick.THROTTLE), (Stick.ROLL, Stick.PITCH))):
        square = Rect(x + n * (side + gap), top, side, side)
        trail = np.stack([wake[:, across], _upward(wake, along)], axis=1)
        _lever(canvas, layout, square, trail, read)
    if read:
        words = "by hand" if by_hand else moment.mode.name.replace("_", " ").lower()
    else:
        words = (
            "setpoints fly" if moment.mode == Mode.SETPOINT else moment.mode.name.replace("_", " ").lower()
        )
        words += ", sticks rest"
    canvas.text(
        (box.x + box.w // 2, top + side + px(3)), words, SMALL, palette.INK_SOFT, anchor="nc", width=box.w
    )


def _upward(wake: np.ndarray, axis: Stick) -> np.ndarray:
    """Deflection on the screen, up positive: throttle 0..1 fills the square, pitch -1..1 with the stick forward up."""
    return 2.0 * wake[:, axis] - 1.0 if axis == Stick.THROTTLE else -wake[:, axis]


def _lever(canvas: Canvas, layout: Layout, square: Rect, trail: np.ndarray, read: bool) -> None:
    px = layout.px
    half, corner = square.w / 2.0, px(8)
    centre = (square.x + half, square.y + half)
    ink, soft = (palette.INK, palette.INK_SOFT) if read else (palette.DIM, palette.DIM)
    for sx in (-1, 1):
        for sy in (-1, 1):
            at = (centre[0] + sx * half, centre[1] + sy * half)
            canvas.line(soft, at, (at[0] - sx * corner, at[1]))
            canvas.line(soft, at, (at[0], at[1] - sy * corner))
    reach = half - px(6)
    points = [
        (centre[0] + float(a) * reach, centre[1] - float(b) * reach) for a, b in np.clip(trail, -1.0, 1.0)
    ]
    if not points:
        return
    tip = points[-1]
    canvas.line(palette.RULE, (square.x, square.bottom), (square.right, square.bottom))
    canvas.line(palette.RULE, (square.x, square.y), (square.x, square.bottom))
    if read:
        canvas.path(palette.TRAIL_OLD, points, smooth=True)
    canvas.thick_line(ink, centre, tip, 2.0 * canvas.scale)
    canvas.circle(soft, centre, 2.0 * canvas.scale)
    canvas.circle(palette.FLOWN if read else palette.DIM, tip, 5.0 * canvas.scale)
    bead = 2.5 * canvas.scale
    canvas.polygon(ink, [(tip[0], square.bottom - bead), (tip[0] - bead, square.bottom + bead),
                         (tip[0] + bead, square.bottom + bead)])  # fmt: skip
    canvas.polygon(
        ink, [(square.x + bead, tip[1]), (square.x - bead, tip[1] - bead), (square.x - bead, tip[1] + bead)]
    )
