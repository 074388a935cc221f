"""The charts of the right-hand column: what each shows and how it is headed.

The four motors stand as they stand on the craft seen from above, so no colour code has to be learnt.
"""

from __future__ import annotations

import math

from quadsim.dynamics.state import ROTOR_NAMES
from quadsim.viewer import palette
from quadsim.viewer.canvas import Canvas
from quadsim.viewer.chart import LONGEST_S, SHORTEST_S, Chart, ChartSpec, Trace, window_start
from quadsim.viewer.fonts import LABEL, STRONG, TINY
from quadsim.viewer.layout import Layout, Rect
from quadsim.viewer.panels import number
from quadsim.viewer.track import Moment, Track

GUTTER, HEAD, RIGHT = 40, 18, 14
"""Room for the axis labels, the heading and the right margin [px at 1280 x 720]."""


def _pair(flown: str, wanted: str, turn: float | None = None) -> tuple[Trace, ...]:
    return (
        Trace(wanted, palette.WANTED, width_px=1.2, turn=turn),
        Trace(flown, palette.FLOWN, width_px=2.0, turn=turn),
    )


SPECS = {
    "height": ChartSpec("Height", "m", _pair("height", "height_wanted"), least=2.0),
    "roll": ChartSpec("Roll", "°", _pair("roll", "roll_wanted", 360.0), least=10.0),
    "pitch": ChartSpec("Pitch", "°", _pair("pitch", "pitch_wanted", 360.0), least=10.0),
    "voltage": ChartSpec("Pack", "V", (Trace("volts", palette.FLOWN),), least=1.0, decimals=2),
    "current": ChartSpec("Pack", "A", (Trace("amps", palette.FLOWN),), least=5.0),
}
MOTOR_PLACES = (("front_left", "front_right"), ("rear_left", "rear_right"))


def _motor_spec(name: str) -> ChartSpec:
    k = ROTOR_NAMES.index(name)
    return ChartSpec(
        name.replace("_", " "), "%", (Trace("motor", palette.FLOWN, part=k, factor=100.0, width_px=1.5),),
        fixed=(0.0, 100.0), alarm_part=k, decimals=0,
    )  # fmt: skip


class ChartColumn:
    """All charts of one frame size. A replay shorter than LONGEST_S fills the charts from edge to edge."""

    def __init__(self, layout: Layout, replay_s: float | None) -> None:
        px = layout.px
        self.layout = layout
        self.window_s = LONGEST_S if replay_s is None else min(max(replay_s, SHORTEST_S), LONGEST_S)
        self.charts = {}
        for name, spec in SPECS.items():
            box = layout.panels["chart_" + name]
            plot = Rect(
                box.x + px(GUTTER), box.y + px(HEAD), box.w - px(GUTTER + RIGHT), box.h - px(HEAD) - px(6)
            )
            self.charts[name] = Chart(spec, box, plot, self.window_s)
        self.motors = {}
        box = layout.panels["chart_motors"]
        head = px(HEAD)
        wide, high = (box.w - px(GUTTER + RIGHT) - px(14)) // 2, (box.h - head) // 2
        for row, names in enumerate(MOTOR_PLACES):
            for column, name in enumerate(names):
                cell = Rect(
                    box.x + px(GUTTER) + column * (wide + px(14)), box.y + head + row * high, wide, high
                )
                plot = Rect(cell.x, cell.y + px(15), cell.w, cell.h - px(15) - px(6))
                self.motors[name] = Chart(_motor_spec(name), cell, plot, self.window_s)

    def draw(self, canvas: Canvas, track: Track, moment: Moment) -> None:
        """Draw every chart at a moment."""
        for chart in self.charts.values():
            chart.draw(canvas, track, moment.t_s)
            chart.labels(canvas)
            self._heading(canvas, chart, chart.now(track, moment.t_s))
        box = self.layout.panels["chart_motors"]
        x = box.x + self.layout.px(GUTTER)
        canvas.text((x, box.y + 1), "Motor commands", STRONG, palette.INK)
        where = (box.right - self.layout.px(RIGHT), box.y + self.layout.px(2))
        canvas.text(where, "as they stand, nose up", LABEL, palette.INK_SOFT, anchor="ne")
        for name, chart in self.motors.items():
            chart.draw(canvas, track, moment.t_s)
            self._motor_heading(canvas, chart, name, moment)
        self._times(canvas, track, moment.t_s)

    def _heading(self, canvas: Canvas, chart: Chart, values: list[float]) -> None:
        spec, right = chart.spec, chart.plot.right
        y = chart.box.y + 1
        canvas.text((chart.plot.x, y), f"{spec.title} {spec.unit}" if spec.title == "Pack" else spec.title, STRONG,
                    palette.INK)  # fmt: skip
        gap = self.layout.px(10)
        for trace, value, word in reversed(list(zip(spec.traces, values, ("wanted ", ""), strict=False))):
            if not math.isfinite(value):
                continue
            label = "" if len(spec.traces) == 1 else word
            unit = spec.unit if spec.unit == "°" else " " + spec.unit
            words = f"{label}{number(value, spec.decimals)}{unit}"
            style = LABEL if label else STRONG
            right = canvas.text((right, y), words, style, trace.colour, anchor="ne").x - gap

    def _motor_heading(self, canvas: Canvas, chart: Chart, name: str, moment: Moment) -> None:
        k = ROTOR_NAMES.index(name)
        full = bool(moment.saturated[k])
        colour = palette.ALARM if full else palette.INK_SOFT
        y = chart.box.y + 1
        canvas.text((chart.plot.x, y), chart.spec.title, LABEL, colour)
        words = f"{100 * moment.motor[k]:.0f} %" + (" full" if full else "")
        canvas.text((chart.plot.right, y), words, STRONG if full else LABEL, colour, anchor="ne")

    def _times(self, canvas: Canvas, track: Track, t_s: float) -> None:
        """Seconds below the lowest chart."""
        box, plot = self.layout.panels["chart_times"], self.charts["current"].plot
        start = window_start(t_s, track.end_s, self.window_s)
        step = 5.0 if self.window_s > 12.0 else 2.0 if self.window_s > 6.0 else 1.0
        for n in range(math.ceil(start / step - 1e-9), int((start + self.window_s) / step + 1e-9) + 1):
            x = plot.x + (step * n - start) * plot.w / self.window_s
            words = f"{step * n:g} s"
            half = canvas.measure(words, TINY)[0] / 2.0
            if plot.x - half <= x and x + half <= box.right:
                canvas.text((x, box.y), words, TINY, palette.INK_SOFT, anchor="nc")
