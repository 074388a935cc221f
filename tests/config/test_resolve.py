"""From craft to plant and builder: units, signs, and agreement with the plant's own derivative."""

import math

import numpy as np
import pytest

from controllers.signals import rows
from quadsim.config import Load, mass_properties, resolve_builder, resolve_plant
from quadsim.config.equilibrium import balance_at_voltage, circuit_resistance, hover_balance, pack_source
from quadsim.config.warmth import begin_at
from quadsim.dynamics.derivative import full_derivative
from quadsim.dynamics.records import HELD
from quadsim.dynamics.rotor_map import rotor_map
from quadsim.dynamics.state import SIZE, X
from quadsim.environment.atmosphere import Site
from quadsim.errors import InputError

SITE = Site(temperature_C=20.0, pressure_hPa=980.0)


def accelerations(plant, speeds, duty, charge=1.0, tilt=0.0):
    """State derivative high over the ground, rolled by `tilt`, at given rotor speeds and duties."""
    x, dx, held = np.zeros(SIZE), np.zeros(SIZE), rows(HELD)[0]
    x[X.POSITION + 2] = -50.0
    x[X.QUATERNION], x[X.QUATERNION + 1] = math.cos(tilt / 2.0), math.sin(tilt / 2.0)
    x[X.ROTORS : X.ROTORS + 4] = speeds
    x[X.CHARGE] = charge
    held.duty[:] = duty
    held.thrust_factor[:] = held.torque_factor[:] = 1.0
    held.turning[:] = plant.spin
    begin_at(held, plant, float(plant.working_temperature))
    full_derivative(0.0, x, held, plant, dx)
    return dx, held


def test_electrical_values_by_hand(make_craft):
    plant = resolve_plant(make_craft(), SITE)
    assert plant.torque_constant == pytest.approx(60.0 / (2.0 * math.pi * 1000.0))  # M. Drela (2007)
    # 100 mohm at 20 C, copper's +0.393 %/K (IEC 60028) for 50 K, and 5 mohm of the ESC
    assert circuit_resistance(plant) == pytest.approx(0.1 * (1.0 + 0.00393 * 50.0) + 0.005)
    assert circuit_resistance(plant, 293.15) == pytest.approx(0.105)
    assert (plant.pack_resistance, plant.lead_resistance) == pytest.approx((4 * 0.004, 0.003))
    assert pack_source(plant, 1.0, False)[1] == pytest.approx(0.019)  # full, 20 deg C
    assert plant.relaxation_resistance == pytest.approx(4 * 0.004 * 0.63)
    assert plant.relaxation_resistance * plant.relaxation_capacitance == pytest.approx(33.0)
    assert plant.capacity == pytest.approx(7200.0)  # 2 A h
    assert (plant.current_limit, plant.avionics_current) == (30.0, 0.5)
    no_load_speed = (14.8 - 0.5 * 0.1) / plant.torque_constant  # at 3.7 V for each of four cells
    assert plant.no_load_current + plant.no_load_slope * no_load_speed == pytest.approx(0.5)
    assert plant.no_load_current == pytest.approx(0.25)
    assert plant.air_density == pytest.approx(98000.0 / (287.05287 * 293.15))


def test_the_smaller_current_limit_counts(make_craft):
    strong = make_craft(("current_limit_A = 30", "current_limit_A = 60"))
    assert resolve_plant(strong, SITE).current_limit == 40.0


def test_inertia_inverse_leaves_the_rotors_axial_inertia_out(make_craft):
    craft = make_craft()
    plant = resolve_plant(craft, SITE)
    without = np.array(plant.inertia, copy=True)
    without[2, 2] -= 4.0 * plant.rotor_inertia
    np.testing.assert_allclose(plant.inertia_inverse @ without, np.eye(3), atol=1e-12)
    np.testing.assert_allclose(plant.inertia, mass_properties(craft).inertia_kg_m2)


def test_places_count_from_the_centre_of_mass_of_the_loaded_craft(make_craft):
    craft = make_craft()
    load = Load(0.2, (0.05, 0.05, 0.05), (0.04, 0.0, -0.06), drag_area_m2=0.0)  # on top, above the feet
    bare, loaded = resolve_plant(craft, SITE), resolve_plant(craft, SITE, (load,))
    shift = loaded.centre_of_mass - bare.centre_of_mass
    assert shift[0] == pytest.approx(0.2 / 0.755 * (0.04 - bare.centre_of_mass[0]))
    for name in ("rotor_position", "feet"):
        np.testing.assert_allclose(loaded[name] + shift, bare[name], atol=1e-15)
    np.testing.assert_allclose(loaded.drag_centre + shift, bare.drag_centre, atol=1e-15)
    np.testing.assert_array_equal(loaded.rotor_map, bare.rotor_map)


