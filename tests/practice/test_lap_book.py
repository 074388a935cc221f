"""Laps kept: best run, lines, damaged files."""

import dataclasses
import json

import numpy as np
import pytest

from quadsim.practice.lap_book import FOLDER, LapBook, course_key, lap_meta, practice_folder
from quadsim.practice.lap_watch import Lap
from quadsim.simulation.columns import columns
from quadsim.simulation.run import Run

LAP = Lap(1, 2.0, (0.0, 1.5, 4.0), (5.0, 6.0), 0)


def invented_run(lap, seconds=8.0):
    t = np.arange(0.0, seconds, 0.05)
    data = {name: np.zeros((len(t), *signal.shape)) for name, signal in columns().items()}
    data["t_s"] = t
    data["position_m"] = np.stack([t, -t, np.full_like(t, -2.0)], axis=1)
    return Run("round", "tern", "done", "flown", data, meta={"practice": {"lap": lap_meta(lap)}})


@pytest.fixture
def book(make_course, tmp_path):
    return LapBook(make_course(), "Tern 5", tmp_path, now=lambda: 1e9)


def test_the_best_run_comes_back_with_its_splits_and_its_way(book, make_course, tmp_path):
    assert book.best is None and book.is_best(LAP)
    book.keep_best(invented_run(LAP), LAP)
    again = LapBook(make_course(), "Tern 5", tmp_path)
    assert again.best.lap == LAP and not again.notes
    assert again.best.place_at(1.0) == pytest.approx([3.0, -3.0, -2.0])  # one second into the lap: time 3 s
    assert not again.is_best(LAP)
    assert again.is_best(dataclasses.replace(LAP, splits_s=(0.0, 1.4, 3.9)))


def test_laps_are_kept_in_order(book):
    for time_s in (5.0, 4.5):
        book.add(dataclasses.replace(LAP, splits_s=(0.0, time_s)), "rate_command", ("slow",), "picture")
    lines = book.laps()
    assert [one.time_s for one in lines] == [5.0, 4.5]
    assert lines[0].aids == ("slow",) and lines[0].session == "2001-09-09T01:46:40Z"


@pytest.mark.parametrize("damage", [b"", b"not a run", b"\x89HDF\r\n\x1a\n" + b"x" * 200])
def test_a_damaged_best_run_is_set_aside_and_kept(book, make_course, tmp_path, damage):
    book.folder.mkdir(parents=True)
    book.best_file.write_bytes(damage)
    again = LapBook(make_course(), "Tern 5", tmp_path)
    assert again.best is None and len(again.notes) == 1 and "best-unreadable-1.h5" in again.notes[0]
    assert (book.folder / "best-unreadable-1.h5").read_bytes() == damage
    again.keep_best(invented_run(LAP), LAP)
    again.best_file.write_bytes(damage)
    LapBook(make_course(), "Tern 5", tmp_path)
    assert (book.folder / "best-unreadable-2.h5").exists()


def test_a_run_without_a_lap_is_set_aside(book, make_course, tmp_path):
    run = invented_run(LAP)
    book.keep_best(run, LAP)
    run.meta["practice"] = {}
    from quadsim.simulation.run import save_run

    save_run(run, book.best_file)
    assert "lacks 'lap'" in LapBook(make_course(), "Tern 5", tmp_path).notes[0]


def test_damaged_lines_are_left_out_and_the_file_kept(book):
    book.add(LAP, "height_hold", (), "chase")
    with book.laps_file.open("a") as file:
        file.write('{"session": "x"}\n\nhalf a li')
    book.add(LAP, "height_hold", (), "chase")
    assert len(book.laps()) == 1  # the line begun by the damage took the new one with it
    assert "2 lines" in book.notes[0] and (book.folder / "laps-unreadable-1.jsonl").exists()
    assert len(book.laps()) == 1 and len(book.notes) == 1
    assert json.loads(book.laps_file.read_text())["time_s"] == LAP.time_s


def test_a_moved_gate_is_another_course(make_course):
    course = make_course()
    moved = dataclasses.replace(course.gates[1], centre=course.gates[1].centre + 0.1)
    other = dataclasses.replace(course, gates=(course.gates[0], moved, course.gates[2]))
    assert course_key(course) != course_key(other)
    assert course_key(course) == course_key(make_course()) and course_key(course).startswith(
        "invented-round-"
    )


def test_the_folder_can_be_named(monkeypatch, tmp_path):
    monkeypatch.setenv(FOLDER, str(tmp_path))
    assert practice_folder() == tmp_path
    monkeypatch.delenv(FOLDER)
    assert practice_folder().name == "practice"
