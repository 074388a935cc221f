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
    assert bench.s.thrust_wanted == pytest.approx(G + 2.0, rel=1e-6)  # level still: the forward part is not there yet


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
    bench.gains[GuideGain.INFLOW_LOSS] = 0.12
    bench.s.climb_rate, bench.s.target_velocity[2] = 5.0, -5.0
    bench.run()
    assert bench.s.thrust_wanted - before == pytest.approx(0.12 * 5.0 * math.sqrt(G), rel=1e-2)


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
