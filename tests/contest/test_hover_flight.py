"""The hover flown: minutes to the rule's end and to the cut-off by a battery run-down."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from quadsim.analysis.hover import End
from quadsim.config import load_craft
from quadsim.contest.hover_prediction import predict_hover, stated_end
from quadsim.environment.atmosphere import Site


@pytest.mark.jit
@pytest.mark.parametrize(
    ("payload", "used", "cell"), [(0.0, None, None), (0.3, None, None), (0.0, 60.0, 3.85)]
)
def test_flown_as_predicted(payload, used, cell):
    from quadsim.contest.hover_flight import fly_hover

    craft = load_craft("siskin")
    found = predict_hover(craft, Site(), payload, stated_end(craft, used, cell), samples=5)
    flown = fly_hover(craft, Site(), found)
    assert flown.agrees and flown.limited_by == found.at_end.limited_by, flown.words
    assert flown.power_W == pytest.approx(found.power, rel=0.02)
    assert not replace(flown, predicted_min=1.05 * flown.predicted_min).agrees
    assert not replace(flown, height_error_m=1.5).agrees
    assert "NOT" in replace(flown, minutes=None, ended="hit the ground").words


def test_the_first_end_in_a_log():
    from quadsim.contest.hover_flight import first_end

    craft = load_craft("siskin")
    t, charge = np.linspace(0.0, 600.0, 601), np.linspace(1.0, 0.0, 601)
    cell = 4.2 - 1.2 * (1.0 - charge)
    run = SimpleNamespace(
        t_s=t, status="done", data={"charge": charge, "battery_voltage_V": cell * float(craft.battery.cells)}
    )
    log = type("Log", (SimpleNamespace,), {"__getitem__": lambda self, key: self.data[key]})(**vars(run))
    assert first_end(log, craft, End(0.2, 3.0))[1] == "reserve"
    assert first_end(log, craft, End(0.2, 3.0))[0] == pytest.approx(8.0, abs=0.05)
    minutes, by = first_end(log, craft, End(0.0, 3.6, "landing voltage"))
    assert by == "landing voltage" and minutes == pytest.approx(5.0, abs=0.05)
    assert first_end(log, craft, End(-1.0, 0.0)) == (None, "")
    log.status = "battery_empty"
    assert first_end(log, craft, End(0.0, 0.0))[1] == "reserve"
