"""Static balance of motors, propellers and pack against solutions made another way."""

import math

import numpy as np
import pytest
from scipy.optimize import brentq, fsolve

from controllers.signals import rows
from quadsim.analysis.hover import hover_endurance, hover_point, max_thrust, static_table, thrust_to_weight
from quadsim.config import Load, load_craft, mass_properties, resolve_plant
from quadsim.config.equilibrium import (
    balance,
    circuit_resistance,
    hover_balance,
    pack_source,
    spin_up,
    static_factors,
)
from quadsim.config.warmth import begin_at
from quadsim.dynamics.derivative import full_derivative
from quadsim.dynamics.records import HELD
from quadsim.dynamics.state import SIZE, X
from quadsim.environment.atmosphere import Site
from quadsim.errors import InputError

SITE = Site()
CRAFTS = ("siskin", "bonxie", "williwaw")


@pytest.fixture(scope="module", params=CRAFTS)
def craft(request):
    """Each shipped craft."""
    return load_craft(request.param)


def torque(plant, speed):
    """Torque of the standing propeller [N m] at a speed [rad/s]."""
    return static_factors(plant, speed)[1] * speed**2


def test_spin_up_against_a_root_finder(craft):
    # motor: (V - kt w)/R - i00 - i01 w = q w^2/kt, M. Drela, Second-Order DC Electric Motor Model (2006)
    plant = resolve_plant(craft, SITE)
    kt, r = float(plant.torque_constant), circuit_resistance(plant)
    i00, i01 = float(plant.no_load_current), float(plant.no_load_slope)
    for volts in (2.0, 6.0, 12.0):

        def excess(w, volts=volts):
            return kt * ((volts - kt * w) / r - i00 - i01 * w) - torque(plant, w)

        root = brentq(excess, 1.0, volts / kt)
        speed, current, limited = spin_up(plant, volts)
        assert speed == pytest.approx(root, rel=1e-9)
        assert current == pytest.approx((volts - kt * root) / r, rel=1e-9)
        assert not limited


def test_static_thrust_is_the_propeller_equation(craft):
    # T = CT rho n^2 D^4 less the installed loss, per rotor, in grams
    plant = resolve_plant(craft, SITE)
    row = static_table(craft, SITE)[6]
    n, diameter = row.rpm / 60.0, float(craft.propeller.diameter_in) * 0.0254
    trend = math.log(row.rpm / 60.0 * 2.0 * math.pi / plant.map_speed)
    ct = plant.rotor_map[7, 0, 0] + trend * plant.rotor_trend[7, 0, 0]
    thrust = ct * plant.air_density * n**2 * diameter**4 * 0.9
    assert row.thrust_per_rotor_g == pytest.approx(thrust / 9.80665e-3, rel=1e-9)


def test_table_against_a_joint_solution(craft):
    # all unknowns at once: rotor speed, pack voltage, pack current; P = Q w + i^2 R + i0(w) kt w per motor
    plant = resolve_plant(craft, SITE)
    kt, r = float(plant.torque_constant), circuit_resistance(plant)
    i00, i01 = float(plant.no_load_current), float(plant.no_load_slope)
    source, resistance = pack_source(plant, 1.0, False)
    assert source == pytest.approx(float(plant.cells) * 4.2)
    for row in static_table(craft, SITE):
        if row.limited:
            continue

        def residual(unknown, duty=row.throttle):
            speed, volts, drawn = unknown[0] * 1000.0, unknown[1] * 10.0, unknown[2] * 10.0
            current, i0 = (duty * volts - kt * speed) / r, i00 + i01 * speed
            power = 4.0 * (torque(plant, speed) * speed + current**2 * r + i0 * kt * speed)
            return [
                (kt * (current - i0) - torque(plant, speed)) / kt,
                source - resistance * drawn - volts,
                volts * (drawn - float(plant.avionics_current)) / 100.0 - power / 100.0,
            ]

        guess = [row.rpm * math.pi / 30.0 / 1000.0 * 1.1, 1.3, row.pack_current_A / 10.0 * 0.8]
        speed, volts, drawn = fsolve(residual, guess, xtol=1e-12)
        assert row.rpm == pytest.approx(speed * 1000.0 * 30.0 / math.pi, rel=1e-6)
        assert row.cell_voltage_V * float(plant.cells) == pytest.approx(volts * 10.0, rel=1e-6)
        assert row.pack_current_A == pytest.approx(drawn * 10.0, rel=1e-6)
        assert row.pack_power_W == pytest.approx(volts * drawn * 100.0, rel=1e-6)
        assert row.efficiency_g_W == pytest.approx(row.thrust_g / row.pack_power_W, rel=1e-12)


