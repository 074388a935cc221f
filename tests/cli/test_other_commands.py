"""`quadsim inspect`, `blocks`, `plot`, `export` and `watch --frames`."""

import csv
import json

import numpy as np
import pytest

from controllers.contract import SLOTS
from quadsim.config.find_data import library
from quadsim.simulation.run import load_run

G0 = 9.80665  # standard gravity, ISO 80000-3


def test_inspect_has_the_prescribed_keys(quadsim, lacking):
    status, out, err = quadsim("inspect", "bonxie", "--json")
    seen = json.loads(out)
    assert (status, err) == (0, "")
    assert lacking("inspect", seen) == []
    assert seen["max_thrust_N"] == pytest.approx(seen["thrust_to_weight"] * seen["mass_g"] * 1e-3 * G0)
    table = seen["throttle_table"]
    assert [row["throttle"] for row in table] == pytest.approx([0.1 * k for k in range(1, 11)])
    assert table[-1]["thrust_g"] * 1e-3 * G0 == pytest.approx(seen["max_thrust_N"])
    assert len(seen["drag_area_cm2"]) == len(seen["drag_centre_mm"]) == 3
    # hovering stands between two rows of the table
    below, above = table[int(10 * seen["hover_throttle"]) - 1], table[int(10 * seen["hover_throttle"])]
    assert below["thrust_g"] < seen["mass_g"] < above["thrust_g"]
    assert below["pack_power_W"] < seen["hover_power_W"] < above["pack_power_W"]


def test_inspect_prints_the_same(quadsim):
    seen = json.loads(quadsim("inspect", "bonxie", "--json").out)
    out = quadsim("inspect", "bonxie").out
    areas = ", ".join(f"{area:.0f}" for area in seen["drag_area_cm2"])
    assert areas in next(line for line in out.splitlines() if "drag area" in line)
    assert f"{seen['mass_g']:.0f}" in next(line for line in out.splitlines() if "all-up mass" in line)
    assert f"{seen['hover_time_min']:.1f}" in next(line for line in out.splitlines() if "hover time" in line)
    assert sum(line.split()[:1] in (["ok"], ["caution"], ["MISFIT"]) for line in out.splitlines()) == len(
        seen["findings"]
    )


def test_inspect_tells_how_sure_it_is(quadsim):
    seen = json.loads(quadsim("inspect", "siskin", "--json").out)
    assert set(seen["rotor_map"]) == {
        "evidence", "kind", "measured_on", "thrust_sigma_pct", "power_sigma_pct", "sweep_sigma_pct",
    }  # fmt: skip
    for name, (low, high) in seen["intervals"].items():
        assert low < seen[name] < high
    first = seen["contributions"][0]
    assert {"input", "sigma", "unit", "hover_time_min", "thrust_to_weight"} <= set(first)
    best = seen["best_measurement"]
    assert set(best) == {"measure", "narrows", "from", "to"}
    assert best["from"]["thrust_to_weight"] == seen["intervals"]["thrust_to_weight"]
    for name, (low, high) in best["to"].items():
        assert best["from"][name][0] < low < seen[name] < high < best["from"][name][1]
    assert set(best["narrows"]) <= {one["input"] for one in seen["contributions"]}
    out = quadsim("inspect", "siskin").out
    assert "+- 14 %" in out
    assert "Measure next: " in out
    assert "A running propeller injures" in out
    low, high = seen["intervals"]["hover_time_min"]
    assert f"{low:.2f}  {high:.1f}" in next(line for line in out.splitlines()[20:] if "hover time" in line)


def test_inspect_of_a_bench_says_where_it_stood(quadsim):
    seen = json.loads(quadsim("inspect", "bonxie", "--json").out)
    assert seen["rotor_map"]["kind"] == "diameter_pitch + table"
    assert seen["rotor_map"]["measured_on"] == "free stand"
    assert seen["rotor_map"]["thrust_sigma_pct"] < 3.0
    assert "free stand: on the craft 10 +- 3 % of its thrust is lost" in quadsim("inspect", "bonxie").out


