"""Findings on a craft: their values by hand, and on which side of the limit they fail."""

import math

import pytest

from quadsim.environment.atmosphere import Site
from quadsim.parts import fit_findings


def findings(craft, **options):
    return {finding.name: finding for finding in fit_findings(craft, Site(), **options)}


def test_every_finding_fails_on_the_wrong_side_of_its_limit(make_craft):
    for finding in findings(make_craft(), budget=100.0).values():
        holds = (
            finding.value >= finding.limit if finding.bound == "at least" else finding.value <= finding.limit
        )
        assert finding.ok is holds
        assert finding.message
        assert finding.unit


def test_half_the_label_is_believed_until_something_was_measured(make_craft):
    found = findings(make_craft())["pack_current"]
    assert found.limit == pytest.approx(0.5 * 60 * 2.0)  # half of 60 per hour times 2 Ah
    assert "half the label's claim" in found.message
    for limit, ok in ((0.99 * found.value, False), (1.01 * found.value, True)):
        tested = make_craft(("label_C_rating = 60", f"label_C_rating = 60\ncurrent_limit_A = {limit}"))
        measured = findings(tested)["pack_current"]
        assert (measured.limit, measured.ok) == (pytest.approx(limit), ok)
        assert "when tested" in measured.message


def test_full_throttle_follows_from_circuit_and_rotor_alike(make_craft):
    """Kirchhoff: V = 4 * 4.2 - R I at the pack, with R = 4 * 4 + 3 mohm; every motor takes the pack's voltage."""
    warm = "no_load_current_A = 0.5\nworking_temperature_C = 60"
    site = Site(temperature_C=20.0)  # where the pack's resistance is stated
    found = {f.name: f for f in fit_findings(make_craft(("no_load_current_A = 0.5", warm)), site)}
    pack, cell = found["pack_current"].value, found["cell_voltage"].value
    assert 4 * cell == pytest.approx(4 * 4.2 - 0.019 * pack, abs=1e-6)
    assert 4 * found["motor_current"].value + 0.5 == pytest.approx(
        pack, rel=1e-6
    )  # at full throttle the two agree
    # back-EMF: speed = Kv (V - R I), copper at 60 deg C by IEC 60028
    resistance = 0.1 * (1 + 0.00393 * 40) + 0.005
    rpm = 1000 * (4 * cell - resistance * found["motor_current"].value)
    sound = math.sqrt(1.4 * 287.05287 * 293.15)  # ICAO Doc 7488
    assert found["tip_mach"].value == pytest.approx(rpm * 2 * math.pi / 60 * 0.0762 / sound, rel=1e-5)


@pytest.mark.parametrize(("part", "limit"), [("motor", "30"), ("esc", "40")])
def test_a_current_over_a_limit_is_a_misfit_and_flights_hold_it(make_craft, part, limit):
    demand = findings(make_craft())["motor_current"].value
    craft = make_craft((f"current_limit_A = {limit}", f"current_limit_A = {demand / 2}"))
    found = findings(craft)[f"{part}_current"]
    assert found.value == pytest.approx(demand)  # what is asked for, not what the limit leaves
    assert not found.ok
    assert found.severity == "misfit"
    assert f"flights hold it at {demand / 2:g} A" in found.message


def test_scales_against_the_list(make_craft):
    listed = 100 + 4 * 50 + 4 * 5 + 20 + 200 + 10 + 5
    assert "mass_list" not in findings(make_craft())
    for weighed, ok in ((listed * 1.03, True), (listed * 1.05, False)):  # twice the stated 2 %
        craft = make_craft(("unlisted_pct", f"weighed_mass_g = {weighed}\nunlisted_pct"))
        found = findings(craft)["mass_list"]
        assert found.ok is ok
        assert found.value == pytest.approx(weighed - listed)
        assert found.limit == pytest.approx(0.04 * listed)


def test_price_against_a_budget(make_craft):
    found = findings(make_craft(), budget=80.0)["price"]
    assert (found.value, found.limit, found.ok) == (4 * 20 + 4 * 2, 80.0, False)


def test_a_propeller_that_touches_is_a_misfit_a_narrow_gap_a_caution(make_craft):
    pod = (
        '[[parts]]\nname = "pod"\nshape = "box"\nmass_g = 1\nsize_mm = [20, {}, 10]\nat_mm = [100, 0, -20]\n'
    )
    narrow, touching = (findings(make_craft(more=pod.format(width)))["frame_gap"] for width in (46, 60))
    assert narrow.value == pytest.approx(100 - 23 - 76.2)
    assert (narrow.ok, narrow.severity) == (False, "caution")
    assert (touching.value, touching.ok, touching.severity) == (0.0, False, "misfit")


def test_a_full_pack_beyond_the_esc_is_a_misfit(make_craft):
    assert "esc_voltage" not in findings(make_craft())
    for volts, ok in ((16.7, False), (16.9, True)):  # four cells of 4.2 V
        craft = make_craft(("size_mm = [40, 40, 6]", f"size_mm = [40, 40, 6]\nmax_V = {volts}"))
        found = findings(craft)["esc_voltage"]
        assert (found.value, found.ok, found.severity) == (pytest.approx(16.8), ok, "misfit")


def test_a_propeller_beyond_its_speed_is_a_misfit(make_craft):
    rpm = findings(make_craft(("blades = 2", "blades = 2\nmax_rpm = 200000")))["propeller_speed"].value
    for limit, ok in ((0.99 * rpm, False), (1.01 * rpm, True)):
        found = findings(make_craft(("blades = 2", f"blades = 2\nmax_rpm = {limit}")))["propeller_speed"]
        assert (found.ok, found.severity) == (ok, "misfit")
    mach = findings(make_craft())["tip_mach"].value  # one speed behind both
    assert mach * math.sqrt(1.4 * 287.05287 * 288.15) / 0.0762 * 60 / (2 * math.pi) == pytest.approx(
        rpm, rel=1e-9
    )


def test_a_response_faster_than_the_motor_is_a_caution(make_craft):
    def with_response(up):
        line = f"response = [{{ throttle_pct = 50, tau_up_ms = {up}, tau_down_ms = 90 }}]"
        return findings(make_craft(("size_mm = [40, 40, 6]", f"size_mm = [40, 40, 6]\n{line}")))[
            "esc_response"
        ]

    slow, fast = with_response(80), with_response(1)
    assert slow.ok
    assert (fast.ok, fast.severity) == (False, "caution")
    assert fast.value == pytest.approx(80 * slow.value)  # the motor's own time over the measured one


def test_cases_in_hover_against_what_one_may_touch(make_craft):
    cool, hot = (
        findings(make_craft()),
        findings(make_craft(("height_mm = 30", "height_mm = 30\ncase_to_air_W_K = 0.01"))),
    )
    assert cool["motor_case"].ok
    assert 15.0 < cool["motor_case"].value < 65.0
    assert not hot["motor_case"].ok
