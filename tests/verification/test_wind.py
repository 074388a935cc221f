"""The wind against outside values, and that the checks notice when something in it is wrong."""

from __future__ import annotations

from collections.abc import Callable
from types import SimpleNamespace

import numpy as np
import pytest
from checks_wind import CHECKS
from mutants_wind import MUTANTS, plain_air

from quadsim.config.flight_loader import parse_flight
from quadsim.environment import profile, turbulence, wind
from quadsim.simulation.fly import fly

SHIPPED = SimpleNamespace(profile=profile, turbulence=turbulence, wind=wind)


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.__name__)
def test_check_passes_on_the_shipped_kernels(check: Callable) -> None:
    check(SHIPPED)


@pytest.mark.jit
@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.__name__)
def test_check_passes_on_the_plain_source(check: Callable) -> None:
    check(plain_air())


@pytest.mark.jit
@pytest.mark.parametrize("wrong", MUTANTS)
def test_mutant_is_noticed(wrong: str) -> None:
    module, old, new, check = MUTANTS[wrong]
    with pytest.raises(AssertionError, match="Not equal to tolerance"):
        check(plain_air(module, old, new))


FLIGHT = """
title = "wind"
craft = "siskin"
duration_s = 8
[start]
height_m = 30
"""


@pytest.mark.jit
@pytest.mark.parametrize("part", ["speed_m_s = 9.144, from_deg = 60", "up_m_s = 9.144", "up_m_s = -9.144"])
def test_the_gust_that_a_rotorcraft_must_stand(part: str) -> None:
    """14 CFR 29.341: 30 ft/s (9.144 m/s), level and vertical, at any airspeed and in hover. There it sizes the structure of
    helicopters; here the craft must be in control again after it."""
    text = f'{FLIGHT}[wind]\ngusts = [{{ at_s = 1, duration_s = 0.5, form = "holding", {part} }}]\n'
    run = fly(parse_flight(text))
    assert run.status == "done"
    assert run.metrics["max_wind_m_s"] == pytest.approx(9.144, rel=1e-6)
    assert run.metrics["final_tilt_deg"] < 15.0
    assert run["height_m"][-1] > 20.0


@pytest.mark.jit
def test_turbulence_in_a_flight_is_that_of_its_height_and_seed() -> None:
    """At 30 m in 8 m/s, W20 = 10 m/s: sigma_u = sigma_v = t^-0.4, sigma_w = 1 m/s by MIL-F-8785C sec. 3.7.3.4. Two rows of each
    of 40 flights, 3.9 s apart: 80 draws, known to 8 %; three times that is allowed."""
    text = FLIGHT.replace("= 8\n", "= 4\nlog_rate_Hz = 10\n") + (
        "[wind]\nspeed_m_s = 8\nfrom_deg = 180\nturbulence = { w20_m_s = 10 }\n"
    )
    flight = parse_flight(text)
    found = np.concatenate([fly(flight, seed=seed)["wind_m_s"][::39] for seed in range(40)])
    t = 0.177 + 0.000823 * 30.0 / 0.3048
    assert found[:, 0].mean() == pytest.approx(8.0, abs=0.6)
    assert found.std(axis=0) == pytest.approx([t**-0.4, t**-0.4, 1.0], rel=0.25)
