"""A small course planned and flown: learning brings the craft to the line; the flat map against the simulator."""

import numpy as np
import pytest

from controllers.attitude import AttitudeGain
from quadsim.config import load_craft, resolve_builder, resolve_plant
from quadsim.config.course_schema import parse_course
from quadsim.contest.crowd import crowd_of
from quadsim.contest.lap_flight import Conditions, Shift, flown_places, located
from quadsim.contest.lap_laws import TILT_P, attitude_gains, inflow_loss, lead
from quadsim.contest.lap_learning import fly_lap, learn
from quadsim.contest.lap_limits import CLIMBS, LapRule, charge_left, greatest_thrust, lap_limits, turning
from quadsim.contest.lap_lines import CARES, LADDER, careful, in_more_time, least_used, lines, most_margin
from quadsim.contest.lap_pilot import pilot_lap
from quadsim.environment.atmosphere import Site
from quadsim.planning.plan import plan
from tests.planning.course_cases import course_text, gate_text

COURSE = course_text(gate_text("a", 8, 0), gate_text("b", 18, 3, 3), forward=(-5, 60), ceiling=12)
RULE = LapRule()


@pytest.fixture(scope="module")
def craft():
    return load_craft("siskin")


@pytest.fixture(scope="module")
def planned(craft):
    return plan(
        parse_course(COURSE), lap_limits(craft, resolve_plant(craft, Site()), RULE), RULE.margin, effort=1.0
    )


def test_thrust_falls_with_the_climb_and_with_the_reserve(craft):
    crowd = crowd_of([resolve_plant(craft, Site())])
    little, much = (greatest_thrust(crowd, command, CLIMBS) for command in (0.7, 0.9))
    assert np.all(np.diff(much) < 0.0) and np.all(much > little)
    weight = float(crowd.mass[0] * crowd.gravity[0])
    assert 3.0 * weight < 4.0 * much[0] < 8.0 * weight


def test_a_craft_without_a_receiver_is_told_its_place(craft):
    found, told = located(craft)
    assert told and found.gnss is not None and craft.gnss is None
    assert located(found) == (found, False)


def test_inflow_gain_gives_back_what_the_limits_take(craft):
    limits = lap_limits(craft, resolve_plant(craft, Site()), RULE)
    lost = inflow_loss(limits) * 5.0 * np.sqrt(limits.thrust * limits.gravity)  # c w sqrt(f0 g) = k w
    assert lost == pytest.approx(5.0 * limits.thrust_fall)


@pytest.mark.jit
def test_a_pilot_is_slower_than_the_plan(planned):
    pilot = pilot_lap(planned)
    assert pilot.planned == pytest.approx(planned.lap_times.min())
    assert pilot.seconds > pilot.planned * 1.05
    slow = pilot_lap(planned, 3.0 * pilot.planned)
    assert slow.seconds > 3.0 * pilot.planned, "never faster than the autopilot flew"
    assert sum(value for name, value in vars(slow).items() if name != "seconds") == pytest.approx(
        slow.seconds
    )
    assert min(pilot.by_thrust, pilot.by_reaction, pilot.by_sticks, pilot.by_margin) >= 0.0


def test_the_charge_that_counts_is_what_some_laps_leave(craft):
    """25 s at the current of the limit, some 60 A of a 1500 mAh pack; a longer pull never below three tenths."""
    crowd = crowd_of([resolve_plant(craft, Site())])
    full, some = charge_left(crowd, 0.85), charge_left(crowd, 0.5)
    assert 0.6 < full < 0.8 and full < some < 1.0


def test_turning_is_what_the_moments_reach_within_a_swing(craft):
    """From none over the angle s at alpha/2: w^2 = 2 (alpha/2) s; a heavy craft with slow rotors turns less."""
    small, large = (
        turning(resolve_builder(one, resolve_plant(one, Site()))) for one in (craft, load_craft("bonxie"))
    )
    assert 6.0 < large < 9.0 < small < 0.5 * 35.0


def test_the_lead_is_the_delay_of_motors_and_loop_and_a_little(craft):
    builder = resolve_builder(craft, resolve_plant(craft, Site()))
    assert lead(builder) == pytest.approx(np.mean(builder.motor_lag) + builder.loop_delay + 0.01)


def test_a_craft_with_little_moment_is_turned_less_briskly(craft):
    brisk, slow = (
        attitude_gains(resolve_builder(one, resolve_plant(one, Site())))[AttitudeGain.TILT_P]
        for one in (craft, load_craft("bonxie"))
    )
    assert 6.5 <= slow < 0.7 * TILT_P < brisk <= TILT_P


@pytest.mark.jit
def test_care_never_widens_a_limit(planned):
    for care in CARES:
        kept = careful(planned.limits, care)
        assert kept.thrust < planned.limits.thrust and kept.tilt <= planned.limits.tilt
        assert kept.least_thrust >= planned.limits.least_thrust
    assert most_margin(planned.course, planned.limits) == pytest.approx(1.0 - planned.limits.radius - 0.1)


@pytest.mark.jit
def test_lines_are_tried_from_the_fastest_and_never_with_a_short_thrust(planned):
    tried = list(lines(planned, RULE.margin))
    times = [float(one.line.total) for one in tried]
    assert times == sorted(times) and times[0] > planned.line.total
    careful_ones = tried[: len(CARES)]
    assert tried[-1].line.total == pytest.approx(LADDER[-1] * careful_ones[-1].line.total)
    for one in tried[:-1]:
        assert least_used(one) >= 0.85 * one.limits.least_thrust


@pytest.mark.jit
def test_learning_brings_the_craft_to_the_line(craft, planned):
    slower = in_more_time(planned, 1.1)
    first = fly_lap(craft, Site(), slower, Shift.none(slower.line), Conditions())
    _, best = learn(craft, Site(), slower)
    assert first.off_rms < 0.3, "flown from flatness alone"
    assert best.whole and best.off_rms < 0.8 * first.off_rms
    assert best.passages[-1].flown_s == pytest.approx(slower.line.total, abs=0.15)


@pytest.mark.jit
def test_flat_map_against_the_simulator(craft, planned):
    """From velocity and acceleration as flown the map gives thrust and its direction; the simulator says what they were.

    The drag along the shafts and the rotors' pitching are no part of the map: some degrees, some per cent.
    """
    slower = in_more_time(planned, 1.3)
    run = learn(craft, Site(), slower)[1].run
    t, _ = flown_places(run, slower)
    rows = slice(len(run.t_s) - len(t) + 20, len(run.t_s) - 60)
    v = np.asarray(run["velocity_m_s"])
    f = slower.limits.force(v, np.gradient(v, run.t_s, axis=0))[rows]
    w, x, y, z = np.asarray(run["attitude"])[rows].T
    up = -np.stack([2 * (x * z + w * y), 2 * (y * z - w * x), 1 - 2 * (x * x + y * y)], axis=1)
    size = np.linalg.norm(f, axis=1)
    angle = np.degrees(np.arccos(np.clip(np.sum(f * up, axis=1) / size, -1.0, 1.0)))
    thrust = np.sum(np.asarray(run["thrust_N"]), axis=1)[rows] / float(resolve_plant(craft, Site()).mass)
    assert np.median(angle) < 3.0
    assert np.median(np.abs(thrust / size - 1.0)) < 0.06
    still = np.linalg.norm(f - slower.limits.force(0.0 * v, np.gradient(v, run.t_s, axis=0))[rows], axis=1)
    assert still.max() > 1.0, "drag matters on this line, so its place in the map was looked at"