def test_spin_signs(make_craft):
    np.testing.assert_array_equal(resolve_plant(make_craft(), SITE).spin, [-1.0, 1.0, -1.0, 1.0])


def test_the_map_is_the_propellers_at_hover_speed_with_the_bench_scales(make_craft):
    craft = make_craft(("gyration_pct = 50", "thrust_scale = 1.1\ntorque_scale = 0.9"))
    plant = resolve_plant(craft, SITE)
    rpm = hover_balance(plant).rotor_speed * 60.0 / (2.0 * math.pi)
    ct, cp, _ = rotor_map(6.0, 4.0, 2).coefficients(rpm)
    assert plant.rotor_map[7, 0, 0] == pytest.approx(1.1 * ct, rel=2e-4)
    assert plant.rotor_map[7, 0, 1] == pytest.approx(0.9 * cp, rel=2e-4)


def test_hover_balance_is_an_equilibrium_of_the_plant(make_craft):
    plant = resolve_plant(make_craft(), SITE)
    for charge in (1.0, 0.4):
        hover = hover_balance(plant, charge)
        dx, held = accelerations(plant, hover.rotor_speed, hover.duty, charge)
        assert dx[X.VELOCITY + 2] == pytest.approx(0.0, abs=1e-9)
        np.testing.assert_allclose(dx[X.ROTORS : X.ROTORS + 4], 0.0, atol=1e-6)
        assert held.battery_voltage == pytest.approx(hover.pack_voltage, rel=1e-9)
        assert held.battery_current == pytest.approx(hover.pack_current, rel=1e-9)
        assert dx[X.CHARGE] == pytest.approx(-hover.pack_current / 7200.0, rel=1e-9)


def test_effectiveness_is_what_the_plant_does(make_craft):
    # one rotor faster: the change of the moments about roll and pitch and of the lift, from the plant itself
    craft = make_craft(("at_mm = [0, 0, -25]", "at_mm = [9, 6, -25]"))
    plant = resolve_plant(craft, SITE)
    builder = resolve_builder(craft, plant)
    hover = hover_balance(plant)
    steady, held = accelerations(plant, hover.rotor_speed, hover.duty)
    thrust0 = np.array(held.thrust, copy=True)
    turned = np.linalg.inv(plant.inertia_inverse)
    for rotor in range(4):
        speeds = np.full(4, hover.rotor_speed)
        speeds[rotor] *= 1.05
        moved, held = accelerations(plant, speeds, hover.duty)
        gained = np.array(held.thrust) - thrust0
        moments = turned @ (moved - steady)[X.RATES : X.RATES + 3]
        expected = builder.inertia @ (builder.effectiveness @ gained)[:3]
        np.testing.assert_allclose(moments[:2], expected[:2], rtol=1e-9)
        lift = plant.mass * (steady[X.VELOCITY + 2] - moved[X.VELOCITY + 2])
        assert lift == pytest.approx((builder.effectiveness @ gained)[3], rel=1e-9)


def test_yaw_effectiveness_follows_the_aerodynamic_torque(make_craft):
    # a balanced rotor hands its aerodynamic torque to the body, against its own sense: cw (+1) turns the nose left
    craft = make_craft()
    plant = resolve_plant(craft, SITE)
    builder = resolve_builder(craft, plant)
    hover = hover_balance(plant)
    expected = -plant.spin * hover.torque / hover.thrust / plant.inertia[2, 2]
    np.testing.assert_allclose(builder.effectiveness[2], expected, rtol=0.02)


def test_allocation_undoes_effectiveness_and_splits_thrust(make_craft):
    craft = make_craft()
    builder = resolve_builder(craft, resolve_plant(craft, SITE))
    np.testing.assert_allclose(builder.allocation @ builder.effectiveness, np.eye(4), atol=1e-10)
    # moments balance: rotors ahead and behind share the lift as the inverse of their distances
    front = builder.allocation[0, 3] + builder.allocation[3, 3]
    centre = mass_properties(craft).centre_of_mass_m[0]
    assert front == pytest.approx((0.1 + centre) / 0.2, rel=1e-9)


