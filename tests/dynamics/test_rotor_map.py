"""The rotor map: published propellers, limits of theory, accuracy of the grid, bad input, the cache."""

from pathlib import Path

import numpy as np
import pytest

from quadsim.dynamics import blade_element, inflow
from quadsim.dynamics import rotor_map as maps
from quadsim.dynamics.rotor_coefficients import figure_of_merit
from quadsim.dynamics.rotor_evidence import read_evidence
from quadsim.dynamics.rotor_map import RotorMap, rotor_map
from quadsim.errors import InputError

PROPELLERS = [(10.0, 4.7, 2), (5.0, 4.3, 3), (5.0, 3.0, 2), (4.0, 4.0, 2), (12.0, 4.5, 2)]


@pytest.fixture(autouse=True)
def own_cache(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("QUADSIM_CACHE_DIR", str(tmp_path_factory.getbasetemp() / "rotor-cache"))


@pytest.fixture(params=PROPELLERS, ids=lambda p: f"{p[0]:g}x{p[1]:g}x{p[2]}")
def built(request: pytest.FixtureRequest) -> RotorMap:
    return rotor_map(*request.param)


@pytest.mark.parametrize(
    ("propeller", "rpm", "ct", "cp"),
    [
        ((9.0, 4.5, 2), 6922.0, 0.1012, 0.0392),
        ((11.0, 4.0, 2), 6549.0, 0.0880, 0.0319),
        ((5.0, 3.0, 2), 9477.0, 0.1125, 0.0447),
        ((9.0, 6.75, 2), 5943.0, 0.1405, 0.0801),
    ],
)
def test_measured_static_coefficients(propeller: tuple, rpm: float, ct: float, cp: float) -> None:
    """Within two standard uncertainties of four measured propellers: UIUC Propeller Database, Vols 1 and 2
    (AIAA 2011-1255, AIAA 2014-2151), last static row of apce 9x4.5, apcsp 11x4, gwsdd 5x3, da4002 9x6.75."""
    built = rotor_map(*propeller)
    thrust, power, inplane = built.coefficients(rpm)
    assert abs(thrust / ct - 1.0) < 2.0 * built.ct_sigma
    assert abs(power / cp - 1.0) < 2.0 * built.cp_sigma
    assert abs(inplane) < 1e-12


def test_one_bench_point_pulls_the_sweep_in() -> None:
    """UIUC apcsf 10x4.7: static 6528 rpm CT 0.1299, CP 0.0531; at 6513 rpm and J = 0.400 CT 0.0654 (same data
    base)."""
    n, diameter, density = 6528.0 / 60.0, 0.254, 1.225
    point = {
        "rpm": 6528.0,
        "thrust_N": 0.1299 * density * n**2 * diameter**4,
        "torque_Nm": 0.0531 * density * n**2 * diameter**5 / (2.0 * np.pi),
        "density": density,
    }
    bare, calibrated = rotor_map(10.0, 4.7), rotor_map(10.0, 4.7, table=point)
    assert calibrated.coefficients(6528.0)[0] == pytest.approx(0.1299, rel=0.03)
    assert calibrated.coefficients(6528.0)[1] == pytest.approx(0.0531, rel=0.08)
    error = abs(calibrated.coefficients(6513.0, 0.4)[0] - 0.0654)
    assert error < 0.08 * 0.1299
    assert error < 0.5 * abs(bare.coefficients(6513.0, 0.4)[0] - 0.0654)
    assert calibrated.ct_sigma < bare.ct_sigma


def test_chord_and_full_geometry_are_used() -> None:
    """A wider blade of the same helix lifts more; a table with the typical plan form is read station by
    station."""
    wide, narrow = (
        rotor_map(10.0, 5.0, geometry={"chord_75": c}).coefficients(6000.0)[0] for c in (0.2, 0.15)
    )
    assert 1.1 < wide / narrow < 0.2 / 0.15
    rows = [
        (r, 0.18, float(np.degrees(np.arctan(0.5 / (np.pi * max(r, 0.35))))))
        for r in np.linspace(0.15, 1.0, 9)
    ]
    steeper = [(r, c, b + 2.0) for r, c, b in rows]
    assert (
        rotor_map(10.0, 5.0, geometry=steeper).coefficients(6000.0)[0]
        > 1.05 * (rotor_map(10.0, 5.0, geometry=rows).coefficients(6000.0)[0])
    )


def test_uniform_inflow_is_momentum_theory() -> None:
    """A blade loaded for uniform inflow, drag and tip loss taken out: CP = CT (J + w), w from the closed form
    of climb (Leishman 2006, ch. 2). Chord and twist are solved for that loading, so only the momentum balance
    is tested."""
    radius, weight = blade_element.stations()
    section = blade_element.Section(6.0, 1e3, 0.0, 0.0, 0.0, 0.0)
    axial, induced, many = 0.2, 0.15, 400
    flow = (axial + induced) / (np.pi * radius)
    angle = np.full(radius.size, np.radians(4.0))
    load = np.pi * induced * (axial + induced) * radius  # CT per unit radius that the wake asks for
    speed_squared = (np.pi * radius) ** 2 + (axial + induced) ** 2
    lift = 6.0 * np.sin(angle) * np.cos(angle) * np.cos(np.arctan(flow))
    chord = load * 8.0 / many / (speed_squared * lift)
    blade = blade_element.Blade(radius, chord, np.arctan(flow) + angle, weight, many, 0.25)
    one = np.ones(1)
    ct, cp, _ = blade_element.coefficients(blade, section, 6000.0 * one, axial * one, 0.0 * one)[0]
    annulus = 1.0 - blade_element.ROOT**2
    v_h = np.sqrt(2.0 * ct / (np.pi * annulus))
    assert ct == pytest.approx(np.pi / 2.0 * induced * (axial + induced) * annulus, rel=2e-3)
    assert cp / ct == pytest.approx(v_h * inflow.axial_power_ratio(axial / v_h), rel=2e-3)


def test_grid_is_close_to_the_direct_solution(built: RotorMap) -> None:
    """Climb and forward flight: 95 % of points within 0.12 % of static CT, half within 0.04 %. In descent the
    flow is not smooth: 1 %."""
    rng = np.random.default_rng(1)
    axial, inplane = rng.uniform(maps.AXIAL_MIN, maps.AXIAL_MAX, 600), rng.uniform(0.0, maps.INPLANE_MAX, 600)
    rpm = built.reference_rpm
    known = read_evidence(
        built.diameter / 0.0254, built.pitch_ratio * built.diameter / 0.0254, built.blades, None, None
    )
    direct = blade_element.coefficients(*known.rotor(), np.full(600, rpm), axial, inplane)
    error = np.abs(built.coefficients(rpm, axial, inplane)[0] - direct[:, 0]) / built.coefficients(rpm)[0]
    assert np.median(error[axial > 0.0]) < 4e-4
    assert np.percentile(error[axial > 0.0], 95) < 1.2e-3
    assert np.percentile(error[axial <= 0.0], 95) < 1e-2


def test_trend_with_speed_is_close_to_the_direct_solution(built: RotorMap) -> None:
    known = read_evidence(
        built.diameter / 0.0254, built.pitch_ratio * built.diameter / 0.0254, built.blades, None, None
    )
    rpm = built.reference_rpm * np.array([0.6, 1.4])
    direct = blade_element.coefficients(*known.rotor(), rpm, np.zeros(2), np.zeros(2))
    assert np.allclose(built.coefficients(rpm)[0], direct[:, 0], rtol=3e-3)
    assert direct[1, 0] > direct[0, 0], "thrust coefficient grows with Reynolds number (AIAA 2014-2151)"


def test_thrust_grows_with_rotor_speed(built: RotorMap) -> None:
    """At any fixed flight speed, wherever the rotor lifts at all and the map holds."""
    n = built.reference_rpm / 60.0 * np.linspace(0.2, 1.6, 150)
    for axial in np.linspace(-8.0, 25.0, 23):
        for inplane in np.linspace(0.0, 25.0, 11):
            j_axial, j_inplane = axial / (n * built.diameter), inplane / (n * built.diameter)
            ct = built.coefficients(60.0 * n, j_axial, j_inplane)[0]
            inside = (j_axial > maps.AXIAL_MIN) & (j_axial < maps.AXIAL_MAX) & (j_inplane < maps.INPLANE_MAX)
            thrust = (ct * n**2)[inside & (ct > 0.0)]
            assert np.all(np.diff(thrust) > 0.0), f"axial {axial:.1f} m/s, in-plane {inplane:.1f} m/s"


def test_power_exceeds_the_ideal(built: RotorMap) -> None:
    """Hover, climb and forward flight with positive thrust: P > T (V + v_i) of an ideal rotor, momentum
    theory."""
    axial, inplane = np.meshgrid(np.linspace(0.0, 0.4, 9), np.linspace(0.0, 1.0, 11))
    ct, cp, ch = built.coefficients(built.reference_rpm, axial, inplane)
    assert 0.4 < figure_of_merit(ct[0, 0], cp[0, 0]) < 0.75, "small propellers, AIAA 2014-2151"
    for c, p, h, z, x in zip(ct.flat, cp.flat, ch.flat, axial.flat, inplane.flat, strict=True):
        if c > 0.0:
            v_h = np.sqrt(2.0 * c / np.pi)
            ideal = c * (z + v_h * inflow.forward_induced_ratio(x / v_h, z / v_h))
            assert p + h * x > ideal, (
                "shaft power and the power that pushes the disc along pay for lift and climb"
            )


def test_map_is_continuous_and_inplane_force_opposes(built: RotorMap) -> None:
    """No jump between neighbouring nodes beyond a third of static thrust, through the vortex-ring state
    too."""
    static = built.coefficients(built.reference_rpm)[0]
    for axis in (0, 1):
        assert np.abs(np.diff(built.grid[:, :, 0], axis=axis)).max() < static / 3.0
    lifting = built.grid[7:10, 1:, 2]
    assert np.all(lifting > 0.0)
    assert np.all(np.isfinite(built.grid)) and np.all(np.isfinite(built.rpm_slope))


def test_edge_is_held_and_shapes_follow() -> None:
    built = rotor_map(10.0, 4.7)
    assert built.coefficients(6000.0, 9.0) == built.coefficients(6000.0, maps.AXIAL_MAX)
    assert built.coefficients(6000.0, 0.1, -0.3) == built.coefficients(6000.0, 0.1, 0.3)
    ct, _, _ = built.coefficients(np.array([5000.0, 6000.0]), 0.1)
    assert ct.shape == (2,) and ct[1] == built.coefficients(6000.0, 0.1)[0]
    assert built.coefficients(0.0)[0] > 0.0
    assert np.allclose(built.grid_at(5000.0)[7, 0, 0], built.coefficients(5000.0)[0])


@pytest.mark.parametrize(
    ("arguments", "part"),
    [
        ((0.0, 4.0), "diameter_in"),
        ((float("nan"), 4.0), "diameter_in"),
        (("ten", 4.0), "diameter_in"),
        ((10.0, -4.0), "2 to 14 in"),
        ((10.0, 4.0, 1), "blades"),
        ((10.0, 4.0, 2.5), "blades"),
        ((10.0, 4.0, True), "blades"),
        ((10.0, 4.0, 2, {"chord": 0.2}), "known: chord_75"),
        ((10.0, 4.0, 2, {"chord_75": 20.0}), "tip radius"),
        ((10.0, 4.0, 2, "wide"), "rows of"),
        (
            (10.0, 4.0, 2, [(0.2, 0.1, 20.0), (0.5, 0.1, 15.0), (0.4, 0.1, 12.0), (1.0, 0.1, 5.0)]),
            "sort the rows",
        ),
        ((10.0, 4.0, 2, [(0.2, 0.1, 20.0), (0.5, 9.1, 15.0), (0.8, 0.1, 12.0), (1.0, 0.1, 5.0)]), "row 1"),
        (
            (10.0, 4.0, 2, [(0.2, 0.1, 20.0), (0.5, 0.1, 15.0), (0.6, 0.1, 12.0), (0.7, 0.1, 5.0)]),
            "0.95 or more",
        ),
        ((10.0, 4.0, 2, None, [1, 2]), "one static point"),
        ((10.0, 4.0, 2, None, {"rpm": 6000}), "table.thrust_N"),
        (
            (
                10.0,
                4.0,
                2,
                None,
                {"rpm": 6e3, "thrust_g": 5, "thrust_N": 5, "torque_Nm": 0.1, "density": 1.2},
            ),
            "thrust_g",
        ),
        (
            (10.0, 4.0, 2, None, {"rpm": 6e3, "thrust_N": 5, "torque_Nm": 0.001, "density": 1.2}),
            "ideal hover power",
        ),
    ],
)
def test_bad_input_says_what_is_allowed(arguments: tuple, part: str) -> None:
    with pytest.raises(InputError, match=part.replace("(", r"\(")):
        rotor_map(*arguments)


def test_damaged_or_unwritable_cache_is_rebuilt(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("QUADSIM_CACHE_DIR", str(tmp_path / "cache"))
    first = rotor_map(7.0, 4.0)
    (stored,) = (tmp_path / "cache" / "rotor-maps").iterdir()
    for damage in (b"", b"nonsense", stored.read_bytes()[:-64]):
        stored.write_bytes(damage)
        assert np.array_equal(rotor_map(7.0, 4.0).grid, first.grid)
        assert stored.stat().st_size > 25_000, "the damaged file was replaced"
    blocked = tmp_path / "a file, no folder"
    blocked.write_text("")
    monkeypatch.setenv("QUADSIM_CACHE_DIR", str(blocked))
    assert np.array_equal(rotor_map(7.0, 4.0).grid, first.grid)


def test_cache_is_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("QUADSIM_CACHE_DIR", str(tmp_path))
    first = rotor_map(7.0, 4.0)

    def unwanted(*_: object) -> None:
        raise AssertionError("built again")

    monkeypatch.setattr(maps, "build_grids", unwanted)
    assert np.array_equal(rotor_map(7.0, 4.0).rpm_slope, first.rpm_slope)
    with pytest.raises(AssertionError, match="built again"):
        rotor_map(7.0, 4.1)
