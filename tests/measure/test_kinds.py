"""Each kind on its shipped table, whose truth is known since it was invented; and what it refuses or warns of."""

import math

import pytest

from quadsim.config import parse_craft
from quadsim.config.toml_edit import merged
from quadsim.environment.atmosphere import Site
from quadsim.errors import InputError

TRUTH = {
    "thrust": {"motor.kv_rpm_per_V": 1745.0, "motor.resistance_mohm": 66.0, "motor.no_load_iron_pct": 54.0},
    "motor": {"motor.kv_rpm_per_V": 1745.0},
    "pack": {
        "battery.cell_resistance_mohm": 4.9,
        "battery.relaxation_ratio": 0.58,
        "battery.relaxation_time_s": 40.0,
        "battery.capacity_mAh": 1420.0,
    },
    "swing": {
        "mass.roll_inertia_gm2": 1.6917,
        "mass.pitch_inertia_gm2": 2.0343,
        "mass.yaw_inertia_gm2": 3.2490,
    },
    "still": {
        "flight_controller.gyro.noise_density_one_sided_deg_s_rtHz": 0.0052,
        "flight_controller.accelerometer.noise_density_one_sided_mg_rtHz": 0.13,
    },
    "scales": {
        "mass.weighed_mass_g": 604.0,
        "mass.centre_forward_mm": 3.1,
        "mass.centre_right_mm": -0.6,
        "mass.centre_down_mm": -24.0,
    },
    "spin": {},
}
"""What the tables were made with."""
LEFT_OUT = {
    "thrust": (4, "stand shook"),
    "pack": (1, "off the others"),
    "swing": (1, "19 swings were counted as 20"),
}


@pytest.mark.parametrize("kind", TRUTH)
def test_the_shipped_table_tells_its_truth(measured, siskin, kind):
    site = Site(20.0, 1003.0, pack_temperature_C=24.0)
    result = measured(kind, craft=siskin, site=site)
    for key, truth in TRUTH[kind].items():
        found = result.entries[key]
        assert abs(found - truth) < 3.0 * found.sigma, key
        assert 0.0 < found.sigma < 0.15 * abs(truth) + 1.0, key
    count, said = LEFT_OUT.get(kind, (0, ""))
    assert len(result.left_out) == count
    assert said in "".join(one.row + one.why for one in result.left_out)
    assert result.used + count == result.rows
    assert result.cautions and result.panels
    craft = parse_craft(merged(siskin.source_text, result.entries, "siskin"))
    assert craft.name == "Siskin"


def test_time_constants_of_the_shipped_steps(measured):
    low, high = measured("spin").entries["esc.response"]
    for row, up, down in ((low, 21.0, 27.0), (high, 18.0, 22.0)):
        assert row["tau_up_ms"] == pytest.approx(up, abs=1.0)
        assert row["tau_down_ms"] == pytest.approx(down, abs=1.5)


def test_a_craft_answers_with_what_was_measured(measured, siskin):
    from quadsim.config import mass_properties

    for kind in ("swing", "scales"):
        siskin = parse_craft(merged(siskin.source_text, measured(kind, craft=siskin).entries, "siskin"))
    properties = mass_properties(siskin)
    assert properties.inertia_kg_m2[2, 2] == pytest.approx(3.249e-3, rel=0.02)
    assert properties.centre_of_mass_m[0] == pytest.approx(3.1e-3, abs=1e-3)


def test_the_bench_of_the_thrust_stand(measured, siskin):
    result = measured("thrust", craft=siskin, measured_on="own arm")
    bench = result.entries["propeller.bench"]
    assert bench["measured_on"] == "own arm"
    assert [row["throttle_pct"] for row in bench["rows"]] == [20, 30, 40, 50, 60, 70, 80, 90, 100]
    assert bench["rows"][-1]["thrust_g"] == pytest.approx(1243.3, abs=0.5)  # 1245.6 less the scale's zero
    top = next(one for one in result.found if one.name.startswith("thrust at 24410"))
    assert result.differs(top) is False or result.before[top.name] is not None


