"""Thrust, hover throttle, events and speeds: by hand where it can be, on both sides of each limit, and monotonic."""

import math

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from quadsim.environment.atmosphere import Site
from quadsim.parts import fit_findings
from quadsim.parts.bench import Bench

PLATE = 'name = "plate"\nshape = "box"\nmass_g = 100'


def heavier(make_craft, grams, *changes):
    return make_craft((PLATE, PLATE.replace("100", f"{100 + grams:.3f}")), *changes)


def ask(craft, site=None):
    return {one.name: one for one in fit_findings(craft, site or Site())}


def grams_for_throttle(make_craft, duty):
    """Extra mass [g] at which the craft with round numbers hovers at a throttle at half charge, by bisection."""
    low, high = -50.0, 8000.0
    for _ in range(40):
        middle = 0.5 * (low + high)
        late = Bench.of(heavier(make_craft, middle), Site()).late_hover
        low, high = (middle, high) if late is not None and late.duty < duty else (low, middle)
    return low


@pytest.mark.parametrize(
    ("duty", "below", "above"),
    [
        (0.65, (True, "caution", 0.65), (False, "caution", 0.65)),  # warned of; common practice, no source
        (0.75, (False, "caution", 0.65), (False, "misfit", 0.75)),  # stopped; common practice, no source
    ],
)
def test_hover_throttle_on_both_sides(make_craft, duty, below, above):
    edge = grams_for_throttle(make_craft, duty)
    for grams, (ok, severity, limit) in ((edge - 2, below), (edge + 2, above)):
        found = ask(heavier(make_craft, grams))["hover_throttle"]
        assert (found.ok, found.severity, found.limit) == (ok, severity, limit)
        assert found.value == pytest.approx(duty, abs=2e-3)


def fast(kv):
    """Changes to a fast motor on a pack without resistance, with nothing that limits the current."""
    return (
        ("kv_rpm_per_V = 1000", f"kv_rpm_per_V = {kv}"),
        ("current_limit_A = 30", "current_limit_A = 500"),
        ("current_limit_A = 40", "current_limit_A = 500"),
        ("resistance_mohm = 100", "resistance_mohm = 2"),
        ("\ncell_resistance_mohm = 4", "\ncell_resistance_mohm = 0.2"),
    )


@pytest.mark.parametrize(("kv", "ok"), [(3500, True), (3800, False)])
def test_too_little_hover_throttle_is_a_caution(make_craft, kv, ok):
    found = ask(make_craft(*fast(kv)))["hover_throttle"]
    assert found.value == pytest.approx(0.15, abs=0.012)
    assert (found.ok, found.value >= 0.15, found.bound) == (ok, ok, "at most" if ok else "at least")


def test_a_craft_that_cannot_hover_is_stopped(make_craft):
    found = ask(heavier(make_craft, 9000))
    assert (found["hover_throttle"].value, found["hover_throttle"].severity) == (1.0, "misfit")
    assert not found["thrust_to_weight"].ok
    assert not found["lifts_itself"].ok


def test_thrust_to_weight_on_both_sides(make_craft):
    ratio = ask(make_craft())["thrust_to_weight"].value
    weight = 555.0  # g, all listed
    for wanted, ok in ((4.05, True), (3.95, False)):  # usual for a slalom; common practice, no source
        found = ask(heavier(make_craft, weight * (ratio / wanted - 1.0)))["thrust_to_weight"]
        assert found.value == pytest.approx(wanted, rel=2e-3)
        assert (found.ok, found.limit) == (ok, 4.0)


def test_thrust_to_weight_never_allows_what_hover_throttle_does_not(make_craft):
    """A lifter's usual 2 is not enough for a hover throttle under 65 %: the limit is where both turn together."""
    edge = grams_for_throttle(make_craft, 0.65)
    for grams, ok in ((edge - 5, True), (edge + 5, False)):
        found = ask(heavier(make_craft, grams, ('event = "slalom"', 'event = "lift"')))
        assert found["thrust_to_weight"].limit > 2.0
        assert (found["thrust_to_weight"].ok, found["hover_throttle"].ok) == (ok, ok)


