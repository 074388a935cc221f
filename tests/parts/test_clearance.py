"""Gaps around the propellers, by plane geometry on a craft with round numbers."""

import math

import pytest

from quadsim.parts.clearance import disc_gap, frame_gap

RADIUS_MM = 3 * 25.4


def box(at, size, yaw_deg=0.0):
    return f'[[parts]]\nname = "pod"\nshape = "box"\nmass_g = 1\nsize_mm = {size}\nat_mm = {at}\nyaw_deg = {yaw_deg}\n'


def test_gap_between_neighbours(make_craft):
    gap, which = disc_gap(make_craft())
    assert gap * 1e3 == pytest.approx(200 - 2 * RADIUS_MM)
    assert " and " in which


def test_discs_at_different_heights_may_overlap_in_plan(make_craft):
    # front pair 120 mm apart in plan (discs overlap by 32.4 mm), one 30 mm over the other
    craft = make_craft(
        ("front_right = [100, 100, -20]", "front_right = [100, 60, -50]"),
        ("front_left = [100, -100, -20]", "front_left = [100, -60, -20]"),
    )
    gap, which = disc_gap(craft)
    assert gap * 1e3 == pytest.approx(30.0)
    assert which == "front right and front left"


@pytest.mark.parametrize(
    ("part", "gap_mm"),
    [
        # level with the disc and beside it: nearest edge at y = 14, hub at y = 100
        (box([100, 0, -20], [20, 28, 10]), 86 - RADIUS_MM),
        # under the disc: its top 12 mm below the plane
        (box([100, 60, 2], [20, 20, 20]), 12.0),
        # beside and below: 9.8 mm outside the edge, 7 mm under the plane
        (box([100, 0, -8], [20, 28, 10]), math.hypot(86 - RADIUS_MM, 7.0)),
        # a bar turned by 90 degrees reaches to y = 30 instead of y = 5: it enters the disc
        (box([100, 0, -20], [60, 10, 10], 90.0), 0.0),
        (box([100, 0, -20], [10, 36, 10], 90.0), 95 - RADIUS_MM),
    ],
    ids=["beside", "under", "beside and under", "turned into the disc", "turned out of the disc"],
)
def test_gap_to_a_part(make_craft, part, gap_mm):
    gap, which = frame_gap(make_craft(more=part))
    assert gap * 1e3 == pytest.approx(gap_mm, abs=1e-9)
    assert which.endswith("propeller and pod")


def test_what_belongs_to_the_hub_does_not_count(make_craft):
    mount = '[[parts]]\nname = "mount"\nshape = "cylinder"\nmass_g = 1\nsize_mm = [30, 6]\nat = "rotors"\n'
    assert "mount" not in frame_gap(make_craft(more=mount))[1]
