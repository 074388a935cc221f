"""The line of the lap estimate as it is flown: through the gates where the estimate passes them, in the estimate's time."""

import numpy as np
import pytest

from quadsim.config.contest_schema import load_contest
from quadsim.parts.course_kernels import lap_time
from quadsim.parts.figures import CUT, course_rows
from quadsim.parts.slalom_line import SPACING_M, flown_path, slalom_line, times_along

CONTEST = load_contest("three_events")
LINE = slalom_line(CONTEST, 3)


@pytest.mark.parametrize(("push", "top"), [(10.0, 20.0), (45.0, 45.0), (5.0, 100.0)])
def test_a_lap_along_it_takes_what_the_estimate_says(push, top):
    passed = times_along(LINE, push, top)[LINE.gates]
    estimate = lap_time(course_rows(CONTEST), push, top, np.empty(LINE.gates.shape[1]))
    assert np.diff(passed[:, 0]) == pytest.approx(estimate, rel=5e-4)


def test_it_passes_every_gate_inside_the_corner_and_has_no_gaps():
    off = np.linalg.norm(LINE.places[LINE.gates] - np.array(CONTEST.slalom.gates_m, float), axis=2)
    assert np.all(off <= CUT * float(CONTEST.slalom.opening_m) + 1e-9)
    assert off.max() == pytest.approx(CUT * float(CONTEST.slalom.opening_m))
    assert np.diff(LINE.way).max() <= SPACING_M + 1e-9


def test_it_bends_as_it_says():
    """Curvature of three neighbours on an arc: 4 area / product of the sides."""
    a, b, c = LINE.places[:-2], LINE.places[1:-1], LINE.places[2:]
    area = 0.5 * np.linalg.norm(np.cross(b - a, c - a), axis=1)
    sides = np.linalg.norm(b - a, axis=1) * np.linalg.norm(c - b, axis=1) * np.linalg.norm(c - a, axis=1)
    middle = LINE.gates.ravel()
    assert (4.0 * area / sides)[middle - 1] == pytest.approx(1.0 / LINE.radius[middle], rel=1e-3)


def test_the_path_begins_at_rest_above_the_take_off_point():
    path = flown_path(LINE, times_along(LINE, 10.0, 20.0), 2.0)
    place, velocity, _ = path.at(np.array([0.0, 2.0]))
    assert place[:, :2] == pytest.approx(0.0, abs=1e-9) and place[:, 2] == pytest.approx(-LINE.places[0, 2])
    assert velocity == pytest.approx(0.0, abs=1e-9)
