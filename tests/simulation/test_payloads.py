"""Payloads in flight: hooked on, picked up, let go, set down; balances of force and closed-form falls."""

import math

import numpy as np
import pytest

from quadsim.config.flight_loader import parse_flight
from quadsim.dynamics.state import X
from quadsim.errors import InputError
from quadsim.simulation.fly import fly, snapshot, start

G0 = 9.80665
HEAD = 'title = "load"\ncraft = "bonxie"\nduration_s = {}\nlog_rate_Hz = 500\n[start]\nheight_m = {}\n'
SLUNG = "[[at]]\nt_s = 0\nattach = {{ mass_g = 300, size_mm = [100, 100, 60], line_m = 2, drag_area_cm2 = 0, {} }}\n"
RELEASE = '[[at]]\nt_s = {}\nrelease = "payload"\n'


def flown(text, seconds, height=20.0):
    session = start(parse_flight(HEAD.format(10, height) + text))
    session.advance(round(seconds / session.h))
    return session


def texts(session):
    return [event.text for event in session.events]


def test_hooked_on_in_flight_the_load_hangs_at_rest_and_pulls():
    """Two masses on a line under the thrust that carried one of them: tension g m M/(M + m) (Newton)."""
    session = flown(
        SLUNG.format("line_diameter_mm = 0, hook_mm = [0, 0, 40]"), 0.1
    )  # before the controller has answered
    row = session.truth[session.rows - 1]
    tension = float(np.mean(session.truth[: session.rows]["line_tension"]))
    assert tension == pytest.approx(G0 * 0.3 * 1.604 / 1.904, rel=0.03)
    hook = np.array(row["position"]) + np.array([0.0, 0.0, 0.04])
    assert np.linalg.norm(np.array(row["load_position"]) - hook) == pytest.approx(2.001, abs=5e-4)
    assert float(row["mass"]) == pytest.approx(1.604)  # on a line: no part of the body
    assert texts(session) == ["payload of 300 g attached"]


def test_what_hangs_at_the_upper_end_is_part_of_the_body():
    """The hook's mass and half of the line's on the craft, the other half at the load."""
    session = flown(SLUNG.format("hook_mass_g = 12, line_mass_g = 8"), 0.01)
    assert float(session.plant.mass) == pytest.approx(1.604 + 0.012 + 0.004)
    assert float(session.plant.load_mass) == pytest.approx(0.304)


@pytest.mark.jit
def test_a_load_is_picked_up_from_the_ground():
    """Standing craft, slack line: the load waits on the ground; then the line is taut, then it is off the ground."""
    text = SLUNG.format("at_mm = [0, 600, 0]") + "[[at]]\nt_s = 0.2\nheight_m = 4\n"
    run = fly(parse_flight(HEAD.format(9, 0) + text))
    waiting = run.t_s < 1.0
    assert run["load_position_m"][waiting] == pytest.approx(
        np.tile([0.0, 0.6, -0.03], (waiting.sum(), 1)), abs=4e-3
    )
    assert not run["line_tension_N"][waiting].any()
    times = {e.text: e.t_s for e in reversed(run.events) if e.kind == "payload"}  # the first of each
    off, taut = times["load off the ground"], times["line taut"]
    lifted = next(e.t_s for e in run.events if e.text == "lift-off")
    assert lifted < taut < off
    assert run["height_m"][np.searchsorted(run.t_s, taut)] == pytest.approx(2.0, abs=0.25)
    assert run["load_position_m"][-1, 2] < -1.0
    assert run.metrics["max_line_N"] > 0.3 * G0
    assert run["mass_kg"][-1] == pytest.approx(1.604)


@pytest.mark.jit
@pytest.mark.parametrize("load", ["at_mm = [0, 0, 60]", "line_m = 0.5, hook_mm = [0, 0, 40]"])
def test_what_is_let_go_falls_to_the_ground(load):
    """Free fall in still air without drag: touches down with sqrt(2 g h), h from its base to the ground."""
    text = (
        f"[[at]]\nt_s = 0\nattach = {{ mass_g = 300, size_mm = [50, 50, 40], drag_area_cm2 = 0, {load} }}\n"
    )
    session = flown(text + RELEASE.format(0.5), 3.0, height=5.0)
    k = np.searchsorted(session.truth[: session.rows]["t"], 0.502)
    row = session.truth[k]
    fall = -float(row["load_position"][2]) - 0.02
    expected = math.sqrt(float(row["load_velocity"][2]) ** 2 + 2.0 * G0 * fall)
    impacts = [event.sink_m_s for event in session.events if event.text.startswith("load touches down")]
    assert impacts[0] == pytest.approx(
        expected, abs=0.03
    )  # looked at once a millisecond, after up to 4 ticks of braking
    assert float(session.truth[session.rows - 1]["load_position"][2]) == pytest.approx(-0.02, abs=2e-3)
    assert not np.any(session.truth[k : session.rows]["line_tension"])


