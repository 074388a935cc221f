"""Rotor maps against measured propellers, by kind of evidence.

Data: J. B. Brandt, R. W. Deters, G. K. Ananda, O. D. Dantsker and M. S. Selig, UIUC Propeller Database, Vols 1 and 2 (AIAA
2011-1255, AIAA 2014-2151), a static row in the middle of the speeds and two rows of the fastest sweep of each. The typical
blade was fitted to these propellers among others, so the errors here are a little under those of left-out families, which
tools/fit_typical_blade.py prints; bounds are the latter's.
"""

from dataclasses import dataclass
from functools import cache

import numpy as np
import pytest

from quadsim.dynamics.map_uncertainty import half_width, sigmas
from quadsim.dynamics.rotor_map import RotorMap, rotor_map

pytestmark = pytest.mark.jit  # no kernel in it


@pytest.fixture(autouse=True)
def own_cache(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("QUADSIM_CACHE_DIR", str(tmp_path_factory.getbasetemp() / "rotor-cache"))


@dataclass(frozen=True)
class Measured:
    """Diameter, pitch [in], blades; rest: rpm, CT, CP; sweep: rpm, then J, CT, CP twice; J without thrust."""

    size: tuple[float, float, int]
    rest: tuple[float, float, float]
    rpm: float
    sweep: tuple[tuple[float, float, float], tuple[float, float, float]]
    no_thrust: float


MEASURED = {
    "apcsp_4.2x2": Measured(
        (4.2, 2.0, 2),
        (9950, 0.084036, 0.042918),
        15065,
        ((0.273, 0.058624, 0.03667), (0.479, 0.022578, 0.023177)),
        0.593,
    ),
    "gwsdd_4x4": Measured(
        (4.0, 4.0, 2),
        (6960, 0.167878, 0.129436),
        10068,
        ((0.456, 0.116969, 0.09467), (0.778, 0.042126, 0.053814)),
        0.932,
    ),
    "gwsdd_5x3": Measured(
        (5.0, 3.0, 2),
        (6473, 0.110636, 0.046215),
        9047,
        ((0.250, 0.074038, 0.038555), (0.499, 0.021207, 0.022388)),
        0.585,
    ),
    "da4002_5x3.75": Measured(
        (5.0, 3.75, 2),
        (4967, 0.124781, 0.090452),
        6045,
        ((0.425, 0.089987, 0.073238), (0.767, 0.024892, 0.034253)),
        0.874,
    ),
    "da4052-3b_5x3.75": Measured(
        (5.0, 3.75, 3),
        (5433, 0.151686, 0.10309),
        7044,
        ((0.368, 0.101552, 0.074523), (0.655, 0.02341, 0.034044)),
        0.735,
    ),
    "magf_7x4": Measured(
        (7.0, 4.0, 2), (5547, 0.0822, 0.0399), 6998, ((0.261, 0.0644, 0.0388), (0.471, 0.0342, 0.0289)), 0.650
    ),
    "apcsf_8x3.8": Measured(
        (8.0, 3.8, 2), (5411, 0.1048, 0.0447), 7018, ((0.386, 0.0604, 0.0381), (0.622, 0.0075, 0.0228)), 0.651
    ),
    "apce_9x4.5": Measured(
        (9.0, 4.5, 2), (5157, 0.0985, 0.0386), 6917, ((0.328, 0.062, 0.036), (0.509, 0.0268, 0.0222)), 0.656
    ),
    "da4002_9x6.75": Measured(
        (9.0, 6.75, 2),
        (4213, 0.136319, 0.079168),
        5064,
        ((0.437, 0.093013, 0.067796), (0.689, 0.04515, 0.045885)),
        0.893,
    ),
    "apcsf_10x4.7": Measured(
        (10.0, 4.7, 2),
        (4880, 0.1223, 0.0494),
        6513,
        ((0.357, 0.0743, 0.0434), (0.579, 0.0229, 0.0277)),
        0.662,
    ),
    "apce_10x5": Measured(
        (10.0, 5.0, 2),
        (5025, 0.0964, 0.0369),
        6710,
        ((0.321, 0.0706, 0.0386), (0.512, 0.0308, 0.0239)),
        0.680,
    ),
    "apcsp_11x4": Measured(
        (11.0, 4.0, 2), (4629, 0.0814, 0.032), 6004, ((0.309, 0.0447, 0.0274), (0.459, 0.0195, 0.0194)), 0.570
    ),
}
"""Keys are the data base's names."""


@cache
def built(name: str, kind: str) -> RotorMap:
    """Map of a measured propeller from its size alone, with its static row, or with its sweep too."""
    m = MEASURED[name]
    if kind == "size":
        return rotor_map(*m.size)
    rpm, ct, cp = m.rest
    if kind == "point":
        n, diameter, density = rpm / 60.0, m.size[0] * 0.0254, 1.225
        thrust, power = ct * density * n**2 * diameter**4, cp * density * n**3 * diameter**5
        return rotor_map(
            *m.size, table={"rpm": rpm, "thrust_N": thrust, "shaft_power_W": power, "density": density}
        )
    rows = [
        (rpm, 0.0, ct, cp),
        *((m.rpm, *row) for row in m.sweep),
        (m.rpm, m.no_thrust, 0.0, m.sweep[1][2] * 0.7),
    ]
    return rotor_map(*m.size, table=[dict(zip(("rpm", "J", "CT", "CP"), row, strict=True)) for row in rows])


def errors(name: str, kind: str) -> tuple[float, float, float, float]:
    """Relative errors of static CT and CP, greatest error of CT over J relative to static, relative error of the J without
    thrust."""
    m, mapped = MEASURED[name], built(name, kind)
    ct, cp, _ = mapped.coefficients(m.rest[0])
    sweep = [abs(mapped.coefficients(m.rpm, j)[0] - ct_j) / m.rest[1] for j, ct_j, _ in m.sweep]
    axial = np.linspace(0.2, 1.2, 1001)
    zero = axial[np.argmax(mapped.coefficients(m.rpm, axial)[0] < 0.0)]
    return abs(ct / m.rest[1] - 1.0), abs(cp / m.rest[2] - 1.0), max(sweep), abs(zero / m.no_thrust - 1.0)


@pytest.mark.parametrize(
    ("kind", "bounds"), [("size", (0.13, 0.16, 0.12, 0.09)), ("point", (0.02, 0.04, 0.06, 0.09))]
)
def test_median_errors_of_a_kind_of_evidence(kind: str, bounds: tuple[float, ...]) -> None:
    """Static CT and CP, CT over J, and J without thrust."""
    median = np.median([errors(name, kind) for name in MEASURED], axis=0)
    assert np.all(median < bounds), f"medians {median.round(3)}"


@pytest.mark.parametrize("kind", ["size", "point"])
def test_97_in_100_values_are_inside_99_percent(kind: str) -> None:
    """Static values and both rows of the sweep, CT and CP, with the map's own uncertainty; errors are no better than
    normal, so two of 72 may lie outside."""
    outside = []
    for name, m in MEASURED.items():
        for rpm, axial, *values in [(m.rest[0], 0.0, *m.rest[1:]), *((m.rpm, *row) for row in m.sweep)]:
            for value, (low, high) in zip(
                values, built(name, kind).interval(rpm, axial, level=0.99), strict=True
            ):
                if not low < value < high:
                    outside.append((name, axial, value))
    assert len(outside) <= 2, outside


def test_intervals_are_not_wider_than_they_need_be() -> None:
    """Some of these twelve lie outside the 50 % interval of static CT."""
    outside = 0
    for name, m in MEASURED.items():
        low, high = built(name, "size").interval(m.rest[0], level=0.5)[0]
        outside += not low < m.rest[1] < high
    assert 2 <= outside <= 10
    assert half_width(0.5) * sigmas("diameter_pitch").ct < 0.1


@pytest.mark.parametrize("name", MEASURED)
def test_a_sweep_is_followed_within_3_percent_of_static(name: str) -> None:
    m, mapped = MEASURED[name], built(name, "sweep")
    for j, ct, cp in m.sweep:
        there = mapped.coefficients(m.rpm, j)
        assert there[0] == pytest.approx(ct, abs=0.03 * m.rest[1])
        assert there[1] == pytest.approx(cp, abs=0.03 * m.rest[2])
