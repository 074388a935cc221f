"""The fast figures of a choice of parts against closed forms and against the flight model's own equilibrium."""

import math

import numpy as np
import pytest
from scipy.optimize import brentq, root

from quadsim.analysis.operating_point import healthy, rate_of, state_at, steady_flight
from quadsim.config import resolve_plant
from quadsim.config.contest_schema import load_contest
from quadsim.config.equilibrium import balance, hover_balance
from quadsim.config.parts_loader import load_catalogue
from quadsim.contest.crowd import crowd_of
from quadsim.contest.feed import Store, feed, hold
from quadsim.contest.lap_limits import lap_limits
from quadsim.contest.lift import ratings
from quadsim.contest.rules import DashRule
from quadsim.contest.steady import spinning, trim
from quadsim.dynamics.state import X
from quadsim.parts import figure_kernels, figures, flown_slalom
from quadsim.parts.build import build_craft
from quadsim.parts.choice import Fitted
from quadsim.parts.course_kernels import lap_time, straight_time, timed_speed
from quadsim.parts.course_line import line_over_point_mass
from quadsim.parts.search import shared_of


@pytest.mark.parametrize(("top", "seconds"), [(math.inf, 2.828427), (10.0, 3.0)])
def test_minimum_time_from_rest_to_rest(top, seconds):
    """L = 20 m, a = 10 m/s2: T = 2 sqrt(L/a); with a cap of 10 m/s T = L/v + v/a. Double integrator, closed form."""
    assert straight_time(20.0, 0.0, 0.0, 10.0, top) == pytest.approx(seconds, abs=1e-6)


def test_a_lap_of_a_circle_is_its_length_over_the_cornering_speed():
    """v = sqrt(a R), closed form: two half circles of radius 5 m with no straight between them, a = 20 m/s2."""
    course = np.array([[5.0, math.pi * 5.0, 0.0]] * 2)
    assert lap_time(course, 20.0, 99.0, np.empty(2)) == pytest.approx(2.0 * math.pi * 5.0 / 10.0, rel=1e-12)


def test_a_stadium_lap_by_hand():
    """Corners at 10 m/s and straights of 20 m at 20 m/s2: peak sqrt(100 + 400), T = 2 (peak - 10)/20 each."""
    course = np.array([[5.0, math.pi * 5.0, 20.0]] * 2)
    hand = 2.0 * (math.pi * 5.0 / 10.0 + 2.0 * (math.sqrt(500.0) - 10.0) / 20.0)
    assert lap_time(course, 20.0, 99.0, np.empty(2)) == pytest.approx(hand, rel=1e-12)


def test_a_corner_after_a_short_straight_holds_back_the_one_before():
    """From R = 20 m into R = 1 m over 1 m at 10 m/s2: v1^2 <= 10 + 2 10 1, well under 200."""
    speeds = np.empty(2)
    lap_time(np.array([[20.0, 1.0, 1.0], [1.0, 1.0, 1.0]]), 10.0, 99.0, speeds)
    assert speeds == pytest.approx([math.sqrt(30.0), math.sqrt(10.0)])


def test_after_a_long_run_up_the_timed_speed_is_the_top_speed_and_never_more():
    assert timed_speed(40.0, 50.0, 1000.0, 50.0) == pytest.approx(40.0, rel=1e-9)
    assert timed_speed(40.0, 50.0, 10.0, 50.0) < 40.0


def test_the_timed_speed_from_rest_is_that_of_the_closed_form():
    """a = a0 (1 - v^2/V^2) from rest: t = (V/a0) acosh(exp(a0 x/V^2)), separable; and by explicit steps in time."""
    top, push, distance = 40.0, 20.0, 100.0
    seconds = top / push * math.acosh(math.exp(push * distance / top**2))
    assert timed_speed(top, push, 0.0, distance) == pytest.approx(distance / seconds, rel=1e-9)
    v, x, t, dt = 0.0, 0.0, 0.0, 1e-4
    while x < distance:
        v += push * (1.0 - (v / top) ** 2) * dt
        x, t = x + v * dt, t + dt
    assert timed_speed(top, push, 0.0, distance) == pytest.approx(distance / t, rel=1e-3)


