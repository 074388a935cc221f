"""Mass properties of a craft: what is listed, what is weighed, what is carried."""

import numpy as np
import pytest

from quadsim.config import Load, mass_properties
from quadsim.config.craft_solids import craft_solids, rotor_places
from quadsim.config.mass_properties import rotor_inertia
from quadsim.units import MM


def test_listed_mass_and_centre_by_hand(make_craft):
    # plate 100, motors 4 x 50, propellers 4 x 5, ESC 20, pack 200, controller 10, receiver 5: 555 g
    # moments down: motors 200 g at 0 (20 above + 20 below), propellers 20 x -20, pack 200 x -25, both boards 15 x -10
    properties = mass_properties(make_craft())
    assert properties.mass_kg == pytest.approx(0.555, rel=1e-12)
    expected = [(10 * 12 - 5 * 30) / 555, 0.0, (20 * -20 + 200 * -25 + 15 * -10) / 555]
    np.testing.assert_allclose(properties.centre_of_mass_m, np.array(expected) * MM, atol=1e-12)


def test_rotors_of_an_x_frame_stand_on_a_square(make_craft):
    # diagonal 282.84 mm: 100 mm forward and 100 mm aside each
    expected = np.array([[100, 100, -20], [-100, 100, -20], [-100, -100, -20], [100, -100, -20]]) * MM
    np.testing.assert_allclose(rotor_places(make_craft()), expected, atol=1e-12)


def test_unlisted_mass_adds_its_share_and_scales_the_inertia(make_craft):
    bare = mass_properties(make_craft())
    more = mass_properties(make_craft(("unlisted_pct = 0", "unlisted_pct = { value = 8, sigma = 4 }")))
    assert more.mass_kg == pytest.approx(0.555 * 1.08, rel=1e-12)
    assert more.unlisted_mass_kg == pytest.approx(0.0444, rel=1e-9)
    assert more.mass_sigma_kg == pytest.approx(0.0222, rel=1e-9)
    assert more.weighed_difference_kg is None
    np.testing.assert_allclose(more.inertia_kg_m2, 1.08 * bare.inertia_kg_m2, rtol=1e-12)
    np.testing.assert_array_equal(more.centre_of_mass_m, bare.centre_of_mass_m)


def test_without_scales_the_allowance_is_eight_percent(make_craft):
    craft = make_craft(("unlisted_pct = 0", ""))
    assert mass_properties(craft).mass_kg == pytest.approx(0.555 * 1.08, rel=1e-12)
    assert craft.mass.unlisted_pct.sigma == 4.0


def test_weighed_mass_replaces_the_allowance(make_craft):
    bare = mass_properties(make_craft())
    craft = make_craft(("unlisted_pct = 0", "unlisted_pct = 8\nweighed_mass_g = { value = 620, sigma = 2 }"))
    weighed = mass_properties(craft)
    assert (weighed.mass_kg, weighed.mass_sigma_kg) == (pytest.approx(0.620), pytest.approx(0.002))
    assert weighed.listed_mass_kg == pytest.approx(0.555)
    assert weighed.unlisted_mass_kg == pytest.approx(0.065)
    assert weighed.weighed_difference_kg == pytest.approx(0.620 - 0.5994)
    np.testing.assert_allclose(weighed.inertia_kg_m2, bare.inertia_kg_m2 * (620 / 555), rtol=1e-12)


def test_a_load_is_a_box_on_the_composite(make_craft):
    # two bodies about their common centre: I = I1 + I2 + m1 m2/(m1 + m2) (d.d 1 - d d^T)
    craft = make_craft()
    bare = mass_properties(craft)
    load = Load(mass_kg=0.3, size_m=(0.06, 0.05, 0.04), at_m=(0.02, -0.01, 0.05))
    loaded = mass_properties(craft, (load,))
    gap = np.array(load.at_m) - bare.centre_of_mass_m
    x, y, z = 0.06**2, 0.05**2, 0.04**2
    own = 0.3 / 12.0 * np.diag([y + z, x + z, x + y])
    reduced = 0.555 * 0.3 / 0.855
    expected = bare.inertia_kg_m2 + own + reduced * (gap @ gap * np.eye(3) - np.outer(gap, gap))
    assert loaded.mass_kg == pytest.approx(0.855)
    np.testing.assert_allclose(loaded.centre_of_mass_m, bare.centre_of_mass_m + 0.3 / 0.855 * gap, atol=1e-15)
    np.testing.assert_allclose(loaded.inertia_kg_m2, expected, atol=1e-15)


