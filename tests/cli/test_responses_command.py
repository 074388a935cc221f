"""`quadsim responses`: the tables, the document, the picture."""

import json

import pytest


@pytest.mark.jit
def test_the_document_and_the_picture(quadsim, tmp_path):
    status, out, _ = quadsim(
        "responses", "siskin", "--payload-g", 100, "--charge-pct", 60, "--plot", "--json"
    )
    seen = json.loads(out)
    assert (status, seen["craft"], seen["trouble"]) == (0, "Siskin", "")
    assert len(seen["steps"]) == 10
    assert {one["axis"] for one in seen["disturbances"]} == {"roll", "pitch", "yaw", "height"}
    for one in seen["steps"]:
        assert {"rise_s", "overshoot_pct", "settle_5_s", "limited_pct", "unit"} <= set(one)
    assert seen["noise"]["current_A"] > 0.0
    assert (tmp_path / seen["figure"]).read_bytes().startswith(b"\x89PNG")


@pytest.mark.jit
def test_the_tables_name_what_they_show(quadsim):
    status, out, _ = quadsim("responses", "siskin")
    assert status == 0
    for word in (
        "roll rate",
        "yaw 30 deg",
        "pitch torque",
        "downdraught",
        "quickness",
        "Sensor noise",
        "not a clearance",
    ):
        assert word in out


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("--payload-g", 0.5), "payload-g"),
        (("--charge-pct", 0), "charge-pct"),
        (("--out", "r.gif"), ".png, .pdf, .svg"),
    ],
)
def test_bad_input_is_said(quadsim, arguments, said):
    status, _, err = quadsim("responses", "siskin", *arguments)
    assert status == 2
    assert said in err


@pytest.mark.jit
def test_a_craft_that_cannot_lift_its_load(quadsim):
    status, out, err = quadsim("responses", "siskin", "--payload-g", 9000)
    assert status in (1, 2)
    assert "hover" in out + err