@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.tuples(st.floats(0.0, 3000.0), st.floats(0.0, 3000.0)))
def test_more_mass_means_more_throttle_and_less_ratio(make_craft, grams):
    light, heavy = (ask(heavier(make_craft, g)) for g in sorted(grams))
    assert light["hover_throttle"].value <= heavy["hover_throttle"].value + 1e-9
    assert light["thrust_to_weight"].value >= heavy["thrust_to_weight"].value - 1e-9


@settings(max_examples=10, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.tuples(st.floats(600.0, 1050.0), st.floats(600.0, 1050.0)))
def test_thinner_air_means_more_throttle(make_craft, pressures):
    thin, thick = (ask(make_craft(), Site(pressure_hPa=p))["hover_throttle"].value for p in sorted(pressures))
    assert thin >= thick - 1e-9


@pytest.mark.parametrize(("event", "factor"), [("slalom", 1 / math.cos(math.radians(60))), ("speed", 3.0)])
def test_what_an_event_asks_for(make_craft, event, factor):
    """Level turn: thrust over weight 1/cos(bank). J. D. Anderson, Introduction to Flight, on the level turn (from memory)."""
    bench = Bench.of(make_craft(('event = "slalom"', f'event = "{event}"')), Site())
    assert bench.event_thrust == pytest.approx(factor * bench.weight)
    assert 4.0 * bench.event.thrust == pytest.approx(factor * bench.weight)


def test_a_lifter_is_asked_with_its_load(make_craft):
    bench = Bench.of(make_craft(('event = "slalom"', 'event = "lift"')), Site())
    assert 4.0 * bench.event.thrust == pytest.approx(2.0 * bench.free.thrust)


@pytest.mark.parametrize("part", ["30", "40"])
def test_event_current_on_both_sides(make_craft, part):
    current = ask(make_craft())["event_current"].value
    for limit, ok in ((1.01 * current, True), (0.99 * current, False)):
        found = ask(make_craft((f"current_limit_A = {part}", f"current_limit_A = {limit}")))["event_current"]
        assert (found.ok, found.value, found.severity) == (ok, pytest.approx(current), "misfit")
        assert ("the motor's" if part == "30" else "the ESC's") in found.message


def test_event_winding_on_both_sides(make_craft):
    settled = ask(make_craft(("height_mm = 30", "height_mm = 30\ncase_to_air_W_K = 0.08")))[
        "event_winding"
    ].value
    assert 60.0 < settled < 300.0
    for limit, ok in ((settled + 1, True), (settled - 1, False)):
        text = f"height_mm = 30\ncase_to_air_W_K = 0.08\nwinding_limit_C = {limit}"
        assert ask(make_craft(("height_mm = 30", text)))["event_winding"].ok is ok


def test_motor_speed_on_both_sides(make_craft):
    craft = make_craft(("current_limit_A = 30", "max_rpm = 200000\ncurrent_limit_A = 30"))
    rpm = ask(craft)["motor_speed"].value
    assert "motor_speed" not in ask(make_craft())
    for limit, ok in ((1.01 * rpm, True), (0.99 * rpm, False)):
        craft = make_craft(("current_limit_A = 30", f"max_rpm = {limit}\ncurrent_limit_A = 30"))
        assert (ask(craft)["motor_speed"].ok, ask(craft)["motor_speed"].severity) == (ok, "misfit")


def test_tip_speed_on_both_sides(make_craft):
    by_kv = [ask(make_craft(*fast(kv)))["tip_mach"] for kv in (1400, 1700)]
    assert [one.ok for one in by_kv] == [True, False]
    assert by_kv[0].value < by_kv[0].limit < by_kv[1].value
