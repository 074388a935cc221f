"""Every shipped flight flies and ends as its file expects; the same file and seed give the same verdicts twice."""

import pytest

import quadsim
from quadsim.config.find_data import shipped


@pytest.mark.jit
@pytest.mark.parametrize("name", shipped("flights"))
def test_a_shipped_flight_passes(name):
    run = quadsim.fly(name)
    failed = [f"{line.metric} is {line.value}, {line.bound}" for line in run.expectations if not line.ok]
    assert run.passed, f"{run.status_text}: {failed}"


@pytest.mark.jit
@pytest.mark.parametrize("seed", [2, 3, 4])
@pytest.mark.parametrize("name", ["gust", "turbulence", "front", "payload_step", "take_off_and_landing"])
def test_a_flight_does_not_pass_by_the_luck_of_its_seed(name, seed):
    assert quadsim.fly(name, seed=seed).passed
