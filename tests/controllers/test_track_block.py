"""The guide `track` by hand-set signals: the thrust vector it asks for on a trajectory."""

import math

import numpy as np
import pytest

from controllers.contract import MEMORY_SIZE
from controllers.guide_gains import GuideGain
from controllers.rotation import down_in_body
from controllers.signals import BUILDER, SIGNALS, Mode, rows
from controllers.track import track

G = 9.80665


class Bench:
    """A craft of 1 kg that hangs level 5 m up, at rest, and knows its place."""

    def __init__(self):
        self.s, self.craft = rows(SIGNALS)[0], rows(BUILDER)[0]
        self.gains, self.memory = track.default_gains(), np.zeros(MEMORY_SIZE)
        self.craft.mass, self.craft.max_thrust = 1.0, 12.0
        s = self.s
        s.mode, s.link, s.dt, s.height, s.target_height = Mode.TRAJECTORY, 1.0, 0.004, 5.0, 5.0
        s.attitude[0] = s.position_known = s.heading_known = s.armed = 1.0
        self.gains[GuideGain.TILT_MAX] = 1.4

    def run(self, times=3):
        for _ in range(times):
            track(self.s, self.craft, self.gains, self.memory)
        w, x, y, z = self.s.attitude_wanted
        return -np.array(down_in_body(-w, x, y, z))  # where the thrust is to point, in the world


def test_on_its_place_it_hovers():
    bench = Bench()
    assert bench.run() == pytest.approx([0.0, 0.0, -1.0], abs=1e-6)
    assert bench.s.thrust_wanted == pytest.approx(G, rel=1e-3)
    assert bench.s.mode_in_force == Mode.TRAJECTORY


@pytest.mark.parametrize("way", [(8.0, 0.0, 0.0), (0.0, -15.0, 0.0), (20.0, 10.0, 3.0), (-5.0, 5.0, -6.0)])
def test_the_thrust_points_along_a_minus_g(way):
    bench = Bench()
    bench.s.target_acceleration[:] = way
    wanted = np.array(way) - [0.0, 0.0, G]
    assert bench.run() == pytest.approx(wanted / np.linalg.norm(wanted), abs=1e-6)


def test_it_asks_for_the_part_along_the_shafts_as_they_are():
    bench = Bench()
    bench.s.target_acceleration[:] = (10.0, 0.0, -2.0)
    bench.run()
    assert bench.s.thrust_wanted == pytest.approx(
        G + 2.0, rel=1e-6
    )  # level still: the forward part is not there yet


def test_off_its_place_it_goes_back():
    bench = Bench()
    bench.s.target_north, bench.s.target_height = 1.0, 6.0
    up = bench.run()
    assert up[0] > 0.05 and abs(up[1]) < 1e-6
    assert bench.s.thrust_wanted > G


def test_the_greatest_tilt_is_kept_by_more_lift():
    bench = Bench()
    bench.s.target_acceleration[:] = (60.0, 0.0, 5.0)
    up = bench.run()
    assert math.acos(-up[2]) == pytest.approx(1.4, abs=1e-6)


def test_the_inflow_of_a_climb_is_made_up_for():
    bench = Bench()
    bench.s.climb_rate = bench.s.target_velocity[2] = 0.0
    bench.run()
    before = bench.s.thrust_wanted
    bench.gains[GuideGain.INFLOW_LOSS] = 0.04
    bench.s.climb_rate, bench.s.target_velocity[2] = 5.0, -5.0
    bench.run()
    assert bench.s.thrust_wanted - before == pytest.approx(0.04 * 5.0 * G, rel=1e-2)


def test_the_rates_fed_forward_turn_the_shafts_with_the_thrust_vector():
    """u along f: w = u x du/dt, here by differences of f; about the thrust itself no turn is asked for."""
    bench = Bench()
    ramp = np.array([20.0, -35.0, 5.0])  # m/s3
    for k in range(12):
        bench.s.target_acceleration[:] = ramp * k * bench.s.dt
        up = bench.run(1)
        bench.s.attitude[:] = bench.s.attitude_wanted
    f = np.array([(ramp * n * bench.s.dt) - [0.0, 0.0, G] for n in (10, 11)])
    unit = f / np.linalg.norm(f, axis=1, keepdims=True)
    world = np.cross(unit[0], (unit[1] - unit[0]) / bench.s.dt)
    assert up == pytest.approx(unit[1], abs=1e-9)
    body = bench.s.rates_fed_forward
    assert np.hypot(body[0], body[1]) == pytest.approx(np.linalg.norm(world), rel=0.02)
    assert abs(body[2]) < 0.05


