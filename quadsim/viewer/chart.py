"""One strip chart: traces over a moving window of time, painted once in narrow strips and then only copied.

A strip is painted at three times its size and scaled down, which softens the lines. Strips of the past never change;
only the newest strip of a live flight is painted again.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from quadsim.viewer import palette
from quadsim.viewer.canvas import Canvas, new_canvas
from quadsim.viewer.fonts import TINY
from quadsim.viewer.layout import Rect
from quadsim.viewer.palette import Colour
from quadsim.viewer.track import SATURATED, Track

STRIP_PX, FINE = 40, 3
LONGEST_S, SHORTEST_S, CURSOR_SHARE = 20.0, 2.0, 0.7
"""Time across a chart at most and at least [s], and where the present stands once the flight is longer than that."""


@dataclass(frozen=True)
class Trace:
    """A line of a chart: a column of the track (and which of its components), factor to the unit shown, look."""

    column: str
    colour: Colour
    part: int | None = None
    factor: float = 1.0
    width_px: float = 1.8
    turn: float | None = None
    """What a full turn is, for angles: the line breaks where the angle wraps around."""


@dataclass(frozen=True)
class ChartSpec:
    """What a chart shows. `least` is the smallest range of values; `fixed` a range that never changes."""

    title: str
    unit: str
    traces: tuple[Trace, ...]
    least: float = 1.0
    fixed: tuple[float, float] | None = None
    alarm_part: int | None = None
    """Rotor whose saturation shades the background."""
    decimals: int = 1


def window_start(t_s: float, end_s: float, window_s: float) -> float:
    """Time at the left edge of charts that are `window_s` wide [s]."""
    return min(max(0.0, t_s - CURSOR_SHARE * window_s), max(0.0, end_s - window_s))


def nice_range(low: float, high: float, least: float) -> tuple[float, float, float]:
    """Range that holds low..high, at least `least` wide, on multiples of a step of 1, 2 or 5; and the step."""
    if not (math.isfinite(low) and math.isfinite(high)):
        low, high = 0.0, least
    if high - low < least:
        middle = round((low + high) / least) * least / 2.0
        low, high = min(low, middle - least / 2.0), max(high, middle + least / 2.0)
    rough = (high - low) / 2.5
    power = 10.0 ** math.floor(math.log10(rough))
    step = next(power * m for m in (1.0, 2.0, 5.0, 10.0) if power * m >= rough * 0.999)
    return math.floor(low / step + 1e-9) * step, math.ceil(high / step - 1e-9) * step, step


class Chart:
    """A chart in a box. `draw` copies what is painted already and paints what is new."""

    def __init__(self, spec: ChartSpec, box: Rect, plot: Rect, window_s: float) -> None:
        self.spec, self.box, self.plot, self.window_s = spec, box, plot, window_s
        self._strips: dict[int, tuple[int, Canvas]] = {}
        self._range = (0.0, 1.0, 1.0)
        self._seen = 0
        self._extreme = (math.inf, -math.inf)

    @property
    def px_per_s(self) -> float:
        """Pixels per second."""
        return self.plot.w / self.window_s

    def fit(self, track: Track) -> None:
        """Widen the range for new rows; a changed range throws the strips away."""
        spec = self.spec
        if spec.fixed:
            low, high = spec.fixed
            chosen = (low, high, (high - low) / 2.0)
        else:
            if len(track) > self._seen:
                values = [_values(track, trace, slice(self._seen, None)) for trace in spec.traces]
                finite = np.concatenate(values)
                finite = finite[np.isfinite(finite) & (np.abs(finite) < 1e6)]
                if finite.size:
                    self._extreme = (min(self._extreme[0], finite.min()), max(self._extreme[1], finite.max()))
                self._seen = len(track)
            chosen = nice_range(*self._extreme, spec.least)
        if chosen != self._range:
            self._range = chosen
            self._strips.clear()

    def height_of(self, value: float | np.ndarray) -> float | np.ndarray:
        """Distance below the top of the plot [px] of a value."""
        low, high, _ = self._range
        return (high - value) / (high - low) * (self.plot.h - 1)

    def draw(self, canvas: Canvas, track: Track, t_s: float) -> None:
        """Copy the strips of the window that ends around `t_s`, and mark that time."""
        self.fit(track)
        plot = canvas.part(self.plot)
        plot.fill(palette.CARD)
        start_px = round(window_start(t_s, track.end_s, self.window_s) * self.px_per_s)
        for n in range(start_px // STRIP_PX, (start_px + self.plot.w) // STRIP_PX + 1):
            plot.stamp(self._strip(n, track, canvas.scale), (n * STRIP_PX - start_px, 0))
        now_px = round(t_s * self.px_per_s) - start_px
        if now_px < self.plot.w - 1:
            plot.veil(palette.CARD, 150, Rect(now_px + 1, 0, self.plot.w - now_px - 1, self.plot.h))
        plot.line(palette.INK, (now_px, 0), (now_px, self.plot.h))
        self._dots(canvas, track, t_s, now_px)

    def _dots(self, canvas: Canvas, track: Track, t_s: float, now_px: int) -> None:
        k = track.index(t_s)
        for trace in self.spec.traces:
            value = float(_values(track, trace, slice(k, k + 1))[0])
            if math.isfinite(value):
                y = float(np.clip(self.height_of(value), 0, self.plot.h - 1))
                canvas.circle(trace.colour, (self.plot.x + now_px, self.plot.y + y), 2.6 * canvas.scale)

    def _strip(self, n: int, track: Track, scale: float) -> Canvas:
        """Strip n, painted once the flight has passed it; before that as often as rows have come."""
        t0, t1 = n * STRIP_PX / self.px_per_s, (n + 1) * STRIP_PX / self.px_per_s
        first = max(track.index(t0) - 2, 0)
        last = min(int(np.searchsorted(track["t"], t1, side="right")) + 2, len(track))
        if t0 > track.end_s:  # not flown yet
            first = last = 0
        stored = self._strips.get(n)
        if stored and stored[0] == last:
            return stored[1]
        fine = new_canvas((STRIP_PX * FINE, self.plot.h * FINE), scale * FINE)
        self._paint(fine, track, slice(first, last), t0)
        strip = new_canvas((STRIP_PX, self.plot.h))
        fine.shrink_onto(strip)
        self._strips[n] = (last, strip)
        return strip

    def _paint(self, fine: Canvas, track: Track, rows: slice, t0: float) -> None:
        fine.fill(palette.CARD)
        low, high, step = self._range
        w, h = fine.size
        x = (track["t"][rows] - t0) * self.px_per_s * FINE
        if self.spec.alarm_part is not None and x.size:
            self._shade(fine, x, track["load"][rows, self.spec.alarm_part])
        for value in np.arange(low, high + step / 2, step):
            level = float(self.height_of(value)) * FINE
            fine.fill(palette.RULE, Rect(0, round(min(level, h - FINE)), w, FINE))
        for trace in self.spec.traces:
            y = np.asarray(self.height_of(_values(track, trace, rows))) * FINE
            jump = None if trace.turn is None else trace.turn / 2.0 / (high - low) * h
            _line(fine, trace, x, y, jump)

    @staticmethod
    def _shade(fine: Canvas, x: np.ndarray, load: np.ndarray) -> None:
        """Pale alarm colour behind the time at full duty."""
        full = np.flatnonzero(load >= SATURATED)
        for group in np.split(full, np.flatnonzero(np.diff(full) > 1) + 1) if full.size else ():
            right = x[min(group[-1] + 1, len(x) - 1)]
            wide = max(FINE, int(right - x[group[0]]) + 1)
            fine.fill(palette.ALARM_PALE, Rect(int(x[group[0]]), 0, wide, fine.size[1]))

    def now(self, track: Track, t_s: float) -> list[float]:
        """Present value of every trace."""
        k = track.index(t_s)
        return [float(_values(track, trace, slice(k, k + 1))[0]) for trace in self.spec.traces]

    def labels(self, canvas: Canvas) -> None:
        """Values at the top and bottom of the plot, left of it."""
        low, high, _ = self._range
        x = self.plot.x - round(5 * canvas.scale)
        for value, y, anchor in ((high, self.plot.y - 2, "ne"), (low, self.plot.bottom + 2, "se")):
            canvas.text((x, y), f"{value:g}".replace("-", "−"), TINY, palette.INK_SOFT, anchor=anchor)


def _values(track: Track, trace: Trace, rows: slice) -> np.ndarray:
    column = track[trace.column]
    return (column[rows] if trace.part is None else column[rows, trace.part]) * trace.factor


def _line(fine: Canvas, trace: Trace, x: np.ndarray, y: np.ndarray, jump_px: float | None) -> None:
    """The trace; gaps where it has no value, and the extremes of each pixel where rows are denser than pixels."""
    width = max(1, round(trace.width_px * fine.scale))
    known = np.flatnonzero(np.isfinite(y))
    if not known.size:
        return
    breaks = np.diff(known) > 1
    if jump_px is not None:
        breaks |= np.abs(np.diff(y[known])) > jump_px
    for group in np.split(known, np.flatnonzero(breaks) + 1):
        points = _thin(x[group], np.clip(y[group], -50, fine.size[1] + 50))
        fine.path(trace.colour, points, width)


def _thin(x: np.ndarray, y: np.ndarray) -> Sequence[tuple[float, float]]:
    """At most a few points per pixel column, extremes kept."""
    if len(x) <= 4 * STRIP_PX * FINE:
        return list(zip(x.tolist(), y.tolist(), strict=True))
    blocks = np.array_split(np.arange(len(x)), STRIP_PX * FINE)
    keep = sorted({int(b[f]) for b in blocks for f in (np.argmin(y[b]), np.argmax(y[b]))})
    return [(float(x[k]), float(y[k])) for k in keep]
