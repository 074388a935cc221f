"""Crafts with known faults, flown with every sensor's noise: the comparison must find each within its stated interval."""

import itertools
import re

import numpy as np
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg

from quadsim.config import load_craft, parse_craft, resolve_plant
from quadsim.config.mass_properties import mass_properties
from quadsim.environment.atmosphere import Site
from quadsim.logs.comparison import compare
from quadsim.logs.correct import corrected, corrected_text, prove
from quadsim.logs.flown import run_as_log
from quadsim.logs.regression import INTERVAL_95
from quadsim.report.log_sheet import comparison_figure

pytestmark = pytest.mark.jit

WEAK = (("pitch_in = 4.3\n", "pitch_in = 4.3\nthrust_scale = 0.92\n"),
        ("cell_resistance_mohm = { value = 4.2", "cell_resistance_mohm = { value = 6.0"))  # fmt: skip
SEEDS = (1, 2, 3, 4)
FAST = """
title = "There and back"
craft = "siskin"
duration_s = 26
seed = {seed}
log_rate_Hz = 100
[start]
height_m = 30
mode = "attitude_command"
[wind]
speed_m_s = 2
from_deg = 70
"""


@pytest.fixture(scope="module")
def weak(logged, change):
    """Comparisons of a weak craft's logs with the craft file that knows nothing of it."""
    return [compare(load_craft("siskin"), logged(change("siskin", *WEAK), seed), Site()) for seed in SEEDS]


def told(found):
    return {one.name: one for one in found.estimates}


def test_thrust_turning_and_pack_lie_in_their_intervals(weak):
    truth = {"thrust": 0.92, "roll": 0.92, "pitch": 0.92, "pack_resistance": 27.0}
    inside = [
        abs(told(f)[name].value - true) <= INTERVAL_95 * told(f)[name].sigma
        for f in weak
        for name, true in truth.items()
    ]
    assert np.mean(inside) >= 0.9
    assert np.mean([told(f)["thrust"].value for f in weak]) == pytest.approx(0.92, abs=0.006)
    assert np.mean([told(f)["pack_resistance"].value for f in weak]) == pytest.approx(27.0, rel=0.03)


def test_intervals_are_narrow_enough_to_be_of_use(weak):
    for found in weak:
        assert told(found)["thrust"].sigma < 0.015
        assert told(found)["pack_resistance"].sigma < 1.0
        assert told(found)["thrust"].verdict == "corrects"
        assert told(found)["pack_resistance"].verdict in ("corrects", "contradicts")
        assert found.sound


def test_what_it_cannot_tell_is_said_with_a_flight(weak):
    why = {one.name: one for one in weak[0].untold}
    assert "no velocity over ground" in why["drag"].why
    assert "there and back" in why["drag"].flight
    assert "the curve of voltage over charge" in why["capacity"].why


def test_the_corrected_craft_is_nearer_on_the_rows_kept_back(weak):
    found = weak[0]
    assert not (found.fitted & found.kept).any()
    assert 0.25 < found.kept.sum() / found.flying.sum() < 0.4
    proof = {one.before.channel: one for one in prove(found, corrected(found, "x.csv"))}
    down, volts = proof["specific force down"], proof["pack voltage"]
    assert down.after.rms < 0.1 * down.before.rms
    assert volts.after.rms < 0.7 * volts.before.rms
    assert down.better


def test_the_corrected_file_keeps_its_comments_and_states_each_sigma(weak):
    text = corrected_text(weak[0], "flight.csv")
    craft = parse_craft(text)
    assert craft.propeller.thrust_scale == pytest.approx(0.92, abs=0.01)
    assert craft.propeller.thrust_scale.sigma > 0.0
    assert craft.battery.cell_resistance_mohm == pytest.approx(6.0, rel=0.05)
    assert 0.0 < craft.battery.cell_resistance_mohm.sigma < 0.3
    assert "# after levelling it on the bench" in text
    assert text.startswith(
        "# Corrected by flight.csv, a flight log:\n#   propeller.thrust_scale: thrust over mass, log 0.9"
    )
    own = load_craft("siskin").source_text
    kept = [line for line in own.splitlines() if line not in text.splitlines()]
    assert len(kept) <= 2  # the lines of kv and cell_resistance, which have other numbers now
    assert any("cell_resistance_mohm" in line for line in kept)


def test_the_sheet_answers_in_its_title_and_nothing_runs_out_of_it_or_over_another_text(weak):
    figure = comparison_figure(weak[0], "flight.csv")
    FigureCanvasAgg(figure).draw()
    texts = [one.get_text() for one in figure.texts]
    assert texts[0] == f"Siskin beside a log: they do not agree in {', '.join(weak[0].apart[:2])}"
    assert "resistance of the pack" in weak[0].apart
    boxes = [one.get_window_extent() for one in figure.texts]
    assert all(box.x0 >= 0.0 and box.y0 >= 0.0 and box.x1 <= figure.bbox.x1 for box in boxes)
    over = [
        (a, b)
        for (a, one), (b, two) in itertools.combinations(zip(texts, boxes, strict=True), 2)
        if one.overlaps(two)
    ]
    assert over == []


