"""The gain map against slower and independent ways to the same: eigenvalues of the sampled loop, margins of each loop anew."""

from __future__ import annotations

import numpy as np
import pytest

from quadsim.analysis.craft_loops import LOOPS, Condition, LoopBench, craft_loops, frequencies, loop_bench
from quadsim.analysis.gain_axes import gain_axes
from quadsim.analysis.gain_edges import best_point, edges, nearest_edge
from quadsim.analysis.gain_loops import GainLoops
from quadsim.analysis.gain_map import GainMap, gain_map
from quadsim.analysis.margins import margins
from quadsim.analysis.sampled_loop import loop_modes
from quadsim.errors import InputError

pytestmark = pytest.mark.jit

FULL = Condition(duty=0.95)


@pytest.fixture(scope="module")
def bench() -> LoopBench:
    return loop_bench("siskin")


@pytest.fixture(scope="module")
def found(bench) -> GainMap:
    return gain_map(bench, gain_axes("rate.roll_p,rate.roll_d", bench), [FULL])


def anew(bench: LoopBench, found: GainMap, values: tuple[float, float]):
    """The craft with other gains, everything linearised again."""
    gains = bench.gains.copy()
    for axis, value in zip(found.axes, values, strict=True):
        gains[axis.row, axis.gain] = value
    return craft_loops(bench.with_gains(gains), FULL)


@pytest.mark.parametrize("where", [(0, 0), (3, 18), (4, 2), (5, 18), (10, 10), (20, 0), (20, 20)])
def test_stability_is_that_of_the_eigenvalues(bench, found, where):
    values = tuple(float(axis.values[n]) for axis, n in zip(found.axes, where, strict=True))
    assert loop_modes(anew(bench, found, values)).stable == found.grid.stable[where]


def test_the_map_has_an_unstable_and_a_safe_part(found):
    assert 0.1 < np.mean(~found.grid.stable) < 0.5
    assert np.any(found.grid.reserve > 1.0)
    assert np.all(found.grid.stable == (found.grid.reserve >= 0.0))


@pytest.mark.parametrize("where", [(8, 4), (14, 16), (20, 3)])
def test_margins_are_those_of_the_loop_linearised_anew(bench, found, where):
    values = tuple(float(axis.values[n]) for axis, n in zip(found.axes, where, strict=True))
    w = frequencies(bench)
    model = anew(bench, found, values).model(w)
    ruler = [margins(w, model.loop(LOOPS[name])) for name in found.loops]
    assert found.grid.gain_up_dB[where] == pytest.approx(min(m.gain_up_dB for m in ruler), abs=0.1)
    assert found.grid.gain_down_dB[where] == pytest.approx(min(m.gain_down_dB for m in ruler), abs=0.1)
    assert found.grid.phase_deg[where] == pytest.approx(min(m.phase_deg for m in ruler), abs=0.5)
    assert found.grid.crossover_Hz[where] == pytest.approx(ruler[0].crossover_Hz, rel=0.01)


def test_the_unstable_edge_lies_where_the_eigenvalues_put_it(bench, found):
    edge = next(e for e in edges(found) if (e.gain, e.way, e.kind) == ("rate.roll_p", "down", "stable"))
    present = found.axes[1].present
    assert edge.value is not None and edge.leaving
    assert edge.ratio_dB == pytest.approx(20.0 * np.log10(edge.value / found.axes[0].present))
    assert loop_modes(anew(bench, found, (1.02 * edge.value, present))).stable
    assert not loop_modes(anew(bench, found, (0.98 * edge.value, present))).stable


def test_the_safe_edge_is_where_the_practice_is_just_met(bench, found):
    for edge in (e for e in edges(found) if e.kind == "safe" and e.value is not None):
        k = [axis.name for axis in found.axes].index(edge.gain)
        values = [axis.present for axis in found.axes]
        values[k] = edge.value
        w = frequencies(bench)
        model = anew(bench, found, tuple(values)).model(w)
        one = margins(w, model.loop(LOOPS[edge.loop]))
        assert min(one.gain_up_dB / 6.0, one.gain_down_dB / 6.0, one.phase_deg / 45.0) == pytest.approx(
            1.0, abs=0.02
        )


def test_the_nearest_edge_is_no_farther_than_that_of_either_gain(found):
    near = nearest_edge(found)
    alone = min(abs(e.ratio_dB) for e in edges(found) if e.kind == "safe" and e.ratio_dB is not None)
    assert near.leaving and 0.0 < near.distance_dB <= alone + 0.2
    assert found.at(np.array([near.values])).reserve[0] == pytest.approx(1.0, abs=0.05)


def test_the_best_point_is_safe_and_rejects_better_than_the_present_gains(found):
    best = best_point(found)
    there = found.at(np.array([best.values]))
    assert there.reserve[0] >= 1.0
    assert there.sway_deg[0] < found.now.sway_deg[0]


def test_cut_offs_are_interpolated_between_exact_values(bench):
    axes = gain_axes("rate.roll_p,rate.derivative_cutoff=20:200", bench)
    loops = GainLoops(
        craft_loops(bench, FULL), frequencies(bench, 20), (axes[0].knob, axes[1].knob), [LOOPS["roll"]]
    )
    points = [(30.0, 50.0), (12.0, 133.0)]
    fast, slow = loops.at(np.array(points)).loops[LOOPS["roll"]], loops.exactly(points).loops[LOOPS["roll"]]
    error = np.abs(fast - slow) / np.abs(1.0 + slow)
    assert 0.0 < np.max(error) < 0.01, np.max(error)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("rate.roll_p", "two"),
        ("rate.roll_p,rate.roll_p", "twice"),
        ("rate.roll_p=30:60,rate.roll_d", "present value"),
        ("rate.roll_p=5:600,rate.roll_d", "within"),
        ("rate.roll_p=5,rate.roll_d", "LOW:HIGH"),
        ("rate.roll_pp,rate.roll_d", "nearest"),
    ],
)
def test_bad_maps_are_refused_with_what_is_allowed(bench, text, words):
    with pytest.raises(InputError, match=words):
        gain_axes(text, bench)


def test_gains_that_move_no_loop_are_refused(bench):
    with pytest.raises(InputError, match="move no loop"):
        gain_map(bench, gain_axes("rate.integral_limit,rate.feed_forward_limit", bench), [FULL])