@pytest.mark.parametrize(("suffix", "begins"), [("png", b"\x89PNG"), ("pdf", b"%PDF"), ("svg", b"<?xml")])
def test_inspect_draws_a_sheet(quadsim, tmp_path, suffix, begins):
    status, out, _ = quadsim("inspect", "bonxie", "--out", f"drive.{suffix}", "--json")
    assert status == 0
    assert json.loads(out)["figure"] == f"drive.{suffix}"
    assert (tmp_path / f"drive.{suffix}").read_bytes().startswith(begins)


def test_inspect_names_its_sheet_after_the_craft(quadsim, tmp_path):
    status, out, _ = quadsim("inspect", "siskin", "--plot")
    assert status == 0
    assert out.endswith("drawn in siskin.png\n")
    assert (tmp_path / "siskin.png").is_file()
    refused = quadsim("inspect", "siskin", "--plot", "--out", "drive.gif")
    assert refused.status == 2
    assert ".png, .pdf, .svg" in refused.err


@pytest.mark.jit
def test_inspect_by_hand(quadsim, lacking):
    status, out, _ = quadsim("inspect", "siskin", "--hand-check", "--json")
    seen = json.loads(out)
    assert status == 0
    assert lacking("inspect", seen) == []
    card = seen["hand_check"]
    down = next(a for a in card["answers"] if (a["motion"], a["mode"]) == ("nose down", "attitude_command"))
    assert down["signs"] == [1, -1, -1, 1]
    assert all(mistake["symptoms"] for mistake in card["mistakes"])
    out = quadsim("inspect", "siskin", "--hand-check").out
    assert "Propellers off" in out.splitlines()[2]
    assert "no clearance to fly" in out
    assert f"up {down['change_pct'][0]:+.1f} %" in next(x for x in out.splitlines() if "nose down" in x)
    assert all(mistake["name"] in out for mistake in card["mistakes"])
    assert "hand_check" not in json.loads(quadsim("inspect", "siskin", "--json").out)


def test_thin_air_takes_thrust(quadsim):
    low = json.loads(quadsim("inspect", "bonxie", "--json").out)
    high = json.loads(
        quadsim("inspect", "bonxie", "--pressure-hPa", 800, "--temperature-C", 30, "--json").out
    )
    assert high["site"]["density_kg_m3"] < 0.8 * low["site"]["density_kg_m3"]
    assert high["max_thrust_N"] < low["max_thrust_N"]
    assert high["hover_throttle"] > low["hover_throttle"]


def test_elevation_is_the_standard_pressure_there(quadsim):
    # 898.76 hPa at 1000 m: NASA-TM-X-74335, table I
    site = json.loads(
        quadsim(
            "inspect",
            "siskin",
            "--elevation-m",
            1000,
            "--temperature-C",
            35,
            "--pack-temperature-C",
            20,
            "--json",
        ).out
    )["site"]
    assert site["pressure_hPa"] == pytest.approx(898.76, rel=1e-4)
    assert site["density_kg_m3"] == pytest.approx(0.83 * 1.225, rel=2e-3)
    assert (site["temperature_C"], site["pack_temperature_C"]) == (35.0, 20.0)


def test_a_craft_that_cannot_hover_is_a_misfit(quadsim, tmp_path):
    text = (library() / "crafts" / "bonxie.toml").read_text(encoding="utf-8")
    heavy = text.replace("[frame]", '[[parts]]\nname = "anvil"\nshape = "point"\nmass_g = 9000\n\n[frame]', 1)
    lines = [line for line in heavy.splitlines() if not line.startswith("weighed_mass_g")]
    (tmp_path / "heavy.toml").write_text("\n".join(lines), encoding="utf-8")
    status, out, _ = quadsim("inspect", "heavy.toml", "--json")
    seen = json.loads(out)
    assert status == 1
    assert seen["hover_time_min"] is None
    assert seen["thrust_to_weight"] < 1.0
    assert seen["intervals"]["hover_time_min"] is None
    assert set(seen["best_measurement"]["to"]) == {"thrust_to_weight"}
    assert not next(f for f in seen["findings"] if f["name"] == "lifts_itself")["ok"]
    status, out, _ = quadsim("inspect", "heavy.toml")
    assert status == 1
    assert "it cannot hover" in out


