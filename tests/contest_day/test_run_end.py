"""What the instruments should show, beside a flight of the whole model."""

import numpy as np
import pytest

from quadsim.config import load_craft, resolve_plant
from quadsim.config.flight_loader import parse_flight
from quadsim.contest.crowd import crowd_of
from quadsim.contest.steady import trim
from quadsim.contest_day.run_end import run_end
from quadsim.environment.atmosphere import Site
from quadsim.simulation.fly import fly
from quadsim.units import CELSIUS, MAH

pytestmark = pytest.mark.jit


@pytest.mark.parametrize("name", ["siskin", "bonxie"])
def test_a_hover_ends_as_the_sheet_says(name):
    flight = parse_flight(f'title = "Hover"\ncraft = "{name}"\nduration_s = 40\n[start]\nheight_m = 10\n')
    run, plant = fly(flight), resolve_plant(load_craft(name), Site())
    t = run.data["t_s"]
    seconds = float(t[-1])
    crowd = crowd_of([plant])
    hover = trim(crowd, crowd.mass)
    end = run_end(crowd, hover, [(hover, seconds)])
    late = t > seconds - 1.0
    drawn = float(np.trapezoid(run.data["battery_current_A"], t)) / MAH
    assert end.back_mAh == pytest.approx(drawn, rel=0.03)
    assert 100.0 * end.loaded_cell_V == pytest.approx(
        100.0 * np.mean(run.data["weakest_cell_V"][late]), rel=0.004
    )
    assert end.case_C == pytest.approx(np.max(run.data["case_temperature_K"][-1]) - CELSIUS, abs=0.8)
    assert end.pack_C == pytest.approx(run.data["pack_temperature_K"][-1] - CELSIUS, abs=0.3)
    assert end.hover_pct == pytest.approx(100.0 * np.max(np.mean(run.data["duty"][t < 4.0], axis=0)), abs=1.5)
