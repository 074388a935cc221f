"""From metres on the field to pixels of the map and back: forward is up, right is right."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from quadsim.planning.course_plan import CoursePlan, items, place_of
from quadsim.viewer.layout import Rect

LEAST_PX_PER_M, MOST_PX_PER_M = 1.0, 160.0
LEAST_SEEN_M = 40.0
"""So much of a field is fitted in at least, where it is as large [m]."""
MARGIN = 0.08
"""Free share of the map at each side when all is fitted in."""
STEPS = (0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0)


@dataclass(frozen=True)
class PlanMap:
    """A view of the field: the place in the middle of `area` (forward, right [m]), and the scale [px/m]."""

    area: Rect
    middle: tuple[float, float]
    px_per_m: float

    def to_px(self, forward: float, right: float) -> tuple[float, float]:
        """Where a place lies on the frame."""
        x = self.area.x + self.area.w / 2.0 + (right - self.middle[1]) * self.px_per_m
        y = self.area.y + self.area.h / 2.0 - (forward - self.middle[0]) * self.px_per_m
        return x, y

    def to_m(self, at: tuple[float, float]) -> tuple[float, float]:
        """The place under a pixel: forward, right [m]."""
        right = self.middle[1] + (at[0] - self.area.x - self.area.w / 2.0) / self.px_per_m
        forward = self.middle[0] - (at[1] - self.area.y - self.area.h / 2.0) / self.px_per_m
        return forward, right

    def shifted(self, moved: tuple[float, float]) -> PlanMap:
        """The view after the sheet was pulled by so many pixels."""
        middle = self.middle[0] + moved[1] / self.px_per_m, self.middle[1] - moved[0] / self.px_per_m
        return replace(self, middle=middle)

    def zoomed(self, factor: float, at: tuple[float, float]) -> PlanMap:
        """The view at another scale, with the place under `at` where it was."""
        there = self.to_m(at)
        scale = min(max(self.px_per_m * factor, LEAST_PX_PER_M), MOST_PX_PER_M)
        near = replace(self, px_per_m=scale)
        now = near.to_px(*there)
        return near.shifted((at[0] - now[0], at[1] - now[1]))

    @property
    def span_m(self) -> tuple[float, float, float, float]:
        """Forward from and to, right from and to [m] that are seen."""
        high, left = self.to_m((self.area.x, self.area.y))
        low, right = self.to_m((self.area.right, self.area.bottom))
        return low, high, left, right

    def step_m(self, least_px: float) -> float:
        """The finest round distance that takes at least so many pixels."""
        return next((step for step in STEPS if step * self.px_per_m >= least_px), STEPS[-1])


def fitted(plan: CoursePlan, area: Rect) -> PlanMap:
    """The view that shows everything that stands, and the limits of the field where they are not far beyond."""
    places = [place_of(plan, chosen) for chosen in items(plan)]
    low, high = min(p[0] for p in places), max(p[0] for p in places)
    left, right = min(p[1] for p in places), max(p[1] for p in places)
    reach = 0.5 * max(high - low, right - left, LEAST_SEEN_M)
    low, high = max(plan.field.forward_m[0], low - reach), min(plan.field.forward_m[1], high + reach)
    left, right = max(plan.field.right_m[0], left - reach), min(plan.field.right_m[1], right + reach)
    room = 1.0 - 2.0 * MARGIN
    scale = min(area.h * room / max(high - low, 4.0), area.w * room / max(right - left, 4.0))
    scale = min(max(scale, LEAST_PX_PER_M), MOST_PX_PER_M)
    return PlanMap(area, ((low + high) / 2.0, (left + right) / 2.0), scale)


def grid_lines(low: float, high: float, step: float) -> list[float]:
    """Whole multiples of a step within a range."""
    return [k * step for k in range(math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9) + 1)]
