"""The search behind every limit: roots known in closed form, jumps, ends; and answers that are smooth in what they depend on."""

from dataclasses import replace

import numpy as np
import pytest

from quadsim.config import load_craft, resolve_plant
from quadsim.contest.crossing import HALVINGS, SLACK, last_kept
from quadsim.contest.crowd import crowd_of
from quadsim.contest.dash import top_speeds
from quadsim.contest.dash_prediction import dash_of
from quadsim.contest.lift import ratings
from quadsim.contest.rules import DashRule
from quadsim.environment.atmosphere import Site


def searched(left, low, high, halvings=HALVINGS):
    """The answer, and how often `left` was asked."""
    asked = []

    def counted(x):
        asked.append(x)
        return left(x)

    return last_kept(counted, np.asarray(low, float), np.asarray(high, float), halvings), len(asked)


def test_roots_in_closed_form():
    wanted = np.array([2.0 ** (1 / 3), np.pi / 2.0, np.log(7.0), 0.3])

    def left(x):
        return np.array([2.0 - x[0] ** 3, np.cos(x[1]), 7.0 - np.exp(x[2]), (0.3 - x[3]) ** 3])

    found, asked = searched(left, np.zeros(4), [2.0, 3.0, 3.0, 1.0])
    assert np.all(left(found) >= 0.0) and found == pytest.approx(wanted, abs=3.0 * 2.0**-HALVINGS)
    assert asked <= HALVINGS + SLACK + 2
    assert searched(lambda x: 2.0 - x**3, [0.0], [2.0])[1] <= 14  # a smooth one takes few


@pytest.mark.parametrize("at", [0.001, 0.37, 0.999])
def test_a_jump_takes_one_round_more_than_halving(at):
    found, asked = searched(lambda x: np.where(x <= at, 0.4, -1.0), [0.0], [1.0], 20)
    assert at - 2.0**-20 <= found[0] <= at
    assert asked <= 20 + SLACK + 2


def test_what_is_kept_or_passed_everywhere_ends_at_the_bound():
    found, _ = searched(lambda x: np.array([1.0, -1.0, 0.5 - x[2]]), np.zeros(3), np.ones(3))
    assert found == pytest.approx([1.0, 0.0, 0.5], abs=2.0**-HALVINGS)


def test_top_speed_is_smooth_in_the_mass():
    # thousandths of a gram: what the search leaves open must not hide them
    craft = load_craft("siskin")
    plant = resolve_plant(craft, Site())
    one = crowd_of([plant]).rows([0] * 9)
    grams = np.linspace(-0.004, 0.004, 9)
    moved = replace(one, numbers=one.numbers | {"mass": one.mass + 1e-3 * grams})
    found = top_speeds(moved, dash_of(craft, DashRule()), ratings(craft, plant, 9), 29.0)
    slope, middle = np.polyfit(grams, found, 1)
    assert found == pytest.approx(middle + slope * grams, abs=2e-7)
    assert abs(slope) * 1e-3 > 4e-6
