"""Intervals of an inspection against closed forms and brute force, and which measurement narrows them most."""

import math
import re

import numpy as np
import pytest

from quadsim.analysis.evidence import (
    ANSWERS,
    LOSS,
    MASS,
    MOUNTED,
    MOUNTED_SIGMA,
    THRUST,
    TORQUE,
    answers,
    craft_evidence,
    map_sigmas,
)
from quadsim.analysis.inspection import inspect_craft
from quadsim.analysis.measurements import best_measurement, measurements
from quadsim.analysis.throttle_curves import throttle_curves
from quadsim.config import load_craft, mass_properties, parse_craft, resolve_plant
from quadsim.config.equilibrium import balance, hover_balance
from quadsim.config.quantity import Uncertain, uncertain_inputs
from quadsim.environment.atmosphere import Site
from quadsim.parts import fit_findings, with_intervals
from quadsim.report.drive_sheet import drive_figure

SITE = Site()


def without_bench(text: str) -> str:
    """The text of bonxie less its bench."""
    return text[: text.index("[propeller.bench]")] + text[text.index("[esc]\n") :]


def bonxie(*changes: tuple[str, str], bench: bool = True):
    """The lifter with pieces of its text exchanged."""
    text = load_craft("bonxie").source_text
    text = text if bench else without_bench(text)
    for old, new in changes:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return parse_craft(text)


def ballasted(grams: float):
    """The lifter, not weighed, with some more grams at its middle."""
    ballast = f'[[parts]]\nname = "ballast"\nshape = "point"\nmass_g = {max(grams, 0.1)}\n\n[motor]'
    return bonxie(
        ("weighed_mass_g = { value = 1604, sigma = 3 }", "unlisted_pct = { value = 14, sigma = 4 }"),
        ("[motor]", ballast),
    )


def without_torque(text: str) -> str:
    """The text of bonxie with a bench that measured no torque."""
    return re.sub(r", torque_Nm = [\d.]+", "", text)


def contribution(seen, name):
    """The contribution of one input."""
    return next(one for one in seen.contributions if one.input == name)


def test_closed_forms():
    """Thrust goes with CT at a speed that CP alone sets, and thrust to weight with the inverse of mass; both exactly."""
    craft = load_craft("siskin")
    seen = craft_evidence(craft, SITE)
    sigma = map_sigmas(craft, seen.blades)[0]
    assert contribution(seen, THRUST).shares["max_thrust_N"] == pytest.approx(math.atanh(sigma), rel=1e-6)
    mass = mass_properties(craft)
    share = mass.mass_sigma_kg / mass.mass_kg
    assert contribution(seen, MASS).shares["thrust_to_weight"] == pytest.approx(-math.atanh(share), rel=1e-6)
    assert contribution(seen, MASS).shares["max_thrust_N"] == 0.0


def test_shares_add_as_squares():
    seen = craft_evidence(load_craft("siskin"), SITE)
    whole = math.sqrt(sum(one.shares["hover_time_min"] ** 2 for one in seen.contributions))
    assert seen.sigma("hover_time_min") == pytest.approx(whole)
    low, high = seen.interval("hover_time_min")
    # 1.2816 standard deviations to either side: table of the normal distribution (from memory)
    assert math.log(high / low) == pytest.approx(2.0 * 1.2816 * whole, rel=1e-4)


def drawn(craft, blades, generator):
    """The craft with every uncertain number drawn anew, and its map with factors of its own."""
    sections = {}
    for where, number in uncertain_inputs(craft):
        section, _, key = where.partition(".")
        if "." in key:
            continue  # of a sensor: nothing to a hover
        value = max(float(generator.normal(number, number.sigma)), 0.05 * number)
        sections.setdefault(section, {})[key] = Uncertain(value)
    for key, sigma in zip(("thrust_scale", "torque_scale"), map_sigmas(craft, blades), strict=True):
        sections["propeller"][key] = Uncertain(float(generator.normal(1.0, sigma)))
    if blades.measured_on != "own arm":
        mounted = sections["propeller"]["torque_scale"] * generator.normal(1.0, MOUNTED_SIGMA)
        sections["propeller"]["torque_scale"] = Uncertain(float(mounted))
    sections["propeller"].pop(
        "flap_ratio"
    )  # nothing to a standing rotor, and a map of its own for each value
    return craft.model_copy(
        update={name: getattr(craft, name).model_copy(update=keys) for name, keys in sections.items()}
    )


