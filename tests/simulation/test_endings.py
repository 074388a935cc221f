"""Every way a flight can end: its status, its sentence, and that what was flown is kept."""

import re

import numpy as np
import pytest

import quadsim
from quadsim.config.flight_loader import parse_flight
from quadsim.dynamics.state import ROTOR_NAMES
from quadsim.errors import InputError
from quadsim.sensors.clock import Clock
from quadsim.simulation.fly import fly, start

SHORT = 'title = "short"\ncraft = "siskin"\nduration_s = {}\n'
AIR = SHORT + "[start]\nheight_m = 3\n"


def test_done():
    run = fly(parse_flight(AIR.format(0.02)))
    assert (run.status, run.status_text) == ("done", "flew the whole 0.02 s")
    assert run.t_s[-1] == pytest.approx(0.02)
    assert run.passed  # nothing was expected but how it ends
    assert [line.metric for line in run.expectations] == ["status"]
    assert run.meta["steps"] == 81


def test_battery_empty():
    session = start(parse_flight(AIR.format(1)))
    session.x[20] = 1e-7
    session.advance(400)
    assert session.finished
    run = quadsim.simulation.fly.finish(session, 0.0)
    assert run.status == "battery_empty"
    assert run.status_text.startswith("battery empty after 0.0 s")


def test_a_hard_landing_is_a_crash_with_its_speed():
    session = start(parse_flight(AIR.format(5)))
    session.x[2], session.x[5] = -0.2, 6.0
    session.advance(400)
    run = quadsim.simulation.fly.finish(session, 0.0)
    assert run.status == "crashed"
    found = re.fullmatch(
        r"hit the ground at ([56]\.\d) m/s after .* s: (\d+) J in sinking, (\d+) J in all", run.status_text
    )
    assert found is not None
    speed, sinking, whole = (float(text) for text in found.groups())
    assert sinking == pytest.approx(
        0.5 * float(session.plant.mass) * speed**2, abs=0.7
    )  # two digits are shown
    assert whole == pytest.approx(sinking, abs=1.0)


def test_a_tipped_craft_strikes_with_its_propeller():
    session = start(parse_flight(AIR.format(5)))
    session.x[2] = -0.05
    session.x[6:10] = np.cos(0.6), np.sin(0.6), 0.0, 0.0
    session.advance(40)
    run = quadsim.simulation.fly.finish(session, 0.0)
    assert run.status == "propeller_strike"
    assert "propeller struck the ground" in run.status_text


def test_diverged():
    session = start(parse_flight(AIR.format(5)))
    session.x[10] = 2e4
    session.advance(40)
    assert quadsim.simulation.fly.finish(session, 0.0).status == "diverged"


def test_a_block_that_returns_nan_ends_the_flight_and_keeps_the_log(tmp_path):
    law = tmp_path / "law.py"
    law.write_text(
        "def late(s, craft, gains, memory):\n"
        "    for k in range(3):\n"
        "        s.angular_acceleration_wanted[k] = float('nan') if s.t > 0.0099 else 0.0\n"
    )
    run = fly(parse_flight(AIR.format(1)), blocks={"rate": f"{law}:late"})
    assert run.status == "block_not_finite"
    assert "rate block 'late' returned NaN or infinity at 0.010 s" in run.status_text
    assert len(run) > 0


def test_a_block_that_raises_is_named_with_its_line(tmp_path):
    law = tmp_path / "law.py"
    law.write_text("def breaks(s, craft, gains, memory):\n    s.motor[7] = 1.0\n")
    run = fly(parse_flight(AIR.format(1)), blocks={"allocate": f"{law}:breaks"})
    assert run.status == "block_not_finite"
    assert "allocate block failed at 0.000 s: " in run.status_text
    assert "line 2" in run.status_text


def test_ctrl_c_keeps_what_was_flown():
    def interrupt(session):
        if session.rows > 3:
            raise KeyboardInterrupt

    run = fly(parse_flight(AIR.format(100)), progress=interrupt)
    assert run.status == "stopped"
    assert "what was flown is kept" in run.status_text
    assert len(run) > 3
    assert run.t_s[-1] <= run.events[-1].t_s


def test_unknown_blocks_and_gains_are_listed_together():
    with pytest.raises(InputError, match="2 problems") as caught:
        start(parse_flight(AIR.format(1)), blocks={"rate": "pdi", "guide": "nothing"})
    assert "block for rate" in str(caught.value)
    assert "block for guide" in str(caught.value)


