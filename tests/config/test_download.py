"""Download of a payload: what a rotor's wake gives back, against momentum theory worked by hand."""

import math

import numpy as np
import pytest

from quadsim.config import Load, load_craft, resolve_plant
from quadsim.config.download import box_download, download_shares
from quadsim.config.equilibrium import static_factors
from quadsim.environment.atmosphere import Site

HUBS = np.array([[0.2, 0.2, 0.0], [-0.2, 0.2, 0.0], [-0.2, -0.2, 0.0], [0.2, -0.2, 0.0]])
RADIUS = 0.13


def load(size, at, **more):
    return Load(0.3, size, at, **more)


def test_a_small_face_in_the_wake():
    """One radius below the disc s = 1/sqrt 2: 1.05 S (1 + s)^2/(4 pi R^2), only at the rotor above it."""
    share = box_download(HUBS, RADIUS, load((0.04, 0.05, 0.02), (0.2, 0.2, RADIUS + 0.01)))
    expected = 1.05 * 0.04 * 0.05 * (1.0 + math.sqrt(0.5)) ** 2 / (4.0 * math.pi * RADIUS**2)
    assert share == pytest.approx([expected, 0.0, 0.0, 0.0], rel=1e-9)
    assert 0.02 < expected < 0.04


def test_a_wide_plate_takes_what_the_contracted_wake_carries():
    """A plate wider than the wake: S = A/(1 + s), so the share is 1.05 (1 + s)/4 (cells: within 2 %)."""
    share = box_download(HUBS, RADIUS, load((0.27, 0.27, 0.002), (-0.2, 0.2, 0.061)))
    s = 0.06 / math.hypot(0.06, RADIUS)
    assert share[1] == pytest.approx(1.05 * (1.0 + s) / 4.0, rel=0.02)


def test_what_is_not_in_a_wake():
    assert not box_download(HUBS, RADIUS, load((0.1, 0.08, 0.06), (0.0, 0.0, 0.1))).any()  # under the belly
    assert not box_download(HUBS, RADIUS, load((0.1, 0.1, 0.06), (0.2, 0.2, -0.1))).any()  # above the disc


def test_loads_add_up_and_a_stated_share_counts():
    """Two loads leave the product of what each leaves; nothing lost without loads."""
    stated = load((0.1, 0.1, 0.1), (0.0, 0.0, 0.1), download=0.05)
    assert download_shares(HUBS, RADIUS, [stated, stated]) == pytest.approx(1.0 - 0.95**2)
    assert not download_shares(HUBS, RADIUS, []).any()


def test_it_lowers_the_thrust_of_a_plant():
    craft, site = load_craft("bonxie"), Site()
    bare = resolve_plant(craft, site)
    laden = resolve_plant(craft, site, [load((0.1, 0.1, 0.1), (0.0, 0.0, 0.1), download=0.06)])
    assert static_factors(laden)[0] == pytest.approx(0.94 * static_factors(bare)[0])
    assert static_factors(laden)[1] == static_factors(bare)[1]


def test_a_load_adds_its_drag_where_it_is():
    craft, site = load_craft("bonxie"), Site()
    bare = resolve_plant(craft, site)
    laden = resolve_plant(craft, site, [load((0.1, 0.2, 0.05), (0.0, 0.0, 0.1))])
    added = np.asarray(laden.drag_area) - np.asarray(bare.drag_area)
    assert added == pytest.approx(1.05 * np.array([0.2 * 0.05, 0.1 * 0.05, 0.1 * 0.2]))
    centres = [np.asarray(p.drag_centre) + np.asarray(p.centre_of_mass) for p in (bare, laden)]
    weights = [np.sum(p.drag_area) for p in (bare, laden)]
    moved = weights[0] * centres[0] + added.sum() * np.array([0.0, 0.0, 0.1])
    assert centres[1] == pytest.approx(moved / weights[1])
