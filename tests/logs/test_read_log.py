"""Reading a log: what is understood, and a clear sentence for everything else."""

import numpy as np
import pytest

from quadsim.errors import InputError
from quadsim.logs.column_map import read_column_map
from quadsim.logs.columns import KNOWN, hinted, place_of
from quadsim.logs.read_log import read_log

HEADER = "time_s,gyro_x_deg_s,gyro_y_deg_s,gyro_z_deg_s,motor_1,motor_2,motor_3,motor_4,roll_deg,pitch_deg,yaw_deg,voltage_V"


def rows(count=400, step=0.01):
    k = np.arange(count)
    data = np.column_stack([k * step, *(np.sin(0.1 * k + n) for n in range(3)), *(0.4 + 0.01 * np.sin(k + n) for n in range(4)),
                            *(np.cos(0.1 * k + n) for n in range(3)), 16.0 - 0.001 * k])  # fmt: skip
    return [",".join(f"{v:.6g}" for v in row) for row in data]


@pytest.fixture
def written(tmp_path):
    def write(lines, header=HEADER, name="log.csv"):
        path = tmp_path / name
        path.write_text("\n".join([header, *lines]) + "\n", encoding="utf-8")
        return path

    return write


def refused(path, columns=None):
    with pytest.raises(InputError) as refusal:
        read_log(path, columns)
    return str(refusal.value)


def test_units_in_the_names_become_si(written):
    log = read_log(written(rows()))
    assert log["gyro"][5, 1] == pytest.approx(np.radians(np.sin(1.5)), rel=1e-4)
    assert log["euler"][0, 0] == pytest.approx(np.radians(1.0))
    assert log["voltage"][0] == 16.0
    assert log.rate_Hz == pytest.approx(100.0)
    assert log.notes == []


@pytest.mark.parametrize(
    ("name", "channel", "part", "given", "si"),
    [
        ("gyro_roll_rad_s", "gyro", 0, 2.0, 2.0),
        ("accel_z_g", "accel", 2, -1.0, -9.80665),
        ("motor_3_us", "motor", 2, 1500.0, 0.5),
        ("motor_rear_left_pct", "motor", 2, 40.0, 0.4),
        ("rpm_2", "rotor_speed", 1, 60.0, 2.0 * np.pi),
        ("rotor_speed_front_left_rad_s", "rotor_speed", 3, 7.0, 7.0),
        ("groundspeed_km_h", "groundspeed", 0, 36.0, 10.0),
        ("current_mA", "current", 0, 1500.0, 1.5),
        ("east_m", "position", 1, 3.0, 3.0),
        ("time_us", "time", 0, 1e6, 1.0),
    ],
)
def test_names(name, channel, part, given, si):
    place = KNOWN[name]
    assert (place.channel, place.part) == (channel, part)
    assert place.factor * given + place.offset == pytest.approx(si)


def test_an_exported_run_is_read_as_what_the_controller_knew():
    heard, truth = place_of("signals/gyro_roll_rad_s", True), place_of("rates_roll_rad_s", True)
    assert heard is not None and truth is not None
    assert heard.rank < truth.rank
    assert place_of("mass_kg", True) is None


def test_times_that_repeat_or_fall_back(written):
    lines = rows()
    log = read_log(written([*lines[:50], lines[49], *lines[50:]]))
    assert len(log) == 400
    assert log.notes == ["1 rows repeat the time of the row before; the first of each was taken"]
    said = refused(written([*lines, *lines]))
    assert (
        "line 402: time falls back from 3.99 to 0 s; times must rise. Two flights in one file? Cut it there"
        in said
    )
    assert "rows repeat the time of the row before" in refused(
        written([line for line in lines for _ in (0, 1)])
    )


def test_gaps_are_noted_and_not_flown_over(written):
    lines = rows()
    log = read_log(written(lines[:100] + lines[180:]))
    assert log.notes == ["rows are missing in 1 place, at most 0.81 s"]
    flying = log.flying(0.05)
    assert not flying[100:125].any()
    assert flying[140]


def test_missing_cells_are_bridged_and_bad_ones_named(written):
    lines = rows()
    lines[7] = lines[7].replace(lines[7].split(",")[-1], "")
    assert read_log(written(lines))["voltage"][7] == pytest.approx(16.0 - 0.007, abs=1e-9)
    lines[9] = lines[9].rsplit(",", 1)[0] + ",n/a"
    assert "line 11, voltage_V: is 'n/a'; must be a number, or empty" in refused(written(lines))
    assert "line 12: has 2 cells; the header has 12" in refused(written([*rows()[:10], "1,2", *rows()[11:]]))


