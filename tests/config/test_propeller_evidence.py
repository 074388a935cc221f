"""The builder's own bench in a craft file: speeds and torques from the motor, and what is refused."""

from pathlib import Path

import pytest

from quadsim.config.craft_loader import parse_craft
from quadsim.config.craft_schema import Craft
from quadsim.config.find_data import shipped
from quadsim.config.propeller_evidence import bench_table, propeller_map
from quadsim.errors import InputError

AIR = "temperature_C = 20.0\npressure_hPa = 1013.25\n"


@pytest.fixture(autouse=True)
def own_cache(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("QUADSIM_CACHE_DIR", str(tmp_path_factory.getbasetemp() / "rotor-cache"))


def craft(
    rows: str = "", keys: str = "", supply: str = "supply_held = true\n", on: str = "free stand"
) -> Craft:
    """A shipped craft with another bench, or none, and keys added to its propeller."""
    text = Path(shipped("crafts")["bonxie"]).read_text(encoding="utf-8")
    assert text.count("[propeller]\n") == text.count("[propeller.bench]") == 1
    text = text[: text.index("[propeller.bench]")] + text[text.index("[esc]\n") :]
    section = f"[propeller]\n{keys}"
    if rows:
        bench = f'[propeller.bench]\nmeasured_on = "{on}"\n{AIR}{supply}rows = [\n{rows}\n]\n\n'
        text = text.replace("[esc]\n", bench + "[esc]\n")
    return parse_craft(text.replace("[propeller]\n", section))


MEASURED = """
{ rpm = 3000, thrust_g = 158, torque_Nm = 0.0265 },
{ rpm = 4500, thrust_g = 365, torque_Nm = 0.0580 },
{ rpm = 6000, thrust_g = 665, torque_Nm = 0.1020 },
"""


def test_without_evidence_the_map_is_the_typical_one() -> None:
    built = propeller_map(craft())
    assert built.evidence_kind == "diameter_pitch"
    assert built.measured_on == "free stand"


def test_chord_in_mm_and_flap_ratio_reach_the_map() -> None:
    wide = propeller_map(craft(keys="chord_75_mm = 25.4\n"))
    assert wide.evidence_kind == "chord_75"
    assert "chord" in wide.evidence
    hinge = propeller_map(craft(keys="flap_ratio = 1.0\n"))
    assert hinge.hub_moments(5000.0, 0.0, 0.2)[0] == pytest.approx(0.0, abs=1e-9)


def test_measured_rows_are_reproduced() -> None:
    """Thrust and torque at each row within 2 %; air of 20 deg C and 1013.25 hPa weighs 1.204 kg/m3 (ICAO Doc 7488)."""
    built = propeller_map(craft(MEASURED, on="own arm"))
    assert built.measured_on == "own arm"
    for rpm, grams, torque in ((3000.0, 158.0, 0.0265), (4500.0, 365.0, 0.058), (6000.0, 665.0, 0.102)):
        ct, cp, _ = built.coefficients(rpm)
        n = rpm / 60.0
        assert ct * 1.2041 * n**2 * 0.254**4 == pytest.approx(grams * 9.80665e-3, rel=0.02)
        assert cp * 1.2041 * n**2 * 0.254**5 / (2.0 * 3.14159265) == pytest.approx(torque, rel=0.02)


def test_speed_and_torque_from_the_motor() -> None:
    """u V = i R + kt omega and Q = kt (i - i0), by hand: i = I/u. M. Drela, First-Order DC Electric Motor Model (MIT, 2007)."""
    rows = "{ throttle_pct = 60, thrust_g = 420, current_A = 4.8, voltage_V = 14.6 },"
    one = craft(rows, supply="supply_held = false\n")
    (line,) = bench_table(one, one.propeller.bench)["rows"]
    motor, esc = one.motor, one.esc
    kt = 60.0 / (2.0 * 3.14159265358979 * motor.kv_rpm_per_V)
    ohm = 1e-3 * (motor.resistance_mohm * (1.0 + 0.00393 * 30.0) + esc.resistance_mohm)
    omega = (0.6 * 14.6 - ohm * 8.0) / kt
    assert line["rpm"] == pytest.approx(omega * 60.0 / (2.0 * 3.14159265358979), rel=1e-9)
    assert 0.85 * kt * 8.0 < line["torque_Nm"] < kt * 8.0
    at_motor = craft(
        rows.replace("4.8", "8.0"), supply='supply_held = false\ncurrent_measured_at = "motor"\n'
    )
    assert bench_table(at_motor, at_motor.propeller.bench)["rows"] == [line]


def test_derived_speed_and_torque_are_less_certain() -> None:
    sure = propeller_map(craft("{ rpm = 4500, thrust_g = 365, torque_Nm = 0.0580 },"))
    by_current = propeller_map(craft("{ rpm = 4500, throttle_pct = 50, thrust_g = 365, current_A = 3.2 },"))
    rows = "{ throttle_pct = 60, thrust_g = 420, current_A = 4.8, voltage_V = 14.6 },"
    by_voltage = propeller_map(craft(rows, supply="supply_held = false\n"))
    assert sure.cp_sigma < by_current.cp_sigma < by_voltage.cp_sigma
    assert sure.ct_sigma == by_current.ct_sigma < by_voltage.ct_sigma


@pytest.mark.parametrize(
    ("rows", "supply", "parts"),
    [
        ("{ thrust_g = 420 },", "supply_held = true\n", ("row 1 has neither rpm", "propeller.bench", "line")),
        (
            "{ throttle_pct = 60, thrust_g = 420, current_A = 4.8 },",
            "supply_held = false\n",
            ("row 1 has no voltage_V", "the supply did not hold"),
        ),
        (
            "{ throttle_pct = 60, thrust_g = 420, current_A = 4.8 },",
            "supply_held = true\n",
            ("row 1 has no rpm and no voltage_V",),
        ),
        ("{ rpm = 5000, thrust_N = 4.2 },", "supply_held = true\n", ("thrust_N", "unknown key")),
        ("{ rpm = 5000, thrust_g = -4.2 },", "supply_held = true\n", ("rows#1.thrust_g", "-4.2")),
    ],
)
def test_a_bench_that_cannot_be_read(rows: str, supply: str, parts: tuple[str, ...]) -> None:
    with pytest.raises(InputError) as caught:
        craft(rows, supply=supply)
    for part in parts:
        assert part in str(caught.value)


@pytest.mark.parametrize(
    ("rows", "parts"),
    [
        (
            MEASURED.replace("thrust_g = 665", "thrust_g = 350"),
            ("propeller.bench", "row 3 (rpm 6000", "thrust must rise"),
        ),
        (
            MEASURED.replace("torque_Nm = 0.0580", "torque_Nm = 0.0058"),
            ("row 2 (rpm 4500", "figure of merit under 1"),
        ),
        (
            "{ throttle_pct = 5, thrust_g = 420, current_A = 40.0, voltage_V = 14.6 },",
            ("rows#1", "throttle 5.0 %", "above 0"),
        ),
    ],
)
def test_a_bench_that_cannot_be_true_is_shown(rows: str, parts: tuple[str, ...]) -> None:
    with pytest.raises(InputError) as caught:
        propeller_map(craft(rows))
    for part in parts:
        assert part in str(caught.value)