def test_pack_current_is_duty_times_motor_current(craft):
    for row in static_table(craft, SITE):
        drawn = 4.0 * row.throttle * row.motor_current_A + float(craft.flight_controller.pack_current_A)
        assert row.pack_current_A == pytest.approx(drawn, rel=1e-9)


def test_more_throttle_more_of_everything(craft):
    rows = static_table(craft, SITE, steps=20)
    assert [row.throttle for row in rows] == pytest.approx(np.linspace(0.05, 1.0, 20).tolist())
    for name in ("thrust_g", "pack_current_A", "pack_power_W", "rpm"):
        assert np.all(np.diff([getattr(row, name) for row in rows]) > 0)
    assert np.all(np.diff([row.cell_voltage_V for row in rows]) < 0)
    assert max_thrust(craft, SITE) == pytest.approx(rows[-1].thrust_g * 9.80665e-3)


def test_hover_lies_on_the_table_between_its_neighbours(craft):
    hover = hover_point(craft, SITE)
    weight = mass_properties(craft).mass_kg * 9.80665
    assert hover.thrust_N == pytest.approx(weight, rel=1e-12)
    at = balance(resolve_plant(craft, SITE), hover.throttle)
    assert 4.0 * at.thrust == pytest.approx(weight, rel=1e-6)
    assert at.pack_current == pytest.approx(hover.pack_current_A, rel=1e-6)
    assert hover.rpm == pytest.approx(hover.rotor_speed_rad_s * 30.0 / math.pi)


def test_hover_needs_at_least_the_momentum_power(craft):
    # ideal induced power T^1.5/sqrt(2 rho A): W. Johnson, Helicopter Theory (1980), sec. 2-1; the rotors' thrust is the
    # installed one over 0.9, and a small rotor with its drive is known to reach 0.3 to 0.65 of the ideal
    hover = hover_point(craft, SITE)
    area = 4.0 * math.pi * (float(craft.propeller.diameter_in) * 0.0127) ** 2
    ideal = (hover.thrust_N / 0.9) ** 1.5 / math.sqrt(2.0 * SITE.density * area)
    assert 0.3 < ideal / hover.pack_power_W < 0.65


def test_thin_air_and_empty_pack_ask_for_more(craft):
    base = hover_point(craft, SITE)
    high = hover_point(craft, Site.at_altitude(2000.0))
    # thrust goes with density and speed squared; the map's own trend with speed may add a percent
    thinner = SITE.density / Site.at_altitude(2000.0).density
    assert high.rpm / base.rpm == pytest.approx(math.sqrt(thinner), rel=0.01)
    assert hover_point(craft, SITE, charge=0.3).throttle > base.throttle
    assert hover_point(craft, SITE, settled=True).cell_voltage_V < base.cell_voltage_V
    assert hover_point(craft, SITE, settled=True).rpm == base.rpm


def test_load_lowers_thrust_to_weight_by_the_mass_ratio(craft):
    motor = craft.motor.model_copy(update={"working_temperature_C": 60.0})  # as warm with the load as without
    craft = craft.model_copy(update={"motor": motor})
    mass = mass_properties(craft).mass_kg
    load = Load(0.25 * mass, (0.05, 0.05, 0.05), (0.0, 0.0, 0.03))
    assert thrust_to_weight(craft, SITE, (load,)) == pytest.approx(
        thrust_to_weight(craft, SITE) / 1.25, rel=1e-9
    )