REFUSED = [
    ("thrust", "rpm,current_A\n3000,2\n", "column thrust_g: is missing"),
    ("thrust", "throttle_pct,thrust_g\n50,200\n", "has no speed"),
    ("thrust", "rpm,thrust_g\n3000,0\n", "no row with thrust"),
    ("thrust", "rpm,thrust_g\n3000,100\n6000,400\n", "has two speeds"),
    ("thrust", "rpm,thrust_g,torque_Nm,current_A,voltage_V\n9000,300,1.2,5,12\n", "1131.0 W of 60.0 W from the supply"),
    ("motor", "throttle_pct,rpm\n50,9000\n", "column current_A: is missing"),
    ("motor", "throttle_pct,rpm,current_A,voltage_V\n0,0,0,16\n", "no row with the motor running"),
    ("pack", "time_s,voltage_V,current_A\n0,16,0\n", "has 1 rows"),
    ("swing", "axis,length_mm,periods,time_s\nyaw,1500,20,36\n", "neither spacing_mm nor radius_mm"),
    ("swing", "axis,length_mm,spacing_mm,periods,time_s\nyaw,1500,200,20,36\n", "mass_g is missing"),
    ("swing", "axis,length_mm,spacing_mm,mass_g,periods,time_s\ncradle,1500,200,40,20,36\n", "the cradle alone"),
    ("spin", "time_s,throttle_pct,rpm\n0,50,9000\n1,50,9000\n", "no step that can be fitted"),
    ("spin", "time_s,throttle_pct,rpm\n1,50,9000\n0,50,9000\n", "does not rise at line 3"),
    ("still", "time_s,gyro_x_deg_s\n0,1\n", "no sensor with three axes"),
    ("scales", "forward_mm,right_mm,reading_g\n80,80,150\n-80,-80,150\n", "three feet"),
]  # fmt: skip


@pytest.mark.parametrize(("kind", "text", "said"), REFUSED)
def test_what_cannot_be_told_is_refused(measured, kind, text, said):
    with pytest.raises(InputError) as found:
        measured(kind, text)
    assert said in str(found.value)


def test_impossible_thrust_is_shown_with_its_row(measured, siskin):
    text = "throttle_pct,rpm,thrust_g,current_A,voltage_V\n50,13000,340,0.4,16\n"
    with pytest.raises(InputError, match=r"at 13000 rpm: that thrust takes 34\.6 W even of an ideal rotor"):
        measured("thrust", text, craft=siskin)


def test_one_throttle_does_not_tell_a_resistance(measured):
    head = "throttle_pct,rpm,thrust_g,current_A,voltage_V\n"
    result = measured(
        "thrust", head + "60,15730,494,6.4,16.4\n60,15720,493,6.4,16.4\n60,15735,494,6.4,16.4\n"
    )
    assert not any(key.startswith("motor") for key in result.entries)
    assert "cannot be told apart" in " ".join(result.warnings)


def test_steady_current_does_not_tell_a_pack(measured):
    rows = "\n".join(f"{t},{15.0 - 0.001 * t},10" for t in range(60))
    result = measured("pack", f"time_s,voltage_V,current_A\n{rows}\n", cells=4)
    assert "resistance is not told" in result.warnings[0]
    assert not result.entries


@pytest.mark.parametrize(("cells", "said"), [(None, "15.00 V would fit 4 cells"), (2, "7.50 V per cell")])
def test_cells_are_asked_for(measured, cells, said):
    rows = "\n".join(f"{t},{15.0 - 0.001 * t},10" for t in range(60))
    with pytest.raises(InputError, match=said):
        measured("pack", f"time_s,voltage_V,current_A\n{rows}\n", cells=cells)


def test_inertias_no_body_can_have_are_not_written(measured):
    rows = "\n".join(f"{axis},1500,200,600,20,{t}" for axis, t in (("roll", 20), ("pitch", 20), ("yaw", 60)))
    result = measured("swing", f"axis,length_mm,spacing_mm,mass_g,periods,time_s\n{rows}\n")
    assert not result.entries
    assert "no body can" in " ".join(result.warnings)


def test_a_flat_craft_within_the_uncertainty_is_shared_out(measured, siskin):
    rows = "\n".join(
        f"{axis},1500,200,600,20,{t}" for axis, t in (("roll", 20), ("pitch", 20), ("yaw", 28.5))
    )
    result = measured("swing", f"axis,length_mm,spacing_mm,mass_g,periods,time_s\n{rows}\n")
    roll, pitch, yaw = (result.entries[f"mass.{axis}_inertia_gm2"] for axis in ("roll", "pitch", "yaw"))
    assert 0.97 * (roll + pitch) < yaw < roll + pitch
    assert any("shared out" in one for one in result.rests_on)
    parse_craft(merged(siskin.source_text, result.entries, "siskin"))  # rounding crosses no bound