def test_release_of_a_slung_load_leaves_the_thrust():
    """Newton: m g more acceleration on the craft from one tick to the next."""
    session = flown(SLUNG.format("line_diameter_mm = 0") + RELEASE.format(0.3), 0.3)
    before, tension = float(session.motion.k1[X.VELOCITY + 2]), float(session.held.line_tension)
    session.advance(1)
    change = float(session.motion.k1[X.VELOCITY + 2]) - before
    assert change == pytest.approx(-tension / 1.604, rel=0.02)


@pytest.mark.jit
def test_standing_on_a_box_that_reaches_below_the_feet():
    """A misfit: the event says so, and the craft comes down on the box's lower corners, not on its feet."""
    text = "[[at]]\nt_s = 0\nattach = { mass_g = 200, size_mm = [200, 200, 100], at_mm = [0, 0, 180] }\n"
    session = flown(text, 0.5, height=0.0)
    assert texts(session)[1] == "misfit: payload reaches 114 mm below the feet: the craft would land on it"
    row = session.truth[session.rows - 1]
    assert -float(row["position"][2]) == pytest.approx(0.230, abs=1e-3)
    assert float(row["contact_force"]) == pytest.approx(1.804 * G0, rel=0.02)
    above = flown(text.replace("180]", "60]"), 0.5, height=0.0)
    assert texts(above) == ["payload of 200 g attached"]


def test_a_box_beyond_the_reach_of_the_ground_is_refused_before_the_flight():
    text = "[[at]]\nt_s = 5\nattach = { mass_g = 10, size_mm = [1900, 100, 100] }\n"
    with pytest.raises(InputError, match=r"0\.96 m from the frame's origin; must be under 0\.9 m"):
        start(parse_flight(HEAD.format(10, 8) + text))


def test_download_takes_its_share_of_the_thrust_in_flight_and_gives_it_back():
    """The same rotor speeds give 10 % less thrust while the box hangs (the definition of the key), then all of it again."""
    attach = "[[at]]\nt_s = 0\nattach = { mass_g = 100, download_pct = 10 }\n"
    bare, laden = flown("", 0.0), flown(attach + RELEASE.format(0.003), 0.0)
    for session in (bare, laden):
        session.advance(1)
    rows = [np.array(session.truth[0]["thrust"]) for session in (laden, bare)]
    assert rows[0] == pytest.approx(0.9 * rows[1], rel=1e-9)
    for session in (bare, laden):
        session.advance(15)
    ratio = np.array(laden.held.thrust) / np.array(bare.held.thrust)
    assert ratio == pytest.approx(np.ones(4), abs=0.01)  # the rotors have hardly changed their speeds since


def test_a_load_on_the_ground_beyond_its_line_is_refused():
    """Stated level with the hook it is within the line; on the ground, where it is put, it is not."""
    text = SLUNG.format("at_mm = [0, 1998, -100]").replace(
        "line_m = 2,", "line_m = 2, hook_mm = [0, 0, -110],"
    )
    with pytest.raises(
        InputError, match=r"lies on the ground 2\.0\d m from the hook .*; the line is 2 m long"
    ):
        flown(text, 0.01, height=0.0)


def test_chunks_of_any_length_give_the_same_bits_with_a_load():
    text = SLUNG.format("hook_mass_g = 10") + RELEASE.format(0.0413)
    whole, pieces = (start(parse_flight(HEAD.format(10, 8) + text)) for _ in range(2))
    whole.advance(240)
    for ticks in (1, 7, 33, 100, 99):
        pieces.advance(ticks)
    a, b = snapshot(whole).data, snapshot(pieces).data
    assert a["load_mass_kg"].all()
    for name in a:
        assert np.array_equal(a[name], b[name]), name


@pytest.mark.parametrize(
    ("lines", "said"),
    [
        ("attach = { mass_g = 10, stretch_pct = 1 }", "is for a load on a line"),
        (
            "attach = { mass_g = 10, line_m = 1, at_mm = [0, 900, 900] }",
            "is 1.26 m from the hook; the line is 1 m long",
        ),
        (
            'attach = { mass_g = 10, line_m = 1 }\n[[at]]\nt_s = 2\nattach = { name = "b", mass_g = 5, line_m = 1 }',
            "is a second load on a line; one at a time",
        ),
    ],
)
def test_what_is_wrong_with_a_payload_is_said(lines, said):
    with pytest.raises(InputError) as caught:
        parse_flight(HEAD.format(10, 8) + f"[[at]]\nt_s = 1\n{lines}\n")
    assert said in str(caught.value)