@pytest.mark.parametrize("mark", [";", "\t"])
def test_separator_and_decimal_commas_are_seen(written, mark):
    plain = read_log(written(rows(), name="plain.csv"))
    lines = [line.replace(",", mark).replace(".", ",") for line in rows()]
    log = read_log(written(lines, HEADER.replace(",", mark)))
    assert np.array_equal(log["gyro"], plain["gyro"])
    assert np.array_equal(log["voltage"], plain["voltage"])


def test_a_last_row_that_was_not_finished_is_left_out(written):
    log = read_log(written([*rows(), "4.0,1,2"]))
    assert len(log) == 400
    assert log.notes == ["line 402, the last, is cut short and was left out"]


def test_a_column_in_a_unit_that_is_not_known_is_named(written):
    log = read_log(written(rows(), HEADER.replace("gyro_y_deg_s", "gyro_y_rpm")))
    assert log.notes == ["gyro has 2 of its 3 columns, not gyro_y_deg_s, and was left out"]
    assert log.unused == ["gyro_y_rpm"]
    assert [hinted(name) for name in ("volatge_V", "Gyro_X_deg_s", "cell 3")] == [
        "volatge_V (meant voltage_V?)", "Gyro_X_deg_s (meant gyro_x_deg_s?)", "cell 3",
    ]  # fmt: skip


def test_what_lacks_time_unit_or_rows(written, tmp_path):
    assert "has no time; its columns are tick, " in refused(written(rows(), HEADER.replace("time_s", "tick")))
    said = refused(written(rows(), HEADER.replace("gyro_x_deg_s", "gyro_x")))
    assert "column gyro_x: has no unit in its name; name it gyro_x_deg_s or gyro_x_rad_s" in said
    assert (
        "is the unit right? time_ms and time_us are understood" in refused(written(rows(step=10.0))).lower()
    )
    assert "has 3 rows of numbers; needs a header and at least 50 rows" in refused(written(rows(3)))
    assert "cannot be read: No such file" in refused(tmp_path / "none.csv")


def test_a_column_map_reads_any_logger(written, tmp_path):
    theirs = "t;p;q;r;m0;m1;m2;m3;phi;theta;psi;vbat"
    lines = [line.replace(",", ";") for line in rows()]
    place = tmp_path / "map.toml"
    place.write_text(
        'separator = ";"\nrotors = ["rear_right", "front_right", "rear_left", "front_left"]\n[columns]\ntime_s = "t"\n'
        'gyro_roll_deg_s = { column = "p", scale = -1 }\ngyro_pitch_deg_s = "q"\ngyro_yaw_deg_s = "r"\n'
        + "".join(f'motor_{k + 1} = "m{k}"\n' for k in range(4))
        + 'roll_deg = "phi"\npitch_deg = "theta"\nyaw_deg = "psi"\nvoltage_V = { column = "vbat", scale = 0.1, offset = 1 }\n',
        encoding="utf-8",
    )
    log, plain = (
        read_log(written(lines, theirs), read_column_map(place)),
        read_log(written(rows(), name="plain.csv")),
    )
    assert np.allclose(log["gyro"] * [-1, 1, 1], plain["gyro"])
    assert np.allclose(log["motor"], plain["motor"][:, [1, 0, 2, 3]])
    assert log["voltage"][0] == pytest.approx(2.6)
    assert "--columns, time_s: the log has no column 't'" in refused(written(rows()), read_column_map(place))


def test_a_bad_map_lists_everything(tmp_path):
    place = tmp_path / "map.toml"
    place.write_text(
        'rotors = ["a"]\nunits = 1\n[columns]\ngyro_x_deg = "p"\ntime_s = { name = "t" }\n', encoding="utf-8"
    )
    with pytest.raises(InputError) as refusal:
        read_column_map(place)
    said = str(refusal.value)
    for words in ("4 problems", "units: is no key", "columns.gyro_x_deg: is no column that is understood. Nearest: gyro_x_deg_s",
                  "columns.time_s: is {'name': 't'}; must be your column's name", "rotors: is ['a']"):  # fmt: skip
        assert words in said
