"""What a crew measures and how far people stand, against hand calculation; then the same against copies with one thing wrong.

Where a peg stands: a gate at (20, 10) m flown at 30 deg, 2 m wide, has its pegs at (20, 10) -+ (-sin 30, cos 30) m.
A right angle by 3, 4, 5: Euclid, Elements I.48. A rectangle is a parallelogram with equal diagonals (textbook geometry).
Farthest throw from a height without air: R = v/g sqrt(v^2 + 2 g h) at tan a = v/sqrt(v^2 + 2 g h), arXiv:physics/0505069 (after
D. B. Lichtenberg, J. G. Wills, American Journal of Physics 46 (1978)); 10 m/s from 2 m is the case of NRICH, "Max throw".
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import pytest
from hand_made import G0
from mutants import plain_modules

from quadsim.analysis.falling import Body, fall
from quadsim.config import load_craft
from quadsim.config.course_schema import parse_course
from quadsim.environment.atmosphere import Site

SETOUT, THROW = "quadsim.planning.setout", "quadsim.analysis.throw"
COPIED = (SETOUT, THROW)
Of = Callable[[str], Any]
COURSE = """
name = "By hand"
closed = false
clearance_m = 0.1
field = { forward_m = [0, 40], right_m = [-10, 20], ceiling_m = 8 }
start = { forward_m = 0, right_m = 0, heading_deg = 0 }
gate = [{ name = "only", forward_m = 20, right_m = 10, height_m = 2, heading_deg = 30, width_m = 2, tall_m = 1.5 }]
"""


def pegs_by_hand(of: Of) -> None:
    """Left (20.5, 9.13397), right (19.5, 10.86603); E at 20 m: from O sqrt(20.5^2 + 9.13397^2) = 22.44280 m and so on."""
    one = of(SETOUT).setout(parse_course(COURSE))
    assert one.base == 20.0
    (frame,) = one.frames
    assert (frame.left.forward, frame.left.right) == pytest.approx((20.5, 9.13397), abs=1e-5)
    assert (frame.right.forward, frame.right.right) == pytest.approx((19.5, 10.86603), abs=1e-5)
    assert (frame.left.from_origin, frame.left.from_end) == pytest.approx((22.44280, 9.14765), abs=1e-5)
    assert (frame.right.from_origin, frame.right.from_end) == pytest.approx((22.32310, 10.87753), abs=1e-5)
    assert (frame.lower, frame.upper, frame.diagonal) == pytest.approx((1.25, 2.75, 2.5))


def square_by_hand(of: Of) -> None:
    """40 m by 30 m: 50 m across. 3-4-5 within half of 20 m: 8, 6, 10."""
    one = of(SETOUT).setout(parse_course(COURSE))
    assert one.diagonal == pytest.approx(50.0)
    assert (one.square.along, one.square.across, one.square.between) == (8.0, 6.0, 10.0)
    assert one.square.along**2 + one.square.across**2 == one.square.between**2
    a, b, c, d = one.corners
    for p, q in ((a, c), (b, d)):
        assert math.hypot(p.forward - q.forward, p.right - q.right) == pytest.approx(one.diagonal)


def throw_by_hand(of: Of) -> None:
    """10 m/s from 2 m: R = 10/9.80665 sqrt(100 + 39.2266) = 12.03202 m at 40.28 deg; 5 deg apart, so a little less is found.
    The hit: sqrt(139.2266) = 11.79943 m/s. The way of 1 s of reaction: 10 m."""
    module = of(THROW)

    def bare(plant: Any, area: float, height: float, speed: float, wind: float, angle: float) -> Any:
        body = Body(float(plant.mass), 0.0, 1.225, G0)
        return fall(height, speed * math.cos(angle), wind, body, speed * math.sin(angle))

    kept, module._fall = module._fall, bare
    try:
        found = module.worst_throw(load_craft("siskin"), Site(), 2.0, 10.0, 0.0)
    finally:
        module._fall = kept
    assert 0.998 * 12.03202 < found.range_m <= 12.03202 + 1e-6
    assert found.angle_deg == 40.0
    assert found.impact_speed_m_s == pytest.approx(11.79943, abs=1e-4)
    assert found.distance_m == pytest.approx(found.range_m + 10.0)


def shipped(name: str) -> Any:
    return __import__(name, fromlist=["_"])


@pytest.mark.parametrize("check", [pegs_by_hand, square_by_hand, throw_by_hand])
def test_the_shipped_modules_agree(check):
    check(shipped)


@pytest.mark.parametrize(
    ("module", "old", "new", "check"),
    [
        (SETOUT, "middle - half, base)", "middle + half, base)", pegs_by_hand),
        (SETOUT, "math.hypot(forward - base, right)", "math.hypot(forward + base, right)", pegs_by_hand),
        (SETOUT, "over - 0.5 * gate.height", "over - gate.height", pegs_by_hand),
        (SETOUT, "3.0 * unit, 5.0 * unit", "3.0 * unit, 5.5 * unit", square_by_hand),
        (SETOUT, "diagonal=math.hypot(*sides.tolist())", "diagonal=sum(sides.tolist())", square_by_hand),
        (THROW, "self.range_m + self.reaction_m", "self.range_m", throw_by_hand),
        (THROW, "max(found, key=lambda", "min(found, key=lambda", throw_by_hand),
        (THROW, "speed_m_s * REACTION_S", "REACTION_S", throw_by_hand),
    ],
)  # fmt: skip
def test_a_copy_with_one_thing_wrong_is_noticed(module, old, new, check):
    copy = plain_modules(module, old, new, COPIED)
    copy(module)  # fails here where the line to change has gone
    with pytest.raises(AssertionError):
        check(copy)
