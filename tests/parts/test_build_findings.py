"""Balance: the thrust of each rotor by statics, the throttle that an offset costs, on both sides of its limit."""

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from quadsim.environment.atmosphere import Site
from quadsim.parts.bench import Bench
from quadsim.parts.build_findings import (
    LOST_THROTTLE_PCT,
    between_discs,
    centre_of_mass,
    hover_shares,
    lost_throttle_pct,
)

LISTED = 100 + 4 * 50 + 4 * 5 + 20 + 200 + 10 + 5
"""Mass of the craft with round numbers [g], of which the pack is 200 g."""


def with_pack_at(make_craft, forward, right=0.0):
    place = f"size_mm = [80, 40, 30]\nat_mm = [{forward}, {right}, 0]"
    return Bench.of(make_craft(("size_mm = [80, 40, 30]\nat_mm = [0, 0, 0]", place)), Site())


def test_shares_by_statics(make_craft):
    """Moments about the centre of mass of a square with hubs at (+-a, +-a): T_i/T = 1 + x_i dx/a2 + y_i dy/a2."""
    dx, dy = 20 * 200 / LISTED, 10 * 200 / LISTED
    shares = hover_shares(with_pack_at(make_craft, 20, 10))
    expected = [1 + (sx * dx + sy * dy) / 100 for sx, sy in ((1, 1), (-1, 1), (-1, -1), (1, -1))]
    assert shares == pytest.approx(expected, abs=1e-9)


def test_a_balanced_craft_loses_nothing(make_craft):
    assert lost_throttle_pct(with_pack_at(make_craft, 0)) == pytest.approx(0.0, abs=1e-9)


def test_lost_throttle_by_the_thrust_curve(make_craft):
    """Thrust is between T ~ u (circuit resistance alone) and T ~ u^2 (back-EMF alone, constant CT); a CT that rises with speed
    makes it a little steeper than that."""
    bench = with_pack_at(make_craft, 30)
    mean = bench.late_hover.duty
    ratio = 1.0 + lost_throttle_pct(bench) / 100.0 / mean
    share = float(np.max(hover_shares(bench)))
    assert share**0.45 < ratio < share


def test_both_sides_of_its_limit(make_craft):
    low, high = 0.0, 100.0
    for _ in range(20):
        middle = 0.5 * (low + high)
        low, high = (
            (middle, high)
            if lost_throttle_pct(with_pack_at(make_craft, middle)) < LOST_THROTTLE_PCT
            else (low, middle)
        )
    inside, outside = (centre_of_mass(with_pack_at(make_craft, at)) for at in (low - 0.1, high + 0.1))
    assert inside.ok
    assert not outside.ok
    assert "mm forward" in outside.message


@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.tuples(st.floats(0.0, 60.0), st.floats(0.0, 60.0)), st.floats(0.0, 6.28))
def test_further_off_costs_more(make_craft, distances, way):
    near, far = sorted(distances)
    costs = [
        lost_throttle_pct(with_pack_at(make_craft, d * np.cos(way), d * np.sin(way))) for d in (near, far)
    ]
    assert costs[0] <= costs[1] + 1e-9


def square(make_craft, hub):
    names = [("front_right", 1, 1), ("rear_right", -1, 1), ("rear_left", -1, -1), ("front_left", 1, -1)]
    return make_craft(
        *((f"{n} = [{100 * x}, {100 * y}, -20]", f"{n} = [{hub * x}, {hub * y}, -20]") for n, x, y in names)
    )


def test_disc_gap_on_both_sides(make_craft):
    """Discs of 152.4 mm, hubs 2 a apart, 3 % of a diameter (4.572 mm) between: a = 78.486 mm is the edge."""
    for hub, ok in ((78.4, False), (78.6, True)):
        found = between_discs(Bench.of(square(make_craft, hub), Site()))
        assert (found.ok, found.value) == (ok, pytest.approx(2 * hub - 152.4))
        assert found.limit == pytest.approx(4.572)


@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.tuples(st.floats(77.0, 200.0), st.floats(77.0, 200.0)))
def test_longer_arms_leave_more_room(make_craft, hubs):
    near, far = (between_discs(Bench.of(square(make_craft, hub), Site())).value for hub in sorted(hubs))
    assert near <= far + 1e-9


def test_a_pack_far_outside_the_rotors_is_found(make_craft):
    """A centre of mass ahead of all rotors: the rear ones would have to pull down, and the question still has an answer."""
    bench = with_pack_at(make_craft, 600)
    assert np.min(hover_shares(bench)) < 0.0
    found = centre_of_mass(bench)
    assert not found.ok
    assert found.value > 20.0