def test_lines_measured_as_radii_are_twice_as_unsure_as_their_spacing(measured):
    told = {}
    for column, value in (("spacing_mm", 200), ("radius_mm", 100)):
        row = f"yaw,1500,{value},600,100,180"
        text = f"axis,length_mm,{column},mass_g,periods,time_s\n{row}\n"
        result = measured("swing", text, timing_s=0.0, scale_g=0.0)
        told[column] = result.entries["mass.yaw_inertia_gm2"]
    two, three = told["spacing_mm"], told["radius_mm"]
    assert float(two) == pytest.approx(float(three))
    assert two.sigma / two == pytest.approx(0.011, abs=0.002)  # 2 x 1 mm of 200 mm, and the amplitude
    assert three.sigma / three == pytest.approx(0.0204, abs=0.002)  # 2 x 1 mm of 100 mm


def test_a_pack_logged_with_discharge_negative_and_long_rests(measured, siskin, shipped):
    head, *rows = [line for line in shipped("pack").strip().split("\n") if not line.startswith("#")]
    turned = [f"{t},{v},{-float(i):g}" for t, v, i in (row.split(",")[:3] for row in rows)]
    last = float(rows[-1].split(",")[0])
    rest = [f"{last + k},{14.545},0.02" for k in range(1, 800)]
    site = Site(20.0, 1003.0, pack_temperature_C=24.0)
    result = measured("pack", "\n".join([head, *turned, *rest]), craft=siskin, site=site)
    assert "Negative currents" in " ".join(result.rests_on)
    assert result.entries["battery.cell_resistance_mohm"] == pytest.approx(4.9, abs=0.5)


@pytest.mark.parametrize(
    ("dead", "said"), [(0.03, "not quite the share"), (0.08, "which cannot be: throttle_pct is no share")]
)
def test_a_throttle_that_is_no_share_of_the_voltage_is_said(measured, dead, said):
    """An ESC whose first percents of throttle do nothing."""
    head, rows = "throttle_pct,rpm,thrust_g,current_A,voltage_V\n", []
    for u in (20, 30, 45, 60, 75, 90):
        applied = (u / 100.0 - dead) * 16.0
        drop = 0.08 * 25.0 / 20000.0**2  # 25 A at 20000 rpm through 80 mohm
        rpm = (math.sqrt(1500.0**-2 + 4.0 * drop * applied) - 1.0 / 1500.0) / (2.0 * drop)
        current = 25.0 * (rpm / 20000.0) ** 2
        rows.append(f"{u},{rpm:.0f},{900 * (rpm / 20000) ** 2:.1f},{current * u / 100:.3f},16")
    result = measured("thrust", head + "\n".join(rows) + "\n")
    assert said in " ".join(result.warnings)


def test_standard_air_for_want_of_a_better_is_said(measured):
    said = " ".join(measured("thrust", air_stated=False).warnings)
    assert "standard air was taken" in said
    assert "Without the propeller's diameter" in said


def test_power_balance_needs_no_throttle(measured, siskin):
    rows = "3000,50,0.0197,0.6148,16.707\n5000,140,0.0531,2.284,16.707\n7000,270,0.1009,5.7312,16.707\n"
    result = measured("thrust", "rpm,thrust_g,torque_Nm,current_A,voltage_V\n" + rows)
    constant = next(one for one in result.found if one.name.startswith("motor constant"))
    assert constant.value == pytest.approx(0.03736, rel=0.01)  # the two outer rows alone, exactly
    assert any("Power balance over 3 rows" in one for one in result.rests_on)


def test_a_log_is_taken_where_it_has_settled(measured):
    """A stand that logs all the time, pulls its scale, and swings up over half a second."""
    rows = []
    for step, throttle in enumerate((0, 40, 60, 80, 100)):
        for k in range(20):
            t, rpm = 4.0 * step + 0.2 * k, 200.0 * throttle * (0.7 if k < 3 and step else 1.0)
            rows.append(f"{t},{throttle},{rpm},{-3.0 - 1000.0 * (rpm / 20000.0) ** 2:.2f}")
    result = measured("thrust", "time_s,throttle_pct,rpm,thrust_g\n" + "\n".join(rows) + "\n")
    assert sum("settling" in one.why for one in result.left_out) == 20
    table = result.entries["propeller.bench"]["rows"]
    assert [row["rpm"] for row in table] == [8000, 12000, 16000, 20000]
    assert table[-1]["thrust_g"] == pytest.approx(1000.0, abs=0.1)


def test_a_speed_counted_for_the_wrong_poles_is_suspected(measured, siskin, shipped):
    lines = shipped("thrust").split("\n")
    for k, line in enumerate(lines[3:], 3):
        cells = line.split(",")
        if len(cells) > 2 and cells[2]:
            lines[k] = ",".join([cells[0], f"{float(cells[1]) * 6 / 7:.0f}", *cells[2:5], "", ""])
    result = measured("thrust", "\n".join(lines), craft=siskin)
    assert "a speed counted 1.2" in " ".join(result.warnings)
