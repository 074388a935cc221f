"""Latency and the picture's way: delay, drop-outs."""

import numpy as np
import pytest

from quadsim.config.camera_schema import PilotCamera
from quadsim.config.sticks_schema import StickLink
from quadsim.practice.latency import LatencyMeter
from quadsim.practice.picture_link import shown, stick_age_s


def test_a_picture_is_late_by_its_delay():
    video = PilotCamera(delay_ms=40.0)
    assert shown(2.0, video, 1).t_s == pytest.approx(1.96) and not shown(2.0, video, 1).frozen
    assert shown(0.01, video, 1).t_s == 0.0


def test_drop_outs_come_as_often_and_last_as_long_as_stated():
    video = PilotCamera(delay_ms=25.0, dropouts_per_min=6.0, dropout_ms=300.0)
    times = np.arange(0.0, 600.0, 0.05)
    frozen = np.array([shown(float(t), video, 3).frozen for t in times])
    begins = int(np.count_nonzero(frozen[1:] & ~frozen[:-1]))
    assert begins == pytest.approx(60, abs=1)
    assert frozen.mean() == pytest.approx(60 * 0.3 / 600.0, rel=0.05)
    seen = np.array([shown(float(t), video, 3).t_s for t in times])
    assert (np.diff(seen) >= -1e-9).all()  # a picture never goes back
    assert np.ptp(seen[frozen.nonzero()[0][:4]]) < 1e-9  # it stands still
    other = np.array([shown(float(t), video, 4).frozen for t in times])
    assert (other != frozen).any()


def test_a_stick_is_as_old_as_its_link_makes_it():
    assert stick_age_s(StickLink(delay_ms=8.0, rate_Hz=100.0)) == pytest.approx(0.013)


def test_latency_is_the_time_from_reading_to_showing_and_half_a_frame_of_waiting():
    meter = LatencyMeter()
    assert meter.now(0.01, 0.03).total_s == pytest.approx(0.04)
    for k in range(100):
        meter.frame(k / 50.0, k / 50.0 + (0.030 if k % 10 == 9 else 0.006))
    latency = meter.now(0.010, 0.030)
    assert meter.frames_per_s == pytest.approx(50.0)
    assert latency.computer_s == pytest.approx(0.006 + 0.5 / 50.0)
    assert latency.worst_s == pytest.approx(0.030 + 1.0 / 50.0)
    assert latency.total_s == pytest.approx(0.016 + 0.040)
