"""`quadsim laws`: the table, the document, the picture, and what is kept when it is stopped."""

import json
import shutil

import pytest

import controllers.template
from quadsim.analysis import law_comparison
from quadsim.analysis.law_comparison import stock_laws

METRICS = {
    "tracking_rms_deg", "tilt_rms_deg", "overshoot_deg", "effort_rad_s2", "motor_travel_pct_s", "saturated_pct",
    "motor_noise_A", "motor_noise_W",
}  # fmt: skip


@pytest.fixture
def brief(make_flight):
    return make_flight(("duration_s = 0.05", "duration_s = 0.2"))


def test_the_document_has_every_law_and_flight(quadsim, brief, tmp_path):
    shutil.copy(controllers.template.__file__, tmp_path / "mine.py")
    status, out, _ = quadsim(
        "laws", "siskin", "--flight", brief, "--with", "mine.py:my_rate", "--plot", "--json"
    )
    seen = json.loads(out)
    names = [*(law.name for law in stock_laws()), "my_rate"]
    assert status == 0
    assert [law["law"] for law in seen["laws"]] == [one["law"] for one in seen["flights"]] == names
    assert seen["laws"][-1]["blocks"]["rate"] == "my_rate"
    for law in seen["laws"]:
        assert law["cost_ns_per_step"] == pytest.approx(sum(law["block_ns_per_step"].values()))
    for one in seen["flights"]:
        assert set(one["metrics"]) >= METRICS
        assert (one["flight"], one["status"]) == ("moment", "done")
    assert (seen["craft"], seen["stopped"]) == ("Siskin", False)
    assert (tmp_path / seen["figure"]).read_bytes().startswith(b"\x89PNG")


def test_the_table_says_the_same(quadsim, brief):
    asked = ("laws", "siskin", "--flight", brief, "--law", "lqr", "--law", "cascaded")
    seen = json.loads(quadsim(*asked, "--json").out)
    status, out, _ = quadsim(*asked)
    rows = [line.split() for line in out.splitlines() if line.split()[:1] in (["lqr"], ["cascaded"])]
    assert status == 0
    assert [row[0] for row in rows] == ["lqr", "cascaded"]
    for row, one in zip(rows, seen["flights"], strict=True):
        assert row[1:3] == ["flew", "on"]
        assert float(row[3]) == pytest.approx(one["metrics"]["tracking_rms_deg"], rel=0.01)
        assert float(row[6]) == pytest.approx(one["metrics"]["effort_rad_s2"], rel=0.01)
        assert float(row[10]) == pytest.approx(1e3 * one["metrics"]["motor_noise_W"], rel=0.01, abs=1e-4)
    assert "not cleared to fly" in out


def test_stopped_it_keeps_what_is_done(quadsim, brief, monkeypatch):
    real, calls = law_comparison.fly_through, []

    def stops_in_the_second(session, progress=None):
        calls.append(session)
        if len(calls) == 2:
            session.carried.status = law_comparison.Status.STOPPED
            return 0.0
        return real(session, progress)

    monkeypatch.setattr(law_comparison, "fly_through", stops_in_the_second)
    asked = ("laws", "siskin", "--flight", brief, "--law", "cascaded", "--law", "geometric", "--json")
    status, out, err = quadsim(*asked)
    seen = json.loads(out)
    assert status == 130
    assert seen["stopped"]
    assert [one["law"] for one in seen["flights"]] == ["cascaded"]
    assert "stopped; 1 of 2 flights were flown" in err
    calls[:] = [None]  # now the first flight is the one that is stopped
    status, out, err = quadsim(*asked)
    assert (status, out) == (130, "")


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("--law", "fuzzy"), "must be one of cascaded, geometric, lqr, incremental"),
        (("--with", "nowhere.py:law"), "cannot be read"),
        (("--with", "pid", "--slot", "wing"), "there is no slot 'wing'"),
        (("--flight", "nowhere"), "nowhere"),
        (("--out", "laws.gif"), ".png, .pdf, .svg"),
    ],
)
def test_bad_input_is_said(quadsim, arguments, said):
    status, out, err = quadsim("laws", "siskin", *arguments)
    assert (status, out) == (2, "")
    assert said in err


def test_a_flight_that_ends_early_is_marked(quadsim, make_flight):
    falls = make_flight(
        ("duration_s = 0.05", "duration_s = 3"),
        ('text = "a mark"', 'fault = { kind = "rotor_lost", rotor = "front_right" }'),
        name="falls",
    )
    out = quadsim("laws", "siskin", "--flight", falls, "--law", "cascaded", "--out", "falls.svg").out
    row = next(line for line in out.splitlines() if line.split()[:1] == ["cascaded"])
    assert " s " in row
    assert "flew on" not in row
    assert "drawn in falls.svg" in out