def test_two_loads_are_what_one_after_the_other_is(make_craft):
    craft = make_craft()
    whole = Load(0.2, (0.04, 0.04, 0.08), (0.0, 0.03, 0.06))
    halves = [Load(0.1, (0.04, 0.04, 0.04), (0.0, 0.03, 0.06 + shift)) for shift in (-0.02, 0.02)]
    one, two = mass_properties(craft, (whole,)), mass_properties(craft, halves)
    np.testing.assert_allclose(one.inertia_kg_m2, two.inertia_kg_m2, atol=1e-15)


def test_weighing_does_not_stretch_the_load(make_craft):
    craft = make_craft(("unlisted_pct = 0", "weighed_mass_g = 600"))
    loaded = mass_properties(craft, (Load(0.25, (0.1, 0.1, 0.1), (0.0, 0.0, 0.0)),))
    assert loaded.mass_kg == pytest.approx(0.85)


def test_rotor_inertia_by_hand(make_craft):
    # propeller 5 g at 50 % of 76.2 mm, bell 20 g at 12 mm
    assert rotor_inertia(make_craft()) == pytest.approx(0.005 * 0.0381**2 + 0.020 * 0.012**2, rel=1e-12)


def test_the_propeller_of_the_inertia_tensor_has_the_rotor_inertia(make_craft):
    disc = next(solid for solid in craft_solids(make_craft()) if solid.name == "propeller front_right")
    assert disc.inertia()[2, 2] == pytest.approx(0.005 * 0.0381**2, rel=1e-12)


PARTS = """
[[parts]]
name = "arm"
shape = "box"
mass_g = 20
size_mm = [90, 12, 6]
at = "arms"
at_mm = [10, 0, 3]
[[parts]]
name = "leg"
shape = "rod"
mass_g = 4
size_mm = [50]
axis = "down"
at = "rotors"
at_mm = [0, 5, 40]
count = 2
"""


def test_parts_at_arms_and_rotors(make_craft):
    solids = {solid.name: solid for solid in craft_solids(make_craft(more=PARTS))}
    # arm: outer end at the rotor's axis 141.42 mm out, then 10 mm further: its middle at 106.42 mm, on the diagonal
    arm = solids["arm rear_left"]
    np.testing.assert_allclose(arm.at_m, np.array([-75.2513, -75.2513, 3.0]) * MM, atol=1e-7)
    assert np.tan(arm.yaw_rad) == pytest.approx(1.0)
    leg = solids["leg front_left"]
    np.testing.assert_allclose(leg.at_m, np.array([100, -95, 20]) * MM, atol=1e-12)
    assert (leg.mass_kg, leg.extent_m) == (pytest.approx(0.008), (0.0, 0.0, pytest.approx(0.05)))
    mass = mass_properties(make_craft(more=PARTS)).mass_kg
    assert mass == pytest.approx(0.555 + 4 * 0.020 + 4 * 0.008)


def test_escs_one_per_motor(make_craft):
    one = make_craft()
    each = make_craft(
        ('arrangement = "one board"', 'arrangement = "one per motor"\nat_mm = [-50, 0, 10]\nprice = 11'),
    )
    assert mass_properties(each).mass_kg == pytest.approx(mass_properties(one).mass_kg + 3 * 0.020)
    esc = next(solid for solid in craft_solids(each) if solid.name == "esc front_left")
    inward = (141.42136 - 50) / np.sqrt(2)
    np.testing.assert_allclose(esc.at_m, np.array([inward, -inward, -10]) * MM, atol=1e-7)
    assert each.price == 44.0


def test_price_counts_every_piece(make_craft):
    craft = make_craft(
        ("bell_mass_g = 20", "bell_mass_g = 20\nprice = 10"),
        ("gyration_pct = 50", "gyration_pct = 50\nprice = 2"),
        ("label_C_rating = 60", "label_C_rating = 60\nprice = 30"),
        ("pack_current_A = 0.5", "pack_current_A = 0.5\nprice = 40"),
        ('link_loss = "cut"', 'link_loss = "cut"\nprice = 20'),
        ('arrangement = "one board"', 'arrangement = "one board"\nprice = 50'),
        more=PARTS.replace("count = 2", "count = 2\nprice = 3").replace(
            "at_mm = [10, 0, 3]", "at_mm = [10, 0, 3]\nprice = 5"
        ),
    )
    # four motors, four propellers, pack, controller, receiver, board, four arms, four places with two legs
    assert craft.price == 4 * 10 + 4 * 2 + 30 + 40 + 20 + 50 + 4 * 5 + 4 * 2 * 3
