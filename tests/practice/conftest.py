"""A small invented course: two gates out, one back."""

from itertools import pairwise

import numpy as np
import pytest

from quadsim.config.course import Box, Post
from tests.planning.course_cases import a_course, a_gate


@pytest.fixture
def make_course():
    """A function that makes the course; closed or open, with so many laps."""

    def make(closed=True, laps=1, start=(0.0, 0.0), gates=None):
        own = gates or (a_gate("out", 5.0), a_gate("far", 15.0), a_gate("back", 10.0, 6.0, heading_deg=180.0))
        return a_course(
            *own, start=(*start, 0.0), closed=closed, laps=laps, name="Invented round",
            posts=(Post("pole", np.array([10.0, -3.0]), 3.0, 0.1),),
            boxes=(Box("hut", np.array([20.0, -8.0, -3.0]), np.array([24.0, -4.0, 0.0])),),
            low=(-10.0, -15.0, -12.0), high=(30.0, 15.0, 0.0),
        )  # fmt: skip

    return make


@pytest.fixture
def fly_way():
    """A function that flies straight ways from place to place past a watch, at 1 m per tenth of a second."""

    def fly(watch, *places, t_s=0.0):
        found = []
        for a, b in pairwise(places):
            a, b = np.array(a, float), np.array(b, float)
            steps = max(1, round(float(np.linalg.norm(b - a))))
            for k in range(steps):
                p, q = a + (b - a) * k / steps, a + (b - a) * (k + 1) / steps
                found += watch.see(t_s, p, t_s + 0.1, q, (q - p) / 0.1)
                t_s += 0.1
        return found, t_s

    return fly
