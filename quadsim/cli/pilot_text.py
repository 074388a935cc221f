"""What `quadsim pilot` prints: an attempt flown without a window, and the laps so far."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from quadsim.cli.out import counted, say
from quadsim.cli.table import Column, table

if TYPE_CHECKING:
    from quadsim.config.course import Course
    from quadsim.practice.lap_book import LapBook, LapLine
    from quadsim.practice.practice_flight import PracticeFlight

SHOWN = 12
"""Newest laps that are listed."""


def attempt_document(flight: PracticeFlight, book: LapBook, pictures: Sequence[Path]) -> dict[str, Any]:
    """The attempt as JSON."""
    watch = flight.watch
    return {
        "course": flight.course.name,
        "craft": flight.craft.name,
        "finished": watch.finished,
        "ended": flight.over or f"the sticks ended at {flight.t_s:.2f} s",
        "laps": [
            {
                "lap_time_s": lap.time_s,
                "splits_s": lap.splits_s,
                "speeds_m_s": lap.speeds_m_s,
                "misses": lap.misses,
            }
            for lap in watch.laps
        ],
        "gates": [
            {
                "name": one.name,
                "time_s": one.t_s,
                "speed_m_s": one.speed_m_s,
                "side_m": one.side_m,
                "up_m": one.up_m,
            }
            for one in watch.passages
        ],
        "misses": [{"name": one.name, "time_s": one.t_s, "how": one.how} for one in watch.misses],
        "closest_m": flight.closest_m,
        "best_lap_s": book.best.lap.time_s if book.best else None,
        "best_run": book.best_file if book.best else None,
        "frames": list(pictures),
        "notes": book.notes,
    }


def print_attempt(flight: PracticeFlight, book: LapBook, pictures: Sequence[Path]) -> None:
    """The attempt for people."""
    watch = flight.watch
    say(f"{flight.course.name}, {flight.craft.name}", "title")
    for note in book.notes:
        say(f"note: {note}")
    rows = [
        [f"{one.index + 1}", one.name, f"{one.split_s:.2f}", f"{one.speed_m_s:.1f}", f"{one.side_m:+.2f}", f"{one.up_m:+.2f}"]
        for one in watch.passages
    ]  # fmt: skip
    if rows:
        columns = (
            Column("gate"), Column("", words=True), Column("split", "s"), Column("speed", "m/s"), Column("right", "m"),
            Column("above", "m"),
        )  # fmt: skip
        say(table(columns, rows))
    for miss in watch.misses:
        say(f"  missed {miss.name} at {miss.t_s:.2f} s: {miss.how}", "caution")
    for lap in watch.laps:
        say(
            f"lap {lap.number}: {lap.time_s:.2f} s"
            + (f", {counted(lap.misses, 'miss')}" if lap.misses else ""),
            "good",
        )
    if not watch.finished:
        ended = flight.over or f"the sticks ended at {flight.t_s:.2f} s"
        say(f"not flown to its end: {ended}; next was gate {watch.next + 1}, {watch.gate.name}", "bad")
    if flight.closest_m < 99.0:
        say(f"closest to a frame or post: {max(flight.closest_m, 0.0):.2f} m")
    if book.best:
        say(f"best lap so far: {book.best.lap.time_s:.2f} s; `quadsim watch {book.best_file}` replays it")
    if pictures:
        say(f"{counted(len(pictures), 'picture')} in {pictures[0].parent}")


def progress_document(book: LapBook, course: Course, craft: str, lines: Sequence[LapLine]) -> dict[str, Any]:
    """The laps so far as JSON."""
    return {
        "course": course.name, "craft": craft, "folder": book.folder,
        "best_lap_s": book.best.lap.time_s if book.best else None,
        "laps": [
            {"session": one.session, "flown": one.flown, "lap_time_s": one.time_s, "splits_s": one.splits_s,
             "misses": one.misses, "mode": one.mode, "aids": one.aids, "view": one.view}
            for one in lines
        ],
        "notes": book.notes,
    }  # fmt: skip


def print_progress(book: LapBook, course: Course, craft: str, lines: Sequence[LapLine]) -> None:
    """The newest laps for people."""
    say(f"{course.name}, {craft}: {counted(len(lines), 'lap')}", "title")
    if not lines:
        say("no lap flown yet")
        return
    rows = [
        [one.flown.replace("T", " ").rstrip("Z"), f"{one.time_s:.2f}", str(one.misses), one.mode.replace("_", " "),
         ", ".join(one.aids)]
        for one in lines[-SHOWN:]
    ]  # fmt: skip
    columns = (Column("flown", "UTC", words=True), Column("lap", "s"), Column("missed"), Column("mode", words=True),
               Column("aids", words=True))  # fmt: skip
    say(table(columns, rows))
    if book.best:
        say(f"best lap: {book.best.lap.time_s:.2f} s; `quadsim watch {book.best_file}` replays it", "good")