def test_a_craft_that_is_what_its_file_says_agrees(logged):
    found = compare(load_craft("siskin"), logged(), Site())
    assert found.agrees
    assert all(one.verdict in ("agrees", "cannot tell") for one in found.estimates)
    late = told(found)["delay"]
    assert abs(late.value - late.expected) < 2.0 * late.sigma


def test_mass_is_thrust_over_mass(logged, change):
    heavy = change(
        "siskin",
        (
            'name = "buzzer and lights"\nshape = "box"\nmass_g = 7\n',
            'name = "buzzer and lights"\nshape = "box"\nmass_g = 67\n',
        ),
    )
    ratio = float(
        resolve_plant(load_craft("siskin"), Site()).mass / resolve_plant(parse_craft(heavy), Site()).mass
    )
    found = told(compare(load_craft("siskin"), logged(heavy, 5), Site()))["thrust"]
    assert ratio < 0.92
    assert abs(found.value - ratio) <= INTERVAL_95 * found.sigma
    assert "weigh the craft" in found.caution


def test_a_weak_thrust_explains_the_weak_moments(weak):
    for found in weak:
        for axis in ("roll", "pitch"):
            assert told(found)[axis].caution.endswith("thrust explains it")
            assert told(found)[axis].key is None


def test_an_inertia_that_would_explain_what_the_thrust_does_not(logged, change):
    craft = load_craft("siskin")
    own = 1e3 * float(mass_properties(craft).inertia_kg_m2[0, 0])
    other = change("siskin", ("[mass]\n", f"[mass]\nroll_inertia_gm2 = {1.25 * own:.4f}\n"))
    found = told(compare(craft, logged(other, 6), Site()))
    assert abs(found["roll"].value - 0.8) <= INTERVAL_95 * found["roll"].sigma
    said = re.search(
        r"mass\.roll_inertia_gm2 = ([\d.]+) \(\+- ([\d.]+)\) where the file has", found["roll"].caution
    )
    assert said is not None
    assert abs(float(said[1]) - 1.25 * own) <= INTERVAL_95 * float(said[2])
    assert "nothing is written into the craft file" in found["pitch"].caution


def test_without_rotor_speeds_the_thrust_at_a_command(logged, change):
    log = logged(change("siskin", *WEAK), 1)
    del log.channels["rotor_speed"]
    found = told(compare(load_craft("siskin"), log, Site()))["thrust"]
    assert found.words == "thrust over mass at a motor command"
    assert abs(found.value - 0.92) <= INTERVAL_95 * found.sigma
    assert "voltage sensor" in found.why


@pytest.mark.parametrize(("seed", "kv", "torque"), [(1, 1785.0, 1.0), (2, 1700.0, 1.15), (3, 1615.0, 1.12)])
def test_motor_and_propeller_are_told_apart(logged, change, seed, kv, torque):
    changes = (("value = 1700, sigma = 34", f"value = {kv}, sigma = 34"),
               ("pitch_in = 4.3\n", f"pitch_in = 4.3\ntorque_scale = {torque}\n"))  # fmt: skip
    found = told(compare(load_craft("siskin"), logged(change("siskin", *changes), seed), Site()))
    assert abs(found["kv"].value - kv) <= INTERVAL_95 * found["kv"].sigma
    assert abs(found["torque"].value - torque) <= INTERVAL_95 * found["torque"].sigma
    assert found["kv"].sigma < 0.02 * kv
    assert found["torque"].sigma < 0.06


@pytest.mark.parametrize(("factor", "seed"), [(1.5, 1), (0.6, 2)])
def test_drag_and_wind_of_a_flight_there_and_back(factor, seed):
    from quadsim.config.flight_loader import parse_flight
    from quadsim.simulation.fly import finish, start
    from quadsim.simulation.session import fly_through

    craft = load_craft("siskin")
    area = [1e4 * factor * float(one) for one in resolve_plant(craft, Site()).drag_area]
    text = craft.source_text + f"\n[drag]\narea_cm2 = {area}\n"
    legs = "".join(f"[[at]]\nt_s = {t}\nramp_s = 0.5\nstick_pitch = {stick}\nstick_throttle = {throttle}\n"
                   for t, stick, throttle in ((1, -0.9, 0.46), (11, 0.9, 0.46), (23, 0.0, 0.37)))  # fmt: skip
    session = start(parse_flight(FAST.format(seed=seed) + legs), craft=parse_craft(text))
    fly_through(session)
    run = finish(session, 0.0)
    log = run_as_log(run)
    # as a good receiver would report it: 0.1 m/s of noise
    log.channels["velocity"] = run["velocity_m_s"] + 0.1 * np.random.default_rng(seed).standard_normal(
        (len(log), 3)
    )
    found = compare(craft, log, Site())
    drag = told(found)["drag"]
    assert abs(drag.value - factor) <= INTERVAL_95 * drag.sigma
    assert drag.value == pytest.approx(factor, abs=0.25)
    north, east = -2.0 * np.cos(np.radians(70.0)), -2.0 * np.sin(np.radians(70.0))
    assert found.wind[:2] == pytest.approx([north, east], abs=0.8)
    assert drag.key is not None
    assert drag.key.value[0] == pytest.approx(area[0], rel=0.3)