def test_the_parts_check_says_why_and_what_to_change(quadsim):
    seen = json.loads(quadsim("inspect", "siskin", "--json").out)
    assert {"hover_throttle", "event_current", "lead_wire", "connector", "radio_channels", "loop_rate"} <= {
        one["name"] for one in seen["findings"]
    }
    assert all(one["why"] and (one["change"] == "nothing") is one["ok"] for one in seen["findings"])
    assert {"name": "esc_voltage", "key": "esc.max_V"} in seen["not_asked"]
    out = " ".join(quadsim("inspect", "siskin").out.split())
    for one in seen["findings"]:
        assert one["ok"] or f"{one['name'].replace('_', ' ')}: {one['change']} why: {one['why']}" in out
    assert "does not state: propeller.max_rpm, esc.max_V." in out


def test_a_budget_is_a_question(quadsim):
    price = json.loads(quadsim("inspect", "bonxie", "--json").out)["price"]
    for budget, ok in ((price + 1, True), (price - 1, False)):
        seen = json.loads(quadsim("inspect", "bonxie", "--budget", budget, "--json").out)
        assert next(f for f in seen["findings"] if f["name"] == "price")["ok"] is ok


def test_blocks_lists_every_slot_with_its_gains(quadsim):
    listed = json.loads(quadsim("blocks", "--json").out)["blocks"]
    assert {block["slot"] for block in listed} == set(SLOTS)
    assert sum(block["default"] for block in listed) == len(SLOTS)
    pid = next(block for block in listed if (block["slot"], block["name"]) == ("rate", "pid"))
    assert all(gain["unit"] and gain["low"] <= gain["default"] <= gain["high"] for gain in pid["gains"])
    out = quadsim("blocks").out
    assert all(block["name"] in out for block in listed)
    assert all(gain["name"] in out for gain in pid["gains"])


GOOD = """
from controllers import block


@block("rate")
def calm(s, craft, gains, memory):
    for axis in range(3):
        s.angular_acceleration_wanted[axis] = 20.0 * (s.rates_wanted[axis] - s.rates[axis])
"""


@pytest.mark.parametrize(
    ("text", "status", "said"),
    [(GOOD, 0, "PASS  calm"), (GOOD.replace("20.0 *", "20.0 / (0.0 * s.t) *"), 1, "becomes NaN or infinite")],
    ids=["sound", "not finite"],
)
def test_blocks_checks_a_file(quadsim, tmp_path, text, status, said):
    (tmp_path / "mine.py").write_text(text, encoding="utf-8")
    with np.errstate(all="ignore"):  # the block divides by zero, which is for the check to find
        answer = quadsim("blocks", "mine.py")
        document = json.loads(quadsim("blocks", "mine.py", "--json").out)
    assert answer.status == status
    assert said in answer.out
    assert document["conforms"] is (status == 0)


@pytest.mark.jit
@pytest.mark.parametrize("slot", SLOTS)
def test_a_new_block_passes_its_check_and_flies(quadsim, make_flight, tmp_path, slot):
    status, out, _ = quadsim("blocks", "--new", "mine.py", "--slot", slot)
    assert status == 0
    assert f"--{slot} mine.py:my_{slot}" in out
    assert f"mine.py:my_{slot}" in (tmp_path / "mine.py").read_text(encoding="utf-8")
    assert quadsim("blocks", "mine.py").status == 0
    flight = make_flight(("duration_s = 0.05", "duration_s = 3"))
    assert quadsim("fly", flight, f"--{slot}", f"mine.py:my_{slot}", "--no-save").status == 0
    again = quadsim("blocks", "--new", "mine.py", "--slot", slot)
    assert again.status == 2
    assert "not overwritten" in again.err


@pytest.fixture
def run_file(quadsim, make_flight):
    assert quadsim("fly", make_flight(), "--out", "moment.h5").status == 0
    return "moment.h5"