def test_a_gain_that_the_block_does_not_have(tmp_path):
    from quadsim.config import load_craft, parse_craft

    text = load_craft("siskin").source_text + "\n[gains.rate]\nroll_q = 3.0\nroll_p = -5.0\n"
    with pytest.raises(InputError, match="no such gain") as caught:
        start(parse_flight(AIR.format(1)), craft=parse_craft(text))
    assert "roll_p: is -5; must be 0 to" in str(caught.value)


def test_gains_for_another_block_are_not_forced_upon_it():
    from quadsim.config import load_craft, parse_craft

    text = load_craft("siskin").source_text + "\n[gains.rate]\nroll_p = 30.0\n"
    session = start(parse_flight(AIR.format(1)), craft=parse_craft(text), blocks={"rate": "hold"})
    assert session.warnings == ["the craft's gains.rate are for pid; hold flies with its defaults"]
    assert start(parse_flight(AIR.format(1)), craft=parse_craft(text)).warnings == []


def test_a_craft_that_cannot_hover_does_not_start_in_the_air():
    from quadsim.config import load_craft, parse_craft

    text = load_craft("bonxie").source_text
    weak = re.sub(r"kv_rpm_per_V = .*", "kv_rpm_per_V = 150", text)
    assert weak != text
    with pytest.raises(InputError, match="cannot hover"):
        start(parse_flight(AIR.format(1)), craft=parse_craft(weak))


def test_a_flight_may_change_the_rates_of_its_craft():
    session = start(parse_flight(AIR.format(1) + "[rates_Hz]\nrate = 1000\nimu = 8000\n"))
    assert session.rates.physics_Hz == 8000
    assert [int(n) for n in session.clock.every] == [4, 32, 16, 8, 4]
    assert session.sensors.imu_clock[Clock.WHOLE] == 1
    assert session.warnings == [session.rates.raised]
    assert "so the physics runs at 8000 Hz where the blocks alone need 4000 Hz" in session.rates.raised
    with pytest.raises(InputError, match="must divide the physics rate"):
        start(parse_flight(AIR.format(1) + "[rates_Hz]\nrate = 700\n"))


LEGS = """
[landing]
friction = 1.5
feet_mm = { front_right = [50, 50, 90], rear_right = [-50, 50, 90], rear_left = [-50, -50, 90], front_left = [50, -50, 90] }
"""


def set_down(sideways, ends=""):
    """Siskin on short legs with its propellers stopped, set down while it moves sideways [m/s]."""
    from quadsim.config import load_craft, parse_craft

    head = AIR.format(4).replace("duration_s", f"{ends}duration_s")
    lost = [f't_s = 0\nfault = {{ kind = "rotor_lost", rotor = "{name}" }}\n' for name in ROTOR_NAMES]
    craft = parse_craft(load_craft("siskin").source_text + LEGS)
    session = start(parse_flight(head + "".join("[[at]]\n" + one for one in lost)), craft=craft)
    session.x[2], session.x[4], session.x[16:20] = -0.12, sideways, 0.0
    session.advance(session.total_ticks)
    return quadsim.simulation.fly.finish(session, 0.0)


@pytest.mark.jit
def test_a_craft_that_lands_sideways_tips_over_and_may_be_meant_to():
    run = set_down(3.0, 'ends = ["tipped_over"]\n')
    assert run.status == "tipped_over"
    assert run.passed
    assert re.fullmatch(
        r"tipped over: it lay on the ground after \d\.\d\d s, tilted by \d+ deg", run.status_text
    )
    assert run.metrics["final_tilt_deg"] > 65.0
    mass, first = run["mass_kg"][0], next(event for event in run.events if event.kind == "ground")
    assert first.impact_J == pytest.approx(0.5 * mass * (first.sink_m_s**2 + 3.0**2), rel=0.01)
    assert run.metrics["impact_J"] == first.impact_J  # no bounce has more
    sink = run.metrics["touch_down_m_s"]
    assert run.metrics["sink_impact_J"] == pytest.approx(0.5 * mass * sink**2, rel=1e-9)


@pytest.mark.jit
def test_the_same_craft_set_down_straight_stays_on_its_feet():
    run = set_down(0.0)
    assert run.status == "done"
    assert run.metrics["final_tilt_deg"] < 1.0