def test_thrust_curve_meets_hover_and_full_throttle(make_craft):
    craft = make_craft()
    plant = resolve_plant(craft, SITE)
    builder = resolve_builder(craft, plant)
    assert builder.nominal_voltage == pytest.approx(4 * 3.7)
    k, u = builder.thrust_curve, builder.hover_throttle
    curve = builder.max_thrust * (k * u * u + (1.0 - k) * u)
    assert curve == pytest.approx(plant.mass * plant.gravity / 4.0, rel=1e-9)
    assert balance_at_voltage(plant, u, 14.8).thrust == pytest.approx(curve, rel=1e-9)
    for command in (0.2, 0.4, 0.6, 0.8):
        thrust = balance_at_voltage(plant, command, 14.8).thrust
        share = k * command**2 + (1.0 - k) * command
        assert thrust / builder.max_thrust == pytest.approx(share, abs=0.015)


def test_the_builder_does_not_know_of_loads(make_craft):
    craft = make_craft()
    loaded = resolve_plant(craft, SITE, (Load(0.3, (0.05, 0.05, 0.05), (0.05, 0.0, 0.05)),))
    one, other = resolve_builder(craft, resolve_plant(craft, SITE)), resolve_builder(craft, loaded)
    for name in one.dtype.names:
        np.testing.assert_allclose(one[name], other[name], rtol=1e-12, atol=1e-12)


def test_feet_and_ground(make_craft):
    craft = make_craft()
    plant = resolve_plant(craft, SITE)
    # lowest part: the motors, 30 mm high, centred on the frame's origin
    np.testing.assert_allclose(plant.feet[:, 2] + plant.centre_of_mass[2], 0.015, atol=1e-12)
    # standing, four feet carry the weight at half a millimetre; damping is half of 2 sqrt(k m)
    assert 4.0 * plant.contact_stiffness * 0.5e-3 == pytest.approx(plant.mass * 9.80665)
    assert 4.0 * plant.contact_damping == pytest.approx(math.sqrt(4.0 * plant.contact_stiffness * plant.mass))


def test_stated_airframe_values_are_taken_as_they_are(make_craft):
    more = """
[drag]
area_cm2 = [40, 50, 200]
centre_mm = [10, 0, -5]
[landing]
stiffness_N_m = 800
crash_speed_m_s = 1.5
feet_mm = { front_right = [60, 60, 50], rear_right = [-60, 60, 50], rear_left = [-60, -60, 50], front_left = [60, -60, 50] }
"""
    plant = resolve_plant(make_craft(more=more), SITE)
    np.testing.assert_allclose(plant.drag_area, [0.004, 0.005, 0.02])
    np.testing.assert_allclose(plant.drag_centre + plant.centre_of_mass, [0.01, 0.0, -0.005], atol=1e-15)
    np.testing.assert_allclose(plant.feet[2] + plant.centre_of_mass, [-0.06, -0.06, 0.05], atol=1e-15)
    assert (plant.contact_stiffness, plant.crash_speed) == (800.0, 1.5)


def test_drag_from_the_parts_is_their_faces(make_craft):
    # faces ahead [mm2]: plate 60x4, motors 4 x 28x30, ESC 40x6, pack 40x30, controller 36x6, receiver 10x5
    ahead = 60 * 4 + 4 * 28 * 30 + 40 * 6 + 40 * 30 + 36 * 6 + 10 * 5
    area = resolve_plant(make_craft(), SITE).drag_area
    assert area[0] == pytest.approx(1.05 * 0.6 * ahead * 1e-6, rel=1e-9)
    # from above: plate 100x60, motors' boxes 4 x 28x28, ESC 40x40, pack 80x40, controller 36x36, receiver 20x10
    above = 100 * 60 + 4 * 28 * 28 + 40 * 40 + 80 * 40 + 36 * 36 + 20 * 10
    assert area[2] == pytest.approx(1.05 * 0.6 * above * 1e-6, rel=1e-9)


def test_feet_out_of_reach_are_refused(make_craft):
    feet = "front_right = [900, 900, 50], rear_right = [-60, 60, 50], rear_left = [-60, -60, 50], front_left = [60, -60, 50]"
    craft = make_craft(more=f"[landing]\nfeet_mm = {{ {feet} }}\n")
    with pytest.raises(InputError, match=r"a foot lies 1\.2\d m from the centre of mass; must be under 1 m"):
        resolve_plant(craft, SITE)