def test_export_writes_what_the_run_holds(quadsim, run_file, tmp_path):
    status, out, _ = quadsim("export", run_file)
    assert status == 0
    assert "moment.csv" in out
    run = load_run(tmp_path / run_file)
    with (tmp_path / "moment.csv").open(newline="") as file:
        rows = list(csv.DictReader(file))
    assert len(rows) == len(run)
    for name, values in {
        "t_s": run.t_s,
        "height_m": -run["position_m"][:, 2],
        "velocity_east_m_s": run["velocity_m_s"][:, 1],
        "rotor_speed_rear_left_rad_s": run["rotor_speed_rad_s"][:, 2],
        "signals/stick_throttle": run["signals/stick"][:, 3],
        "signals/unallocated_thrust_N": run["signals/unallocated"][:, 3],
        "attitude_w": run["attitude"][:, 0],
    }.items():
        np.testing.assert_allclose([float(row[name]) for row in rows], values, rtol=1e-11, err_msg=name)


def test_export_of_chosen_columns_to_stdout(quadsim, run_file):
    status, out, err = quadsim(
        "export", run_file, "--columns", "t_s,position_m", "--columns", "wind_east_m_s", "--out", "-"
    )
    assert (status, err) == (0, "")
    lines = out.splitlines()
    assert lines[0] == "t_s,position_north_m,position_east_m,position_down_m,wind_east_m_s"
    assert lines[1].startswith("0,")


def test_export_lists_columns_with_unit_and_meaning(quadsim, run_file, tmp_path):
    columns = json.loads(quadsim("export", run_file, "--list", "--json").out)["columns"]
    named = {column["name"]: column for column in columns}
    assert named["battery_current_A"]["unit"] == "A"
    assert named["rates_yaw_rad_s"]["frame"] == "body"
    assert "battery_current_A" in quadsim("export", run_file, "--list").out
    assert not (tmp_path / "moment.csv").exists()


@pytest.mark.parametrize(("suffix", "begins"), [("png", b"\x89PNG"), ("pdf", b"%PDF"), ("svg", b"<?xml")])
def test_plot_draws_a_picture(quadsim, run_file, tmp_path, suffix, begins):
    status, out, _ = quadsim("plot", run_file, "--out", f"sheet.{suffix}", "--json")
    assert status == 0
    assert json.loads(out) == {"run_file": run_file, "figure": f"sheet.{suffix}"}
    assert (tmp_path / f"sheet.{suffix}").read_bytes().startswith(begins)
    assert not list(tmp_path.glob(".*sheet*"))


def test_watch_makes_pictures_without_a_window(quadsim, run_file, tmp_path):
    status, out, _ = quadsim("watch", run_file, "--frames", "frames", "--count", 2, "--json")
    assert status == 0
    assert json.loads(out)["frames"] == ["frames/frame_0000.png", "frames/frame_0001.png"]
    assert (tmp_path / "frames" / "frame_0001.png").read_bytes().startswith(b"\x89PNG")


def test_watch_flies_a_flight_for_its_pictures(quadsim, make_flight, tmp_path):
    status, out, _ = quadsim("watch", make_flight(), "--frames", "frames", "--count", 1)
    assert (status, out) == (0, "1 picture in frames\n")
    assert len(list((tmp_path / "frames").glob("*.png"))) == 1


def test_inspect_says_what_a_fast_sensor_costs(quadsim, tmp_path):
    from quadsim.config import load_craft

    text = load_craft("siskin").source_text.replace("imu = 2000", "imu = 6400")
    (tmp_path / "fast.toml").write_text(text)
    said = "nertial sensor samples at 6400 Hz, so the physics runs at 8000 Hz where the blocks alone need 4000 Hz"
    assert said in " ".join(quadsim("inspect", "fast.toml").out.split())
    assert said in json.loads(quadsim("inspect", "fast.toml", "--json").out)["physics_rate_raised"]
    assert "physics runs" not in quadsim("inspect", "siskin").out
