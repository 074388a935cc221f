"""What a crew measures with tape and pegs, worked by hand and turned back into the course."""

import math

import numpy as np
import pytest

from quadsim.config.course_schema import load_course, parse_course
from quadsim.config.find_data import shipped
from quadsim.planning.setout import crowd_line, length_around, setout, way_through

COURSE = """
name = "Yard"
closed = true
order = ["far", "near", "far"]
clearance_m = 0.2
field = { forward_m = [-5, 35], right_m = [-10, 20], ceiling_m = 6 }
start = { forward_m = 3, right_m = 4, heading_deg = 0 }
gate = [
  { name = "near", forward_m = 12, right_m = 5, height_m = 1, heading_deg = 90, width_m = 2, tall_m = 2 },
  { name = "far", forward_m = 20.2, right_m = -3, height_m = 2, heading_deg = -90, width_m = 3, tall_m = 2 },
]
post = [{ name = "pole", forward_m = 9, right_m = 12, height_m = 4 }]
box = [{ name = "stand", forward_m = [25, 30], right_m = [10, 15], height_m = [0, 3] }]
"""


@pytest.fixture(scope="module")
def yard():
    return setout(parse_course(COURSE))


def test_the_base_line_and_its_right_angle(yard):
    """Farthest gate at 20.2 m: line of 21 m; 8, 6, 10 fits its half."""
    assert yard.base == 21.0
    assert (yard.square.along, yard.square.across, yard.square.between) == (8.0, 6.0, 10.0)
    assert yard.diagonal == 50.0  # of 40 by 30


def test_a_gate_s_pegs_by_hand(yard):
    """Flown to the right of the base line, so its left end is farther along it."""
    far, near = yard.frames
    assert (near.name, near.passages, near.heading_deg) == ("near", (2,), pytest.approx(90.0))
    assert (near.left.forward, near.left.right) == pytest.approx((13.0, 5.0))
    assert (near.right.forward, near.right.right) == pytest.approx((11.0, 5.0))
    assert near.left.from_origin == pytest.approx(math.sqrt(13.0**2 + 25.0))
    assert near.left.from_end == pytest.approx(math.sqrt(64.0 + 25.0))
    assert (near.lower, near.upper, near.width) == (0.0, 2.0, 2.0)
    assert (near.diagonal, far.diagonal) == pytest.approx((math.sqrt(8.0), math.sqrt(13.0)))
    assert (far.passages, far.heading_deg) == ((1, 3), pytest.approx(270.0))
    assert (far.left.forward, far.right.forward) == pytest.approx((18.7, 21.7))


def test_start_post_box_and_field_have_pegs(yard):
    assert [peg.name for peg in yard.others] == ["start", "pole", "stand 1", "stand 2", "stand 3", "stand 4"]
    assert yard.others[0].from_origin == pytest.approx(5.0)
    assert yard.others[1].from_end == pytest.approx(math.sqrt(144.0 + 144.0))
    assert [(peg.forward, peg.right) for peg in yard.corners] == [(-5, -10), (35, -10), (35, 20), (-5, 20)]


def test_the_list_of_material(yard):
    """A gate on the ground has one bar; pegs: 4 for the line, 4 for gates, 6 others, 4 corners."""
    listed = [(item.count, item.what, item.length) for item in yard.material]
    assert listed == [
        (2, "upright of a gate", 3.0),
        (2, "upright of a gate", 2.0),
        (2, "bar of a gate", 3.0),
        (1, "bar of a gate", 2.0),
        (1, "post", 4.0),
        (18, "peg", 0.0),
        (2, "tape, at least", 50.0),  # 40.3 m from O to the far right corner
        (1, "line around the field", 140.0),
    ]


@pytest.mark.parametrize("name", shipped("courses"))
def test_tape_distances_and_the_side_lead_back_to_the_gates(name):
    """Two circles about O and E meet where the peg stands; the pegs' middle and direction are the gate's."""
    course = load_course(name)
    sheet = setout(course)
    gates = {gate.name: gate for gate in course.gates}
    assert len(sheet.frames) == len(gates)
    for frame in sheet.frames:
        ends = []
        for peg in (frame.left, frame.right):
            along = (peg.from_origin**2 - peg.from_end**2 + sheet.base**2) / (2.0 * sheet.base)
            aside = math.sqrt(max(peg.from_origin**2 - along**2, 0.0))
            ends.append(np.array([along, math.copysign(aside, peg.right)]))
        gate = gates[frame.name]
        assert 0.5 * (ends[0] + ends[1]) == pytest.approx(gate.centre[:2], abs=1e-6)
        assert (ends[1] - ends[0]) / gate.width == pytest.approx(gate.right[:2], abs=1e-6)
        assert 0.5 * (frame.lower + frame.upper) == pytest.approx(-gate.centre[2])


@pytest.mark.parametrize("name", shipped("courses"))
def test_the_way_leads_through_every_gate_in_its_direction(name):
    course = load_course(name)
    way = way_through(course, 24)
    assert way[0] == pytest.approx(course.start.place)
    gates = [*course.gates, course.gates[0]] if course.closed else list(course.gates)
    for k, gate in enumerate(gates):
        at = 24 * (k + 1)
        assert way[at] == pytest.approx(gate.centre)
        step = way[at] - way[at - 1]
        assert step @ gate.forward > 0.9 * np.linalg.norm(step)


def test_the_crowd_s_line_keeps_its_distance_and_has_the_length_of_steiner():
    """Perimeter of a convex body's parallel one: P + 2 pi d (J. Steiner, 1840). The rectangle 30 m by 20 m, d = 12 m."""
    way = np.array([[0.0, 0.0], [30.0, 0.0], [30.0, 20.0], [0.0, 20.0], [15.0, 10.0]])
    line = crowd_line(way, 12.0)
    assert length_around(line) == pytest.approx(100.0 + 2.0 * math.pi * 12.0, rel=2e-3)
    assert length_around(line) >= 100.0 + 2.0 * math.pi * 12.0
    dense = np.concatenate(
        [np.linspace(a, b, 61) for a, b in zip(line, np.roll(line, -1, axis=0), strict=True)]
    )
    nearest = np.min(np.linalg.norm(dense[:, None] - way[None], axis=2), axis=1)
    assert nearest.min() == pytest.approx(12.0, rel=1e-9)
