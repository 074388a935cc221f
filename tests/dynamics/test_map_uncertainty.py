"""Intervals of the map and what would narrow them."""

import numpy as np
import pytest

from quadsim.dynamics.map_uncertainty import half_width, sigmas, what_would_narrow
from quadsim.dynamics.rotor_map import rotor_map
from quadsim.dynamics.typical_blade_data import SPEED_ERRORS
from quadsim.errors import InputError


@pytest.fixture(autouse=True)
def own_cache(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("QUADSIM_CACHE_DIR", str(tmp_path_factory.getbasetemp() / "rotor-cache"))


@pytest.mark.parametrize(("level", "width"), [(0.6827, 1.0), (0.8, 1.2816), (0.95, 1.96)])
def test_half_width_is_that_of_the_normal_distribution(level: float, width: float) -> None:
    """Table of the normal distribution (from memory)."""
    assert half_width(level) == pytest.approx(width, abs=2e-4)


def test_interval_at_rest_is_the_static_sigma() -> None:
    built = rotor_map(9.0, 4.5)
    ct, cp, _ = built.coefficients(6000.0)
    (ct_low, ct_high), (cp_low, cp_high) = built.interval(6000.0, level=0.6827)
    assert (ct_high - ct_low) / (2.0 * ct) == pytest.approx(built.ct_sigma, rel=1e-3)
    assert (cp_high - cp_low) / (2.0 * cp) == pytest.approx(built.cp_sigma, rel=1e-3)
    assert 0.5 * (ct_low + ct_high) == pytest.approx(ct)


def test_interval_over_the_advance_ratio() -> None:
    """Where no thrust is left the half-width is the sweep's sigma over static thrust; a higher level is wider, in-plane
    flow widens too."""
    built = rotor_map(9.0, 4.5)
    static = built.coefficients(6000.0)[0]
    axial = np.linspace(0.0, 0.9, 400)
    ct = built.coefficients(6000.0, axial)[0]
    none = int(np.argmin(np.abs(ct)))
    (low, high), _ = built.interval(6000.0, axial, level=0.6827)
    assert (high - low)[none] / (2.0 * static) == pytest.approx(built.sweep_sigma, rel=0.02)
    assert np.all(low < ct) and np.all(ct < high)
    (wide, _), _ = built.interval(6000.0, axial, level=0.95)
    assert np.all(wide < low)
    (edgewise, _), _ = built.interval(6000.0, 0.0, 0.3)
    assert built.coefficients(6000.0, 0.0, 0.3)[0] - edgewise > static - built.interval(6000.0)[0][0]


@pytest.mark.parametrize("level", [0.0, 1.0, 1.5])
def test_a_level_is_a_share(level: float) -> None:
    with pytest.raises(InputError, match="within 0 to 1"):
        rotor_map(9.0, 4.5).interval(6000.0, level=level)


def test_more_evidence_leaves_less() -> None:
    bare, chord, point, table = (
        sigmas(kind)
        for kind in ("diameter_pitch", "chord_75", "diameter_pitch + point", "diameter_pitch + table")
    )
    assert bare.ct > chord.ct > point.ct >= table.ct
    assert bare.cp > point.cp > table.cp
    assert point.ct_sweep < bare.ct_sweep
    assert sigmas("diameter_pitch + table", torque_sigma=0.08).cp > table.cp


@pytest.mark.parametrize(
    ("kind", "count"),
    [
        ("diameter_pitch", 4),
        ("chord_75", 3),
        ("diameter_pitch + point", 2),
        ("chord_75 + table", 1),
        ("chord_75 + tunnel", 0),
    ],
)
def test_what_would_narrow_names_each_further_measurement(kind: str, count: int) -> None:
    further = what_would_narrow(kind)
    assert len(further) == count
    for one in further:
        assert one.sigmas.ct <= sigmas(kind).ct
    if kind == "diameter_pitch":
        order = [one.measurement for one in further]
        assert order.index("one static point of thrust and torque") < order.index(
            "the chord at 75 % radius"
        ), "one bench point is worth more than any geometry"


def test_bounds_widen_away_from_the_speeds_of_a_bench() -> None:
    """One point: at its speed the static sigmas, away from it more, alike on both sides; a table has none between its rows;
    without a bench the speed makes no difference, without torque that of power stays."""
    point = {"rpm": 6000.0, "thrust_N": 4.0, "torque_Nm": 0.066, "density": 1.2}
    one = rotor_map(9.0, 4.5, table=point)

    def share(built, rpm: float, k: int) -> float:
        low, high = built.interval(rpm, level=0.6827)[k]
        return (high - low) / (high + low)

    assert share(one, 6000.0, 0) == pytest.approx(one.ct_sigma, rel=1e-3)
    for k, sigma, slope in ((0, one.ct_sigma, SPEED_ERRORS[0]), (1, one.cp_sigma, SPEED_ERRORS[1])):
        for rpm in (3000.0, 12000.0):
            assert share(one, rpm, k) == pytest.approx(np.hypot(sigma, slope * np.log(2.0)), rel=1e-3)
    rows = [
        {"rpm": rpm, "thrust_N": 4.0 * (rpm / 6000.0) ** 2, "density": 1.2}
        for rpm in (3000.0, 5000.0, 8000.0)
    ]
    table, bare = rotor_map(9.0, 4.5, table=rows), rotor_map(9.0, 4.5)
    assert share(table, 4000.0, 0) == pytest.approx(table.ct_sigma, rel=1e-3)
    assert share(table, 2000.0, 0) > 1.5 * table.ct_sigma
    assert share(table, 2000.0, 1) == pytest.approx(table.cp_sigma, rel=1e-3)
    assert share(bare, 2000.0, 0) == pytest.approx(bare.ct_sigma, rel=1e-3)


@pytest.mark.parametrize(
    ("size", "rpm"), [((1.2, 0.9, 4), 40000.0), ((2.0, 2.4, 6), 25000.0), ((18.0, 4.5, 2), 3000.0)]
)
def test_propellers_beyond_the_data_are_still_rotors(size: tuple, rpm: float) -> None:
    """From 1.2 in at 40 000 rpm to 18 in, pitch ratio 0.25 to 1.2: a figure of merit under 1, thrust that rises with
    speed, power above the ideal of momentum theory in climb (Leishman 2006, ch. 2)."""
    built = rotor_map(*size)
    speeds = rpm * np.linspace(0.3, 1.2, 40)
    ct, cp, _ = built.coefficients(speeds)
    assert np.all(np.diff(ct * speeds**2) > 0.0)
    merit = ct**1.5 * np.sqrt(2.0 / np.pi) / cp
    assert np.all((merit > 0.1) & (merit < 0.9))
    axial = np.linspace(0.0, 1.0, 60)
    ct, cp, _ = built.coefficients(rpm, axial)
    lifts = ct > 0.0
    ideal = ct * (0.5 * axial + np.sqrt(0.25 * axial**2 + 2.0 * np.maximum(ct, 0.0) / np.pi))
    assert np.all(cp[lifts] > ideal[lifts])