def test_corners_of_a_square_touch_both_legs_and_pass_inside_the_gates():
    """A square of 20 m with openings of 2 m: R (sqrt 2 - 1) = 0.6 m, arcs of a quarter turn; geometry."""
    contest = load_contest("three_events")
    square = ((0.0, 0.0, -2.0), (20.0, 0.0, -2.0), (20.0, 20.0, -2.0), (0.0, 20.0, -2.0))
    slalom = contest.slalom.model_copy(update={"gates_m": square, "opening_m": 2.0})
    rows = figures.course_rows(contest.model_copy(update={"slalom": slalom}))
    radius = 0.6 / (math.sqrt(2.0) - 1.0)
    assert rows == pytest.approx(np.array([[radius, radius * math.pi / 2.0, 20.0 - 2.0 * radius]] * 4))


SITE = figures.site_of(load_contest("three_events"))
SMALL = "Halse 4 cells, 1100 mAh"
CRAFT = (
    ("Oddny Plain 5", "Brambell 22-07, 1750 rpm/V", "Tiplo 5.0 x 4.3, three blades", "Vellum board 45 A",
     "Halse 4 cells, 1500 mAh"),
    ("Thornby Heron 11", "Thornby 28-14, 620 rpm/V", "Hollin 10.0 x 4.5, two blades", "Sorrel single 30 A",
     "Orlop 4 cells, 5000 mAh"),
    ("Thornby Reach 7", "Thornby 28-08, 1100 rpm/V", "Tiplo 7.0 x 3.5, two blades", "Vellum board 35 A",
     "Halse 6 cells, 1550 mAh"),
)  # fmt: skip


@pytest.fixture(scope="module", params=CRAFT, ids=lambda names: names[0])
def compared(request):
    return put_together(request.param)


@pytest.fixture(scope="module")
def with_a_small_pack():
    """Half the label's current bounds its dash and its lap."""
    return put_together((
        "Oddny Plain 5", "Brambell 20-05, 2600 rpm/V", "Marrit 5.1 x 4.6, three blades", "Vellum board 25 A", SMALL,
    ))  # fmt: skip


def put_together(names):
    """The figures with an endless run-up, the contest, and how to get the craft of an event."""
    listed, contest = load_catalogue("market"), load_contest("three_events")
    cut = listed.model_copy(
        update={
            kind: tuple(one for one in getattr(listed, kind) if one.name == name)
            for kind, name in zip(("frame", "motor", "propeller", "esc", "battery"), names, strict=True)
        }
    )
    rules = figures.rule_record(cut, contest, SITE)
    rules.run_up = 1e5
    row = np.array([[0, 0, 0, 0, 0, 1, 1]])
    answer = figures.craft_figures(row, figures.tables(cut, SITE), rules, figures.course_rows(contest))[0]
    shared, fitted = shared_of(cut, (0, 0, 0, 1, 1)), Fitted(cut.propeller[0], cut.battery[0])
    return answer, contest, lambda event: build_craft(shared, fitted, event, cut, contest)


def test_the_rated_load_leaves_what_was_asked_for(compared):
    """By the hover that `quadsim lift` holds, pack and motors warmed by its currents: full thrust over weight after the time is
    within 5 % of the rule's, and nothing is passed; unless a rating came first, then it is more."""
    answer, contest, craft_of = compared
    plant = resolve_plant(craft_of("lift"), SITE)
    plant.mass += answer[figure_kernels.LIFT]
    crowd = crowd_of([plant])
    store = Store.full(crowd)
    end = hold(crowd, trim(crowd, crowd.mass), float(contest.lift.time_s), store)
    ratio = full_thrust_over_weight(crowd, store)
    used = float(end.current[0]) / (figures.LONG_SHARE * float(plant.current_limit))
    assert ratio > 0.95 * contest.lift.thrust_over_weight and used < 1.03
    assert (
        store.charge[0] > 0.95 * figures.LEAST_CHARGE and store.winding[0] < float(plant.winding_limit) + 5.0
    )
    assert (
        ratio < 1.05 * contest.lift.thrust_over_weight
        or used > 0.97
        or store.winding[0] > plant.winding_limit - 15.0
    )


def full_thrust_over_weight(crowd, store):
    """At full command and the greatest current of motor and ESC, by bisection."""
    still = np.zeros(1)

    def left(speed):
        at = feed(crowd, spinning(crowd, np.array([speed]), still, still), store)
        return min(1.0 - float(at.command[0]), 1.0 - float(at.worst_current[0] / crowd.current_limit[0]))

    top = brentq(left, 100.0, 6000.0, xtol=0.1)
    thrust = spinning(crowd, np.array([top]), still, still).thrust[0]
    return float(4.0 * thrust / (crowd.mass[0] * crowd.gravity[0]))


