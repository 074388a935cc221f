"""The lap clock: order, direction, misses, splits, laps."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from quadsim.practice.lap_watch import LapWatch, Miss, Passage
from tests.planning.course_cases import a_course, a_gate

ROUND = [(0, 0, -2), (8, 0, -2), (18, 0, -2), (18, 6, -2), (2, 6, -2), (0, 0, -2)]


def test_a_closed_course_is_timed_from_the_first_gate_to_itself(make_course, fly_way):
    watch = LapWatch(make_course())
    assert watch.clock_s(3.0) is None
    _, t = fly_way(watch, *ROUND)
    assert [p.name for p in watch.passages] == ["out", "far", "back"] and not watch.laps
    fly_way(watch, (0, 0, -2), (8, 0, -2), t_s=t)
    (lap,) = watch.laps
    # by hand: the first gate is passed at 0.5 s; the round is 8+10+6+16 m in whole steps and sqrt(40) m in 6 steps of 0.1 s
    assert lap.start_s == pytest.approx(0.5) and lap.time_s == pytest.approx(
        0.8 + 1.0 + 0.6 + 1.6 + 0.6 - 0.0
    )
    assert lap.splits_s[1] == pytest.approx(1.0) and len(lap.splits_s) == 4
    assert watch.finished and watch.clock_s(99.0) == lap.time_s


def test_an_open_course_is_timed_from_the_signal_to_the_last_gate(make_course, fly_way):
    watch = LapWatch(make_course(closed=False))
    assert watch.clock_s(0.3) == 0.3
    fly_way(watch, *ROUND)
    (lap,) = watch.laps
    assert lap.splits_s[0] == pytest.approx(0.5)
    assert lap.time_s == lap.splits_s[-1] and len(lap.splits_s) == 3


def test_laps_go_on_until_all_are_flown(make_course, fly_way):
    watch = LapWatch(make_course(laps=2))
    _, t = fly_way(watch, *ROUND, *ROUND)
    assert len(watch.laps) == 1 and not watch.finished
    fly_way(watch, (0, 0, -2), (8, 0, -2), t_s=t)
    assert watch.finished and [lap.number for lap in watch.laps] == [1, 2]


@pytest.mark.parametrize(
    ("way", "how"),
    [
        ([(0, 1.8, -2), (8, 1.8, -2)], "right of it"),
        ([(0, -1.8, -2), (8, -1.8, -2)], "left of it"),
        ([(0, 0, -4.0), (8, 0, -4.0)], "above it"),
        ([(0, 0, -0.5), (8, 0, -0.5)], "below it"),
        ([(8, 0, -2), (2, 0, -2)], "the wrong way"),
        ([(12, 0, -2), (18, 0, -2)], "out of order"),
    ],
)
def test_a_miss_says_how_and_the_gate_stays_the_next(make_course, fly_way, way, how):
    watch = LapWatch(make_course())
    found, _ = fly_way(watch, *way)
    assert [type(one) for one in found] == [Miss] and found[0].how == how
    assert watch.next == 0


def test_far_from_the_next_gate_is_no_miss(make_course, fly_way):
    found, _ = fly_way(LapWatch(make_course()), (0, 9, -2), (8, 9, -2))
    assert not found


def test_flying_back_out_of_the_gate_just_passed_is_no_miss(make_course, fly_way):
    watch = LapWatch(make_course())
    found, _ = fly_way(watch, (0, 0, -2), (8, 0, -2), (2, 0, -2))
    assert [type(one) for one in found] == [Passage]


def test_a_gate_flown_twice_each_way(make_course, fly_way):
    """Out through a gate, and back through the same opening as the next one in the order."""
    import dataclasses

    out = make_course().gates[0]
    watch = LapWatch(
        make_course(closed=False, gates=(out, dataclasses.replace(out, name="home", heading=np.pi)))
    )
    found, _ = fly_way(watch, (0, 0, -2), (8, 0, -2), (2, 0, -2))
    assert [one.name for one in found] == ["out", "home"] and watch.finished


def test_a_set_back_clock_is_another_one(make_course, fly_way):
    watch = LapWatch(make_course())
    fly_way(watch, (0, 0, -2), (8, 0, -2))
    kept = watch.copy()
    fly_way(watch, (8, 0, -2), (18, 0, -2), t_s=0.8)
    assert (kept.next, len(kept.passages), len(kept.splits_s)) == (1, 1, 1)
    assert (watch.next, len(watch.passages)) == (2, 2)


@settings(max_examples=60, deadline=None)
@given(
    side=st.floats(-2.4, 2.4), up=st.floats(-1.9, 2.4), step=st.floats(0.05, 6.0), back=st.booleans(),
)  # fmt: skip
def test_a_passage_is_what_is_inside_and_ahead_however_coarse_the_samples(side, up, step, back):
    """A straight flight past one gate: the verdict depends on where its line crosses, not on how it is sampled."""
    watch = LapWatch(a_course(a_gate("g", 5.0)))
    begin, end = (12.0, -2.0) if back else (-2.0, 12.0)
    count = int(np.ceil(14.0 / step)) + 1
    places = [np.array([x, side, -2.0 - up]) for x in np.linspace(begin, end, count)]
    found = [
        one
        for k in range(1, count)
        for one in watch.see(k - 1.0, places[k - 1], float(k), places[k], np.ones(3))
    ]
    inside = abs(side) < 1.0 and abs(up) < 1.0
    passed = [one for one in found if isinstance(one, Passage)]
    assert bool(passed) == (inside and not back)
    assert len(found) <= 1
    if passed:
        assert passed[0].side_m == pytest.approx(side, abs=1e-9) and passed[0].up_m == pytest.approx(
            up, abs=1e-9
        )
        moment = (7.0 / 14.0) * (count - 1)
        assert passed[0].t_s == pytest.approx(moment, abs=1e-9)