def test_a_craft_that_cannot_hover_says_so():
    brick = Load(4.0, (0.1, 0.1, 0.1), (0.0, 0.0, 0.05))
    with pytest.raises(
        InputError, match=r"Bonxie weighs 5604 g and lifts 4\d\d\d g at full throttle.*cannot hover"
    ):
        hover_point(load_craft("bonxie"), SITE, (brick,))


def test_endurance_uses_the_charge_down_to_the_reserve(craft):
    room = Site(temperature_C=20.0)  # below it a pack gives less
    endurance = hover_endurance(craft, room)
    hours = endurance.minutes / 60.0
    assert endurance.limited_by == "reserve"
    assert endurance.mean_current_A * hours * 1000.0 == pytest.approx(
        0.8 * float(craft.battery.capacity_mAh), rel=1e-9
    )
    fresh, late = (hover_point(craft, room, charge=c, settled=True).pack_current_A for c in (1.0, 0.2))
    assert fresh < endurance.mean_current_A < late
    doubled = hover_endurance(craft, room, points=800)
    assert doubled.minutes == pytest.approx(endurance.minutes, rel=1e-6)


def test_a_high_cut_off_ends_the_hover_early():
    craft = load_craft("siskin")
    battery = craft.battery.model_copy(update={"cutoff_cell_V": 3.75})
    early = hover_endurance(craft.model_copy(update={"battery": battery}), SITE)
    assert early.limited_by == "cut-off voltage"
    assert early.minutes < 0.9 * hover_endurance(craft, SITE).minutes


def test_current_limit_caps_the_thrust():
    craft = load_craft("siskin")
    weak = craft.model_copy(update={"motor": craft.motor.model_copy(update={"current_limit_A": 10.0})})
    full = static_table(weak, SITE)[-1]
    assert full.limited
    assert full.motor_current_A == 10.0
    plant = resolve_plant(weak, SITE)
    # torque left for the propeller: kt (10 A - i0)
    kt, i00, i01 = (float(plant[k]) for k in ("torque_constant", "no_load_current", "no_load_slope"))
    speed = brentq(lambda w: kt * (10.0 - i00 - i01 * w) - torque(plant, w), 1.0, 1e4)
    assert full.rpm == pytest.approx(speed * 30.0 / math.pi, rel=1e-9)


@pytest.mark.parametrize("height", [0.1, 0.3, 1.0, 50.0])
def test_hover_close_to_the_ground_is_the_flight_loops(craft, height):
    """Hubs at a height [m]: the plant of the flight loop neither rises nor sinks at that speed; less of it the lower."""
    plant = resolve_plant(craft, SITE)
    at = hover_balance(plant, height=height)
    x, held, dx = np.zeros(SIZE), rows(HELD)[0], np.zeros(SIZE)
    held.thrust_factor[:] = held.torque_factor[:] = 1.0
    held.turning[:], held.duty[:] = plant.spin, at.duty
    begin_at(held, plant)
    x[X.QUATERNION], x[X.CHARGE] = 1.0, 1.0
    x[X.POSITION + 2] = -height - float(np.mean(plant.rotor_position[:, 2]))
    plant.feet[:, 2] = -1.0  # in the air whatever the legs are like
    x[X.ROTORS : X.ROTORS + 4] = at.rotor_speed
    full_derivative(0.0, x, held, plant, dx)
    assert dx[X.VELOCITY + 2] == pytest.approx(0.0, abs=1e-6)
    assert hover_point(craft, SITE, height_m=height).throttle <= hover_point(craft, SITE).throttle
    assert hover_point(craft, SITE, height_m=0.1).throttle < 0.97 * hover_point(craft, SITE).throttle
