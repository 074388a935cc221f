"""Pack, plug and leads: on both sides of each limit, unknown left unasked, and monotonic in the gauge."""

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quadsim.environment.atmosphere import Site
from quadsim.parts import fit_findings, not_asked
from quadsim.parts.supply_findings import LEAD_A_MM2, gauge_area_mm2

LABEL = "label_C_rating = 60"


def ask(craft):
    return {one.name: one for one in fit_findings(craft, Site())}


def test_what_is_not_stated_is_not_asked_and_said(make_craft):
    plain = make_craft()
    keys = {one.key for one in not_asked(plain)}
    assert {"battery.connector_limit_A", "battery.lead_awg", "radio.channels", "motor.max_rpm"} <= keys
    assert not {one.name for one in not_asked(plain)} & set(ask(plain))
    stated = make_craft((LABEL, LABEL + "\nlead_awg = 14\nconnector_limit_A = 60"))
    assert keys - {one.key for one in not_asked(stated)} == {"battery.connector_limit_A", "battery.lead_awg"}


def test_connector_on_both_sides(make_craft):
    current = ask(make_craft((LABEL, LABEL + "\nconnector_limit_A = 60")))["connector"].value
    for limit, ok in ((1.01 * current, True), (0.99 * current, False)):
        found = ask(make_craft((LABEL, LABEL + f"\nconnector_limit_A = {limit}")))["connector"]
        assert (found.ok, found.value) == (ok, pytest.approx(current))


def test_lead_wire_on_both_sides(make_craft):
    found = [ask(make_craft((LABEL, LABEL + f"\nlead_awg = {gauge}")))["lead_wire"] for gauge in range(8, 27)]
    turns = [one.ok for one in found].index(False)
    assert turns > 0
    assert all(one.ok is (k < turns) for k, one in enumerate(found))
    assert all(a.limit > b.limit for a, b in itertools.pairwise(found))
    assert found[turns - 1].limit >= found[0].value > found[turns].limit


@given(st.integers(0, 29))
def test_six_gauges_halve_the_diameter(gauge):
    """92^(1/39) per gauge: six make 2.005 (the rule of thumb says 2)."""
    assert gauge_area_mm2(gauge) / gauge_area_mm2(gauge + 6) == pytest.approx(92 ** (12 / 39))
    assert LEAD_A_MM2 * gauge_area_mm2(gauge) > LEAD_A_MM2 * gauge_area_mm2(gauge + 1)


def test_loaded_voltage_on_both_sides(make_craft):
    weak = ("\ncell_resistance_mohm = 4", "\ncell_resistance_mohm = 25")
    volts = ask(make_craft(weak))["cell_voltage"].value
    assert volts < 3.9
    for cutoff, ok in ((volts - 0.01, True), (volts + 0.01, False)):
        found = ask(make_craft(weak, (LABEL, LABEL + f"\ncutoff_cell_V = {cutoff}")))["cell_voltage"]
        assert (found.ok, found.limit) == (ok, pytest.approx(cutoff))