@pytest.mark.parametrize(("name", "count"), [("siskin", 250), ("bonxie", 250)])
def test_intervals_against_brute_force(name, count):
    """The 10 % and 90 % points of crafts drawn whole (file to answers, nothing shared with the differences but the solver).

    250 draws know the width of an 80 % interval to 6 % (standard error of a quantile, sqrt(p (1 - p)/n)/f); 15 % is asked.
    """
    craft = load_craft(name)
    seen = craft_evidence(craft, SITE)
    generator = np.random.default_rng(20)
    found = []
    for _ in range(count):
        one = drawn(craft, seen.blades, generator)
        found.append(answers(resolve_plant(one, SITE), one))
    for answer in ANSWERS:
        low, high = np.quantile([one[answer] for one in found], [0.1, 0.9])
        bounds = seen.interval(answer)
        width = high - low
        assert bounds[1] - bounds[0] == pytest.approx(width, rel=0.15), answer
        assert bounds[0] == pytest.approx(low, abs=0.15 * width), answer
        assert bounds[1] == pytest.approx(high, abs=0.15 * width), answer


def test_the_best_measurement_changes_with_the_evidence():
    """Bare: the bench. With a table: the loss on the craft. With the table from the craft's own arm: something else."""
    bare = craft_evidence(bonxie(bench=False), SITE)
    table = craft_evidence(bonxie(), SITE)
    arm = craft_evidence(bonxie(('measured_on = "free stand"', 'measured_on = "own arm"')), SITE)
    assert set(best_measurement(bare).measurement.narrows) >= {THRUST, TORQUE}
    assert best_measurement(table).measurement.narrows == (LOSS, MOUNTED)
    assert not {LOSS, MOUNTED} & {one.input for one in arm.contributions}
    assert not {LOSS, MOUNTED} & set(best_measurement(arm).measurement.narrows)
    widths = [seen.half("thrust_to_weight") for seen in (bare, table, arm)]
    assert widths[0] > 2.0 * widths[1] > 2.0 * widths[2]


def test_what_a_measurement_promises_is_what_it_gives():
    """The interval promised for a bench is the one that an own bench leads to, of the same craft; the best narrows everything."""
    bare, table = craft_evidence(bonxie(bench=False), SITE), craft_evidence(bonxie(), SITE)
    bench = next(one for one in measurements(bare) if "at one throttle on a bench" in one.measure)
    promised = bare.half("thrust_to_weight", bench.left)
    assert promised == pytest.approx(table.half("thrust_to_weight"), rel=0.1)
    best = best_measurement(bare)
    assert {LOSS, MOUNTED} <= set(best.measurement.narrows)
    for name in bare.judged:
        assert best.after[name] < best.before[name]


def test_every_measurement_leaves_less():
    for name in ("siskin", "bonxie", "williwaw"):
        seen = craft_evidence(load_craft(name), SITE)
        assert len(list(measurements(seen))) > 3
        for one in measurements(seen):
            assert all(0.0 <= share <= 1.0 for share in one.left.values())
            assert set(one.left) <= {known.input for known in seen.contributions} | {LOSS}


def test_a_scale_from_a_bench_replaces_the_error_of_the_map():
    craft = bonxie(
        ("pitch_in = 4.5", "pitch_in = 4.5\nthrust_scale = { value = 1.1, sigma = 0.022 }"), bench=False
    )
    seen = craft_evidence(craft, SITE)
    assert map_sigmas(craft, seen.blades) == pytest.approx((0.02, seen.blades.cp_sigma))


