"""Short flights to sweep: 0.1 s of hover in a gust, kept in a folder of the test's own."""

import pytest

from quadsim.sweep.kept import KeptFlights
from quadsim.sweep.outcome import outcome
from quadsim.sweep.sweep import fly, known_and_missing, prepare
from quadsim.sweep.wanted import Wanted

FLIGHT = """
title = "A moment in a gust"
craft = "siskin"
duration_s = 0.1
seed = 5
[start]
height_m = 3
[wind]
speed_m_s = 2
gusts = [{ at_s = 0, duration_s = 0.2, speed_m_s = 5 }]
[[expect]]
metric = "max_tilt_deg"
below = 5
"""


@pytest.fixture
def flight(tmp_path):
    path = tmp_path / "moment.toml"
    path.write_text(FLIGHT, encoding="utf-8")
    return path


@pytest.fixture
def swept(flight, tmp_path):
    """`swept(vary=[...])`: the outcome, everything kept under `folder`."""

    def run(folder="kept", jobs=1, **wanted):
        sweep = prepare(Wanted(str(flight), **wanted))
        kept = KeptFlights(sweep.base, tmp_path / folder)
        known, missing = known_and_missing(sweep, kept)
        return outcome(sweep, [*known, *fly(sweep, missing, kept, jobs)])

    return run