def test_thrust_that_swings_round_asks_for_no_yaw():
    bench = Bench()
    bench.gains[GuideGain.TILT_MAX] = 1.5
    most = 0.0
    for k in range(250):
        angle = 2.0 * math.pi * k / 250.0
        bench.s.target_acceleration[:] = (40.0 * math.cos(angle), 40.0 * math.sin(angle), 0.0)
        bench.run(1)
        bench.s.attitude[:] = bench.s.attitude_wanted
        most = max(most, abs(bench.s.rates_fed_forward[2]))
    assert most < 0.2


def test_drag_is_held_against():
    bench = Bench()
    bench.gains[GuideGain.LINE_DRAG], bench.gains[GuideGain.LINE_DRAG_SQUARED] = 0.2, 0.03
    bench.s.velocity[0] = bench.s.target_velocity[0] = 10.0
    up = bench.run()
    assert up[0] / -up[2] == pytest.approx((0.2 + 0.03 * 10.0) * 10.0 / G, rel=1e-6)


def test_what_holds_the_line_bends_the_thrust_by_35_degrees_at_most():
    bench = Bench()
    bench.gains[GuideGain.PLACE_P] = 8.0
    bench.s.target_north = 3.0
    up = bench.run()
    assert up[0] / -up[2] == pytest.approx(0.7, rel=1e-6)


def test_a_thrust_vector_near_nothing_is_not_made_shorter():
    """In a dive at 0.6 g down and far below its line the craft is asked for LINE_LEAST, not for less."""
    bench = Bench()
    bench.gains[GuideGain.LINE_LEAST], bench.gains[GuideGain.THRUST_LOW] = 0.3, 0.0
    bench.s.target_acceleration[2], bench.s.height = 0.6 * G, 8.0
    bench.run()
    assert bench.s.thrust_wanted == pytest.approx(0.3 * G, rel=1e-3)


def test_rotors_that_give_more_than_asked_for_are_asked_for_less():
    """They give 1.3 times what is asked: in the end the thrust asked for is the weight over 1.3."""
    bench = Bench()
    bench.gains[GuideGain.PUSH_FREQUENCY] = 10.0
    bench.s.thrust_wanted = G
    for _ in range(500):
        bench.s.accel[2] = -1.3 * bench.s.thrust_wanted
        bench.run(1)
    assert bench.s.thrust_wanted == pytest.approx(G / 1.3, rel=1e-3)


def test_a_push_across_the_shafts_is_leant_against():
    bench = Bench()
    bench.gains[GuideGain.PUSH_FREQUENCY] = 10.0
    bench.s.accel[0] = 2.0  # a wind from behind
    for _ in range(500):
        bench.s.accel[2] = -bench.s.thrust_wanted
        up = bench.run(1)
    assert up[0] / -up[2] == pytest.approx(-2.0 / G, rel=1e-2)


def test_the_attitude_waits_for_its_place_and_the_thrust_does_not():
    bench = Bench()
    bench.run(1)
    bench.gains[GuideGain.LINE_LEAD] = 0.02
    bench.s.target_acceleration[:] = (0.0, 4.0, -2.0)
    up = bench.run(1)
    assert bench.s.thrust_wanted == pytest.approx(G + 2.0, rel=1e-3)
    assert 0.0 < up[1] / -up[2] < 0.25 * 4.0 / (G + 2.0)


def test_other_response_types_fly_as_in_navigation():
    from controllers.navigation import navigation

    answers = []
    for guide in (track, navigation):
        bench = Bench()
        bench.s.mode, bench.s.target_north = Mode.WAYPOINT, 3.0
        for _ in range(50):
            guide(bench.s, bench.craft, bench.gains, bench.memory)
        answers.append([*bench.s.attitude_wanted, bench.s.thrust_wanted])
    assert answers[0] == answers[1]
