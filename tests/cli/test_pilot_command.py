"""`quadsim pilot` as a user runs it, without a window."""

from __future__ import annotations

import json

import pytest

COURSE = """
name = "Invented hop"
closed = false
clearance_m = 0.3
[field]
forward_m = [-10, 30]
right_m = [-10, 10]
ceiling_m = 8
[start]
forward_m = -1
right_m = 0
heading_deg = 0
[[gate]]
name = "first"
forward_m = 2
right_m = 0
height_m = 1.8
heading_deg = 0
width_m = 2.4
tall_m = 2.4
[[gate]]
name = "second"
forward_m = 4
right_m = 0
height_m = 1.8
heading_deg = 0
width_m = 2.4
tall_m = 2.4
"""


@pytest.fixture
def pilot(quadsim, tmp_path):
    """`pilot("--demo")` on the invented course, with laps in a folder of the test."""
    (tmp_path / "hop.toml").write_text(COURSE)
    return lambda *options: quadsim("pilot", "hop.toml", "--runs", tmp_path / "laps", *options)


@pytest.mark.jit
def test_a_demo_a_trace_and_the_progress(pilot, tmp_path):
    status, out, _ = pilot(
        "--demo",
        "--json",
        "--planned",
        "--record-sticks",
        "sticks.csv",
        "--size",
        "960x540",
        "--frames",
        "pictures",
    )
    assert status == 0
    flown = json.loads(out)
    (lap,) = flown["laps"]
    assert flown["finished"] and [one["name"] for one in flown["gates"]] == ["first", "second"]
    assert flown["best_lap_s"] == lap["lap_time_s"] and flown["closest_m"] > 0.2
    assert flown["frames"] and all((tmp_path / one).is_file() for one in flown["frames"])
    status, out, _ = pilot("--sticks-from", "sticks.csv")
    assert status == 0
    assert f"lap 1: {lap['lap_time_s']:.2f} s" in out and "quadsim watch" in out
    status, out, _ = pilot("--progress", "--json", "--out", "progress.png")
    shown = json.loads(out)
    assert [one["lap_time_s"] for one in shown["laps"]] == [
        round(lap["lap_time_s"], 4)
    ]  # the demo's is not yours
    assert (tmp_path / "progress.png").stat().st_size > 10_000
    (tmp_path / "laps" / "broken.csv").write_text("t_s,roll,pitch,yaw,throttle\n0,0,0,0,0.5\n0.5,0,0,0,0.5\n")
    status, out, _ = pilot("--sticks-from", tmp_path / "laps" / "broken.csv")
    assert status == 1 and "next was gate 1, first" in out
    assert "1 lap" in pilot("--progress").out


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (["--mode", "sideways"], "--mode: is 'sideways'; must be one of height, attitude, rate, position"),
        (["--view", "moon"], "--view: is 'moon'"),
        (["--demo", "--sticks-from", "x.csv"], "one of the two"),
        (["--demo", "--mode", "rate"], "its pilot flies in height hold"),
        (["--layout", "--demo"], "alone: it opens a window"),
        (["--frames", "pics"], "belongs to --sticks-from or --demo"),
        (["--out", "p.png"], "belongs to --progress"),
        (["--demo", "--set", "tilt_deg=400"], "tilt_deg"),
        (["--demo", "--set", "colour=blue"], "'colour' is no key of [sticks] or [camera]"),
        (["--progress", "--out", "p.png"], "no lap of Invented hop"),
        (["--demo", "--size", "10x10"], "the size is 10 x 10 px"),
        (["--demo", "--gains", "none.toml"], "none.toml"),
    ],
)
def test_bad_input_says_what_to_do(pilot, options, said):
    status, _, err = pilot(*options)
    assert status == 2 and said in err


def test_an_unknown_course_lists_the_known_ones(quadsim):
    status, _, err = quadsim("pilot", "meadow_slalon", "--demo")
    assert status == 2 and "nearest: meadow_slalom" in err


def test_no_progress_yet(pilot):
    assert "no lap flown yet" in pilot("--progress").out


def test_without_a_display_the_way_on_is_said(pilot, monkeypatch):
    for name in ("SDL_VIDEODRIVER", "DISPLAY", "WAYLAND_DISPLAY"):
        monkeypatch.delenv(name, raising=False)
    import sys

    if sys.platform.startswith("linux"):
        status, _, err = pilot()
        assert status == 2 and "no window can be opened" in err


@pytest.mark.jit
def test_practice_left_for_the_layout_opens_it_and_flies_what_was_laid_out(pilot, monkeypatch, tmp_path):
    """E in practice, F in the layout: the changed course is another one for the book of laps."""
    import dataclasses

    from quadsim.planning.course_text import open_course
    from quadsim.viewer.edit_course import LaidOut

    books = []

    def practise(what, device=None):
        books.append(what.book.folder)
        return "layout" if len(books) == 1 else ""

    def edit_course(course, size, *, radius_m, fly):
        from quadsim.config.course_schema import load_course

        laid = load_course(course)
        moved = dataclasses.replace(laid.gates[1], centre=laid.gates[1].centre * 1.1)
        fly(laid)
        fly(dataclasses.replace(laid, gates=(laid.gates[0], moved)))
        return LaidOut(None, open_course(course).path)

    monkeypatch.setenv("SDL_VIDEODRIVER", "dummy")
    monkeypatch.setattr("quadsim.viewer.practise.practise", practise)
    monkeypatch.setattr("quadsim.viewer.edit_course.edit_course", edit_course)
    status, _, err = pilot()
    assert status == 0, err
    assert len(books) == 3
    assert books[0] == books[1] != books[2]


@pytest.mark.jit
def test_ctrl_c_in_a_terminal_says_where_the_laps_are(pilot, monkeypatch, tmp_path):
    def stops(what, device=None):
        raise KeyboardInterrupt

    monkeypatch.setenv("SDL_VIDEODRIVER", "dummy")
    monkeypatch.setattr("quadsim.viewer.practise.practise", stops)
    status, out, err = pilot()
    assert (status, out) == (130, "")
    assert err.startswith(f"quadsim: stopped; finished laps are in {tmp_path / 'laps'}")