def greatest_command(plant, speed):
    """Greatest motor command of level flight at a speed, by the flight model's trim; from 10 m/s up, so that it converges."""
    hover = hover_balance(plant, figures.DASH_CHARGE)
    held = healthy(plant, hover.duty)

    def residual(z, v):
        held.duty[:] = z[6:]
        x = state_at(v, 0.0, z[0], z[1], hover.rotor_speed * z[2:6], figures.DASH_CHARGE)
        dx = rate_of(x, held, plant)
        return np.concatenate(
            [dx[X.VELOCITY : X.VELOCITY + 3], dx[X.RATES : X.RATES + 3], dx[X.ROTORS : X.ROTORS + 4] / 1e3]
        )

    slow = steady_flight(plant, 10.0, 0.0, figures.DASH_CHARGE)
    z = np.array([*slow.euler, *slow.x[X.ROTORS : X.ROTORS + 4] / hover.rotor_speed, *slow.duty])
    for v in np.linspace(10.0, speed, 24):
        z = root(residual, z, (v,), method="hybr", options={"xtol": 1e-10}).x
        assert np.max(np.abs(residual(z, v))) < 1e-3
    return float(np.max(z[6:]))


@pytest.mark.jit
def test_the_dash_takes_the_command_it_may_in_the_flight_model(compared):
    """4 % slower takes less than full command less what is kept for attitude, in the flight model's own trim, 4 % faster more."""
    answer, _, craft_of = compared
    plant, top = resolve_plant(craft_of("dash"), SITE), answer[figure_kernels.DASH]
    most = 1.0 - DashRule.moment_reserve
    assert greatest_command(plant, 0.96 * top) < most < greatest_command(plant, 1.04 * top)


def test_a_dash_asks_no_more_of_a_small_pack_than_half_its_label(with_a_small_pack):
    """By the trim that `quadsim dash` takes: half of the label's current, within 5 %."""
    answer, _, craft_of = with_a_small_pack
    craft = craft_of("dash")
    plant = resolve_plant(craft, SITE)
    crowd = crowd_of([plant])
    flown = trim(crowd, crowd.mass, float(answer[figure_kernels.DASH]))
    drawn = feed(crowd, flown, Store.full(crowd, figures.DASH_CHARGE)).pack_current[0]
    assert drawn == pytest.approx(ratings(craft, plant).pack[0], rel=0.05)


def thrust_is_that_of_a_planned_lap(made):
    """Thrust over mass of `lap_limits` through the same point mass and course, within 4 %: another circuit, pack and map."""
    answer, contest, craft_of = made
    craft = craft_of("slalom")
    limits = lap_limits(craft, resolve_plant(craft, SITE), flown_slalom.RULE)
    share = 1.0 - contest.slalom.thrust_kept_pct / 100.0
    corners = figures.course_rows(contest)
    push = math.sqrt((share * limits.thrust) ** 2 - limits.gravity**2)
    seconds = line_over_point_mass(contest, corners) * lap_time(corners, push, 99.0, np.empty(len(corners)))
    return answer[figure_kernels.LAP] == pytest.approx(seconds, rel=0.04)


def test_a_lap_has_the_thrust_that_laps_are_planned_with(compared):
    assert thrust_is_that_of_a_planned_lap(compared)


def test_a_lap_on_a_small_pack_keeps_to_half_its_label_as_planned_ones_do(with_a_small_pack):
    assert thrust_is_that_of_a_planned_lap(with_a_small_pack)


def test_no_prediction_beats_ideal_power(compared):
    """Momentum theory: 4 T sqrt(T/(2 rho A)) for the weight carried, over what the pack gives at full command."""
    answer, _, craft_of = compared
    plant = resolve_plant(craft_of("lift"), SITE)
    weight = float((plant.mass + answer[figure_kernels.LIFT]) * plant.gravity)
    area = math.pi * float(plant.rotor_radius) ** 2
    ideal = weight * math.sqrt(weight / 4.0 / (2.0 * float(plant.air_density) * area))
    assert ideal < balance(plant, 1.0).pack_power
