"""Intervals of the map and what would narrow them."""

import numpy as np
import pytest

from quadsim.dynamics.map_uncertainty import half_width, sigmas, what_would_narrow
from quadsim.dynamics.rotor_map import rotor_map
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
