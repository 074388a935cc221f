"""A gate's plane crossed between two samples: direction, edge, grazing, fast crossings, by random draw."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from quadsim.config.course import Gate
from quadsim.planning.crossing import crossing

GATE = Gate("A", np.array([10.0, -2.0, -3.0]), 0.0, 2.0, 1.0)

place = st.tuples(*[st.floats(-20.0, 20.0)] * 3).map(np.array)
turn = st.floats(-math.pi, math.pi)


def at(gate: Gate, ahead: float, side: float, up: float) -> np.ndarray:
    """A place by its distances from the gate's middle: in its direction, right and up [m]."""
    return gate.centre + ahead * gate.forward + side * gate.right - np.array([0.0, 0.0, up])


def gates(heading: float) -> Gate:
    return replace(GATE, heading=heading)


def test_the_axes_of_a_gate_by_hand():
    """Flown to the east, its right is south; up is against down."""
    east = gates(math.pi / 2.0)
    assert east.forward == pytest.approx([0.0, 1.0, 0.0])
    assert east.right == pytest.approx([-1.0, 0.0, 0.0])
    found = crossing(east, np.array([9.5, -3.0, -3.2]), np.array([9.5, -1.0, -3.2]))
    assert found is not None
    assert (found.fraction, found.side, found.up) == pytest.approx((0.5, 0.5, 0.2))
    assert found.ahead and found.inside


@given(turn, st.floats(0.01, 300.0), st.floats(0.01, 300.0), st.floats(-3.0, 3.0), st.floats(-2.0, 2.0))
def test_a_straight_passage_is_found_however_fast(heading, before, after, side, up):
    """Also hundreds of metres between two samples; the place in the opening is the one flown through."""
    gate = gates(heading)
    found = crossing(gate, at(gate, -before, side, up), at(gate, after, side, up))
    assert found is not None and found.ahead
    assert found.fraction == pytest.approx(before / (before + after), abs=1e-9)
    assert (found.side, found.up) == pytest.approx((side, up), abs=1e-9)
    if abs(abs(side) - 1.0) > 1e-6 and abs(abs(up) - 0.5) > 1e-6:
        assert found.inside == (abs(side) < 1.0 and abs(up) < 0.5)


@given(turn, place, place)
def test_the_way_back_is_the_same_crossing_from_behind(heading, before, after):
    gate = gates(heading)
    there, back = crossing(gate, before, after), crossing(gate, after, before)
    on_plane = min(abs(float((one - gate.centre) @ gate.forward)) for one in (before, after))
    if on_plane < 1e-9:
        return
    assert (there is None) == (back is None)
    if there is not None and back is not None:
        assert there.ahead != back.ahead
        assert there.fraction + back.fraction == pytest.approx(1.0, abs=1e-6)
        assert (there.side, there.up) == pytest.approx((back.side, back.up), abs=1e-4)


@given(turn, place, place, st.floats(0.0, 1.0))
def test_a_way_cut_in_two_crosses_as_often_as_the_whole(heading, before, after, share):
    """Whatever sample falls into the plane: never lost, never counted twice."""
    gate = gates(heading)
    middle = before + share * (after - before)
    whole = crossing(gate, before, after)
    parts = [crossing(gate, before, middle), crossing(gate, middle, after)]
    signs = [1 if one.ahead else -1 for one in parts if one is not None]
    assert sum(signs) == (0 if whole is None else 1 if whole.ahead else -1)


@pytest.mark.parametrize("touch", [-1.0, 0.0])
def test_a_sample_in_the_plane_counts_once(touch):
    """Samples at -1, 0 and +1 m: the step into the plane is the passage, the step out of it none."""
    into = crossing(GATE, at(GATE, -1.0, 0.0, 0.0), at(GATE, 0.0, 0.0, 0.0))
    out = crossing(GATE, at(GATE, 0.0, 0.0, 0.0), at(GATE, 1.0, 0.0, 0.0))
    assert into is not None and into.fraction == 1.0
    assert out is None
    assert crossing(GATE, at(GATE, touch, 0.0, 0.0), at(GATE, touch, 0.8, 0.3)) is None  # along the plane


@pytest.mark.parametrize(("side", "up", "inside"), [(1.0, 0.0, False), (0.0, 0.5, False), (0.0, -0.5, False),
                                                    (0.999, 0.499, True), (-1.001, 0.0, False)])  # fmt: skip
def test_an_edge_counts_as_hit(side, up, inside):
    found = crossing(GATE, at(GATE, -1.0, side, up), at(GATE, 1.0, side, up))
    assert found is not None and found.inside is inside


def test_a_grazing_way_is_judged_where_it_meets_the_plane():
    """Nearly along the plane, from beside the gate: 0.1 m before it to 0.1 m behind it over 40 m of side."""
    found = crossing(GATE, at(GATE, -0.1, -20.4, 0.0), at(GATE, 0.1, 19.6, 0.0))
    assert found is not None and found.inside
    assert found.side == pytest.approx(-0.4)
    missed = crossing(GATE, at(GATE, -0.1, -22.0, 0.0), at(GATE, 0.1, 18.0, 0.0))
    assert missed is not None and not missed.inside
