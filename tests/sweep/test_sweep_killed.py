"""A sweep whose first process is killed in the air: its helpers end, too, and no flight that was flown is lost or flown twice."""

import contextlib
import multiprocessing
import os
import select
import signal
import time

import pytest

from quadsim.sweep import pilot
from quadsim.sweep.kept import KeptFlights
from quadsim.sweep.sweep import fly, known_and_missing, prepare
from quadsim.sweep.wanted import Wanted

METHOD = "fork" if "fork" in multiprocessing.get_all_start_methods() else "spawn"
"""Split off, a process inherits the pipe by which is seen whether all have ended."""


def sweep_with_two_helpers(sweep, folder):
    os.setpgrp()
    list(fly(sweep, sweep.cases, KeptFlights(sweep.base, folder), 2))


@pytest.mark.jit
@pytest.mark.filterwarnings("ignore:.*multi-threaded:DeprecationWarning")  # the test runner's thread
def test_killed_in_the_air_it_loses_no_flight_that_was_flown(flight, tmp_path, monkeypatch):
    flight.write_text(flight.read_text().replace("duration_s = 0.1", "duration_s = 5"), encoding="utf-8")
    sweep = prepare(Wanted(str(flight), seeds=40))
    file = KeptFlights(sweep.base, tmp_path / "kept").file
    ours, theirs = os.pipe()
    process = multiprocessing.get_context(METHOD).Process(
        target=sweep_with_two_helpers, args=(sweep, tmp_path / "kept")
    )
    process.start()
    os.close(theirs)
    until = time.monotonic() + 30.0
    while len(_whole(file)) < 3 and time.monotonic() < until:
        time.sleep(0.005)
    process.kill()
    process.join()
    ended, _, _ = select.select([ours], [], [], 20.0)  # the pipe ends with the last process that holds it
    with contextlib.suppress(
        ProcessLookupError
    ):  # helpers that have not ended must not outlive a failed test
        os.killpg(process.pid, signal.SIGKILL)
    assert ended and os.read(ours, 1) == b""
    os.close(ours)
    whole = _whole(file)
    assert 3 <= len(whole) < 40
    kept = KeptFlights(sweep.base, tmp_path / "kept")
    known, missing = known_and_missing(sweep, kept)
    assert (len(known), len(missing)) == (len(whole), 40 - len(whole))
    flown, real = [], pilot.fly_through
    monkeypatch.setattr(pilot, "fly_through", lambda session: (flown.append(session.seed), real(session)))
    rest = list(fly(sweep, missing, kept, 1))
    assert sorted([*(one.number for one in known), *(one.number for one in rest)]) == list(range(1, 41))
    assert flown == [case.seed for case in missing]


def _whole(file):
    """Whole lines of flights that are kept."""
    lines = file.read_text().splitlines() if file.exists() else []
    return [line for line in lines if line.endswith("}}")]