@pytest.mark.parametrize("mass", [1604, 1800, 2180, 2500, 4000, 4400, 4550, 4800, 9000])
def test_findings_never_contradict_each_other(mass):
    """Lifting itself, hovering and thrust to weight agree at every mass, and a close call is called one."""
    craft = ballasted(mass - 1604)
    seen = inspect_craft(craft, SITE)
    findings = {one.name: one for one in fit_findings(craft, SITE)}
    lifts, ratio = findings["lifts_itself"], findings["thrust_to_weight"]
    assert lifts.value == ratio.value == pytest.approx(seen.thrust_to_weight)
    assert seen.evidence.answers["thrust_to_weight"] == pytest.approx(seen.thrust_to_weight)
    assert lifts.ok or not ratio.ok
    assert lifts.ok == (seen.hover is not None) == math.isfinite(seen.evidence.answers["hover_time_min"])
    low, high = seen.evidence.interval("thrust_to_weight")
    for one in with_intervals(list(findings.values()), {"thrust_to_weight": (low, high)}):
        close = one.name == "thrust_to_weight" and low < one.limit < high
        assert ("too close to call" in one.message) == close
    assert (low < ratio.limit < high) == (mass in (1604, 1800))


def test_a_craft_that_cannot_hover_has_no_interval_of_it():
    craft = ballasted(7400)
    seen = craft_evidence(craft, SITE)
    assert seen.judged == ("thrust_to_weight",)
    assert math.isnan(seen.interval("hover_time_min")[0])
    assert best_measurement(seen) is not None


def test_bench_rows_lie_on_the_curve():
    """The map reproduces the rows, so thrust as mounted lies on the craft's curve at the row's speed; rows are rounded
    and scatter by 1 to 2 %."""
    craft = load_craft("bonxie")
    curves = throttle_curves(craft, SITE, craft_evidence(craft, SITE))
    assert curves.bench_throttle.size == 8
    expected = np.interp(curves.bench_throttle, curves.throttle, curves.thrust_g)
    assert curves.bench_thrust_g == pytest.approx(expected, rel=0.03)
    for name in curves.low:
        assert np.all(curves.low[name] < getattr(curves, name))
    weight = 1e3 * mass_properties(craft).mass_kg
    assert np.interp(weight, curves.thrust_g, curves.throttle) == pytest.approx(
        craft_evidence(craft, SITE).answers["hover_throttle"], rel=2e-3
    )


@pytest.mark.parametrize("name", ["siskin", "bonxie", "williwaw"])
@pytest.mark.parametrize("duty", [0.02, 0.3, 1.0])
def test_the_balance_closes(name, duty):
    """Source voltage less what the resistance takes is the pack's voltage: Kirchhoff, to rounding."""
    from quadsim.config.equilibrium import pack_source

    plant = resolve_plant(load_craft(name), SITE)
    source, resistance = pack_source(plant, 1.0, False)
    at = balance(plant, duty)
    assert source - resistance * at.pack_current == pytest.approx(at.pack_voltage, rel=1e-12)
    assert hover_balance(plant) is not None


def test_a_motor_that_does_not_turn_has_nothing_uncertain():
    """Its no-load current is more than the pack can push through it."""
    stuck = ("no_load_current_A = 0.7", "no_load_current_A = 20\nno_load_iron_pct = 0")
    craft = bonxie(stuck, ("{ value = 140, sigma = 8 }", "{ value = 5000, sigma = 8 }"), bench=False)
    seen = inspect_craft(craft, SITE)
    assert seen.thrust_to_weight == 0.0
    assert seen.best is None
    assert drive_figure(seen).axes


def test_torque_from_the_current_is_worth_measuring():
    """A bench whose torque follows from the motor's current leaves 8 % of it: once the loss is in, that is what narrows."""
    text = without_torque(load_craft("bonxie").source_text.replace('"free stand"', '"own arm"'))
    best = best_measurement(craft_evidence(parse_craft(text), SITE))
    assert best.measurement.narrows == (THRUST, TORQUE)
    assert "torque" in best.measurement.measure
