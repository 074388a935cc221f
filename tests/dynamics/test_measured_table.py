"""Bench and wind-tunnel tables: what they are read as, that the map follows them, and what is refused with its rows shown."""

from pathlib import Path

import numpy as np
import pytest

from quadsim.dynamics.rotor_map import AXIAL_MAX, RotorMap, rotor_map
from quadsim.errors import InputError

pytestmark = pytest.mark.jit  # no kernel in it

DIAMETER, AIR = 9.0 * 0.0254, 1.19
SPEEDS = np.array([2500.0, 3200.0, 4100.0, 5000.0, 5900.0, 6800.0])


@pytest.fixture(autouse=True)
def own_cache(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("QUADSIM_CACHE_DIR", str(tmp_path_factory.getbasetemp() / "rotor-cache"))


def bench(ct: float = 0.11, cp: float = 0.045, growth: float = 0.08, torque: bool = True) -> list[dict]:
    """An invented table: CT grows and CP falls with the speed to these powers."""
    rows = []
    for rpm in SPEEDS:
        n, trend = rpm / 60.0, (rpm / 5000.0) ** growth
        row = {"rpm": float(rpm), "thrust_N": ct * trend * AIR * n**2 * DIAMETER**4, "density": AIR}
        if torque:
            row["torque_Nm"] = cp / trend * AIR * n**2 * DIAMETER**5 / (2.0 * np.pi)
        rows.append(row)
    return rows


def thrust_and_torque(built: RotorMap) -> tuple[np.ndarray, np.ndarray]:
    ct, cp, _ = built.coefficients(SPEEDS)
    n = SPEEDS / 60.0
    return ct * AIR * n**2 * DIAMETER**4, cp * AIR * n**2 * DIAMETER**5 / (2.0 * np.pi)


@pytest.mark.parametrize("ct", [0.06, 0.10, 0.16])
@pytest.mark.parametrize("merit", [0.35, 0.55, 0.72])
@pytest.mark.parametrize("growth", [-0.03, 0.05, 0.15])
def test_a_bench_table_is_reproduced_within_2_percent(ct: float, merit: float, growth: float) -> None:
    """Any plausible table; figures of merit as AIAA 2014-2151 has them."""
    table = bench(ct, ct**1.5 * np.sqrt(2.0 / np.pi) / merit, growth)
    thrust, torque = thrust_and_torque(rotor_map(9.0, 4.5, table=table))
    assert thrust == pytest.approx([row["thrust_N"] for row in table], rel=0.02)
    assert torque == pytest.approx([row["torque_Nm"] for row in table], rel=0.02)


def test_scattered_rows_are_followed_within_2_percent() -> None:
    rng = np.random.default_rng(3)
    table = bench()
    for row in table:
        row["thrust_N"] *= 1.0 + rng.normal(0.0, 0.02)
        row["torque_Nm"] *= 1.0 + rng.normal(0.0, 0.03)
    thrust, torque = thrust_and_torque(rotor_map(9.0, 4.5, table=table))
    assert thrust == pytest.approx([row["thrust_N"] for row in table], rel=0.02)
    assert torque == pytest.approx([row["torque_Nm"] for row in table], rel=0.02)


def test_grid_for_the_loop_holds_the_table() -> None:
    built = rotor_map(9.0, 4.5, table=bench())
    for rpm in SPEEDS:
        assert built.grid_at(rpm)[7, 0, :2] == pytest.approx(built.coefficients(rpm)[:2], rel=1e-12)


def test_forms_of_a_table_say_the_same() -> None:
    """List of rows, columns, grams, power, and air by temperature and pressure."""
    rows = bench()
    columns = {name: [row[name] for row in rows] for name in ("rpm", "thrust_N", "torque_Nm")}
    other = [
        {
            "rpm": row["rpm"],
            "thrust_g": row["thrust_N"] / 9.80665e-3,
            "shaft_power_W": row["torque_Nm"] * row["rpm"] * np.pi / 30.0,
        }
        for row in rows
    ]
    pressure = AIR * 287.05287 * 293.15 / 100.0
    tables = (
        rows,
        {**columns, "density": AIR},
        {"rows": other, "temperature_C": 20.0, "pressure_hPa": pressure},
    )
    first, *others = (rotor_map(9.0, 4.5, table=table) for table in tables)
    for another in others:
        assert another.coefficients(5500.0, 0.2, 0.1) == pytest.approx(
            first.coefficients(5500.0, 0.2, 0.1), rel=1e-6
        )


def test_thrust_alone_pins_thrust_only() -> None:
    alone, both, bare = (rotor_map(9.0, 4.5, table=t) for t in (bench(torque=False), bench(), None))
    thrust, _ = thrust_and_torque(alone)
    assert thrust == pytest.approx([row["thrust_N"] for row in bench()], rel=0.02)
    assert both.cp_sigma < alone.cp_sigma < bare.cp_sigma
    assert "without torque" in alone.evidence
    assert alone.evidence_kind == "diameter_pitch + thrust"


def test_own_arm_is_said_and_not_corrected() -> None:
    arm = rotor_map(9.0, 4.5, table={"rows": bench(), "measured_on": "own arm"})
    stand = rotor_map(9.0, 4.5, table=bench())
    assert (arm.measured_on, stand.measured_on) == ("own arm", "free stand")
    assert arm.coefficients(5000.0, 0.2) == stand.coefficients(5000.0, 0.2)
    assert "own arm" in arm.evidence


def test_cache_tells_tables_apart(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("QUADSIM_CACHE_DIR", str(tmp_path))
    for _ in range(2):
        weak, strong = (rotor_map(9.0, 4.5, table=bench(ct)) for ct in (0.09, 0.13))
        assert weak.coefficients(5000.0, 0.3)[0] < 0.85 * strong.coefficients(5000.0, 0.3)[0]


def tunnel(last: float = 0.6) -> list[dict]:
    """An invented sweep at two speeds."""
    return [
        {"rpm": rpm, "J": float(j), "CT": 0.12 - 0.10 * j - 0.12 * j**2, "CP": 0.05 + 0.01 * j - 0.09 * j**2}
        for rpm in (4000.0, 6000.0)
        for j in np.linspace(0.15, last, 12)
    ]


@pytest.mark.parametrize("last", [0.4, 0.6])
def test_wind_tunnel_table_is_followed_where_it_has_rows(last: float) -> None:
    rows = tunnel(last)
    built = rotor_map(9.0, 5.5, table=rows)
    for row in rows:
        ct, cp, _ = built.coefficients(row["rpm"], row["J"])
        assert ct == pytest.approx(row["CT"], abs=0.02 * 0.12)
        assert cp == pytest.approx(row["CP"], abs=0.02 * 0.05)
    axial = np.linspace(0.0, AXIAL_MAX, 300)
    for value in built.coefficients(5000.0, axial)[:2]:
        assert np.abs(np.diff(value, 2)).max() < 0.003, "no jump where the rows end"
    assert built.coefficients(5000.0, 1.1)[0] < 0.0, "beyond the rows the blade goes on"


def test_axial_is_another_word_for_j() -> None:
    renamed = [{("axial" if k == "J" else k): v for k, v in row.items()} for row in tunnel()]
    left, right = (rotor_map(9.0, 5.5, table=t).coefficients(5000.0, 0.3) for t in (renamed, tunnel()))
    assert left == right


def spoilt(k: int, **values: float) -> list[dict]:
    rows = bench()
    rows[k] = {**rows[k], **values}
    return rows


def without(k: int, name: str) -> list[dict]:
    rows = bench()
    del rows[k][name]
    return rows


@pytest.mark.parametrize(
    ("table", "parts"),
    [
        (bench()[:2], ("2 rows", "row 1 (rpm 2500", "row 2 (rpm 3200", "3 rows or more")),
        (spoilt(2, thrust_N=-1.0), ("table row 3.thrust_N", "-1.0", "positive")),
        (spoilt(2, thrust_N=float("nan")), ("table row 3.thrust_N", "nan")),
        (spoilt(2, rpm=3000.0), ("row 3 (rpm 3000", "rpm must rise")),
        (without(3, "thrust_N"), ("table row 4.thrust_N", "missing", "thrust_g")),
        (without(3, "torque_Nm"), ("table row 4: no torque", "every row or in none")),
        (without(3, "rpm"), ("table row 4.rpm", "missing")),
        (without(3, "density"), ("table row 4", "temperature_C and pressure_hPa")),
        (
            spoilt(4, thrust_N=bench()[3]["thrust_N"] * 0.95),
            ("row 4 (", "row 5 (", "thrust must rise with rpm"),
        ),
        (spoilt(1, torque_Nm=0.002), ("row 2 (rpm 3200", "figure of merit under 1")),
        (
            [{**row, "torque_Nm": row["torque_Nm"] * 100.0} for row in bench()],
            ("row 1 (", "row 6 (", "units"),
        ),
        (
            [{**row, "thrust_N": row["thrust_N"] * 102.0} for row in bench()],
            ("row 1 (", "CT must be within", "thrust_g"),
        ),
        (spoilt(5, thrust_g=200.0), ("table row 6", "both thrust_N and thrust_g")),
        (spoilt(5, rpm=40000.0, thrust_N=280.0, torque_Nm=5.0), ("row 6 (rpm 40000", "factor of 3")),
        ({"rpm": [1.0, 2.0], "thrust_N": [1.0]}, ("rpm 2, thrust_N 1", "equally long")),
        ({"rows": bench(), "measured_on": "the kitchen table"}, ("measured_on", "free stand, own arm")),
        ({"rows": bench(), "wind": 3.0}, ("table.wind", "unknown key")),
        (tunnel()[:3], ("3 rows", "4 rows or more")),
        ([{**row, "CP": 0.01} for row in tunnel()], ("row 1 (rpm 4000", "figure of merit under 1")),
        ([{**row, "CT": 0.1 + 0.01 * row["J"]} for row in tunnel()], ("CT must fall",)),
        ([{**row, "J": -0.2} for row in tunnel()], ("table row 1.J", "-0.2", "0 to 3")),
    ],
)
def test_a_bad_table_is_refused_with_its_rows(table: object, parts: tuple[str, ...]) -> None:
    with pytest.raises(InputError) as caught:
        rotor_map(9.0, 4.5, table=table)
    for part in parts:
        assert part in str(caught.value)


@pytest.mark.parametrize(
    "table", [bench(), bench(0.07, 0.03, 0.15), tunnel()], ids=["bench", "weak", "tunnel"]
)
def test_a_corrected_map_is_still_a_rotor(table: list[dict]) -> None:
    """Thrust grows with speed in hover, and power never falls below the ideal T (V + v_i); momentum theory, Leishman
    (2006), ch. 2."""
    built = rotor_map(9.0, 5.0, table=table)
    speeds = np.linspace(1500.0, 9000.0, 200)
    assert np.all(np.diff(built.coefficients(speeds)[0] * speeds**2) > 0.0)
    axial = np.linspace(0.0, 0.45, 60)
    for rpm in (2500.0, 5000.0, 8000.0):
        ct, cp, _ = built.coefficients(rpm, axial)
        assert np.all(cp > ct * (0.5 * axial + np.sqrt(0.25 * axial**2 + 2.0 * np.maximum(ct, 0.0) / np.pi)))
