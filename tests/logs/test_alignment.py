"""A log's clock against a run's: a shift and a drift that were put in must come out."""

import numpy as np
import pytest

from quadsim.logs.alignment import align
from quadsim.logs.flight_log import FlightLog
from quadsim.logs.flown import beside


def rates(seed, seconds=40.0, rate=400.0, bandwidth=6.0):
    t = np.arange(0.0, seconds, 1.0 / rate)
    draw = np.random.default_rng(seed)
    tones = 2.0 * np.pi * draw.uniform(0.2, bandwidth, 60)
    phases, sizes = draw.uniform(0.0, 6.3, (60, 3)), draw.normal(size=(60, 3))
    return t, lambda at: np.stack(
        [np.sin(np.outer(at, tones) + phases[:, k]) @ sizes[:, k] for k in range(3)], axis=1
    )


@pytest.mark.parametrize(("offset", "drift"), [(0.0, 0.0), (3.217, 0.0), (-5.04, 200e-6), (7.5, -500e-6)])
def test_offset_and_drift(offset, drift):
    t, motion = rates(1)
    run = FlightLog(None, t, {"gyro": motion(t)})
    seen = np.arange(0.0, 45.0, 1.0 / 250.0)
    noise = 0.3 * np.random.default_rng(2).standard_normal((len(seen), 3))
    log = FlightLog(None, seen, {"gyro": motion((seen - offset) / (1.0 + drift)) + noise})
    found = align(run, log)
    assert found.same
    assert found.offset_s == pytest.approx(offset, abs=0.002)
    assert found.drift == pytest.approx(drift, abs=60e-6)
    assert found.related > 0.98
    if np.isfinite(found.drift_sigma):
        assert abs(found.drift - drift) < 4.0 * found.drift_sigma + 1e-6


def test_other_manoeuvres_are_not_compared():
    t, motion = rates(1)
    other, stranger = rates(5)
    run, log = FlightLog(None, t, {"gyro": motion(t)}), FlightLog(None, other, {"gyro": stranger(other)})
    found, shown = beside(run, log)
    assert not found.same
    assert shown == []
