"""Laps flown, kept per course and craft: the best run whole, so that it can be replayed, and one line for every lap.

A file that cannot be read is renamed, never thrown away.
"""

from __future__ import annotations

import hashlib
import json
import os
import re
import time
from collections.abc import Callable
from dataclasses import asdict, dataclass
from pathlib import Path

import numpy as np

from quadsim.config.course import Course
from quadsim.errors import FlightError, InputError
from quadsim.practice.lap_watch import Lap
from quadsim.simulation.run import Run, load_run, save_run
from quadsim.whole_file import whole_file

FOLDER = "QUADSIM_PRACTICE_DIR"
"""Environment variable that names another folder for all practice."""


def practice_folder() -> Path:
    """Where practice is kept: FOLDER if it is set, else beside the user's other data."""
    stated = os.environ.get(FOLDER)
    if stated:
        return Path(stated).expanduser()
    import platformdirs

    return Path(platformdirs.user_data_path("quadsim")) / "practice"


def course_key(course: Course) -> str:
    """Name of a course's folder. It changes when a gate, the start or an obstacle is moved: times do not compare then."""
    numbers = [(*gate.centre, gate.heading, gate.width, gate.height) for gate in course.gates]
    numbers += [(*post.place, post.height, post.radius) for post in course.posts]
    numbers += [(*box.low, *box.high) for box in course.boxes]
    numbers.append((*course.start.place, course.start.heading, float(course.closed), float(course.laps)))
    text = json.dumps([[round(float(n), 4) for n in one] for one in numbers])
    return f"{slug(course.name)}-{hashlib.sha256(text.encode()).hexdigest()[:8]}"


def slug(name: str) -> str:
    """A name as part of a file's name."""
    return re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-")[:40] or "unnamed"


@dataclass(frozen=True)
class LapLine:
    """One lap in the book, as timed."""

    session: str
    """When the session began, UTC."""
    flown: str
    time_s: float
    splits_s: tuple[float, ...]
    misses: int
    mode: str
    aids: tuple[str, ...] = ()
    """Aids that changed the flight; such a lap is no best lap."""
    view: str = ""


@dataclass(frozen=True)
class Best:
    """The best lap, and where it was over time."""

    lap: Lap
    t_s: np.ndarray
    """Since its clock started, shape (n,)."""
    position: np.ndarray
    """From the start place, north-east-down, shape (n, 3) [m]."""
    attitude: np.ndarray
    path: Path

    def place_at(self, clock_s: float) -> np.ndarray:
        """Where it was at a time on the clock, shape (3,) [m]."""
        return np.array([np.interp(clock_s, self.t_s, self.position[:, k]) for k in range(3)])


class LapBook:
    """The laps on one course with one craft."""

    def __init__(
        self, course: Course, craft: str, folder: Path | None = None,
        now: Callable[[], float] = time.time,
    ) -> None:  # fmt: skip
        self.shelf = folder or practice_folder()
        """Where all books stand."""
        self.folder = self.shelf / course_key(course) / slug(craft)
        self._now = now
        self.session = _stamp(now())
        self.notes: list[str] = []
        """What was found wrong with the files, in sentences."""
        self.best = self._read_best()

    @property
    def best_file(self) -> Path:
        """The best run, a run file."""
        return self.folder / "best.h5"

    @property
    def laps_file(self) -> Path:
        """One line of JSON per lap."""
        return self.folder / "laps.jsonl"

    def laps(self) -> list[LapLine]:
        """All laps in the order flown. Lines that cannot be read are left out; the file as it was is kept beside it once."""
        try:
            lines = self.laps_file.read_text(encoding="utf-8", errors="replace").splitlines()
        except FileNotFoundError:
            return []
        except OSError as error:
            raise InputError(f"{self.laps_file} cannot be read: {error.strerror}") from None
        found, bad = [], 0
        for line in lines:
            try:
                found.append(_lap_line(json.loads(line)))
            except (ValueError, TypeError, KeyError):
                bad += bool(line.strip())
        if bad:
            kept = self._set_aside(self.laps_file)
            self._rewrite(found)
            self.notes.append(
                f"{bad} lines of {self.laps_file.name} could not be read; the file is kept as {kept.name}"
            )
        return found

    def add(self, lap: Lap, mode: str, aids: tuple[str, ...], view: str) -> LapLine:
        """Write a lap into the book."""
        line = LapLine(
            self.session, _stamp(self._now()), round(lap.time_s, 4), tuple(round(s, 4) for s in lap.splits_s),
            lap.misses, mode, aids, view,
        )  # fmt: skip
        try:
            self.folder.mkdir(parents=True, exist_ok=True)
            with self.laps_file.open("a", encoding="utf-8") as file:
                file.write(json.dumps(asdict(line)) + "\n")
        except OSError as error:
            raise FlightError(
                f"{self.laps_file} could not be written: {error.strerror}. Name another folder with {FOLDER}"
            ) from None
        return line

    def is_best(self, lap: Lap) -> bool:
        """True when a lap beats the best one."""
        return self.best is None or lap.time_s < self.best.lap.time_s

    def keep_best(self, run: Run, lap: Lap) -> None:
        """Make a lap the best one; `run` is its whole attempt with the lap in `meta["practice"]`."""
        self.folder.mkdir(parents=True, exist_ok=True)
        save_run(run, self.best_file)
        self.best = _best_of(run, lap, self.best_file)

    def _read_best(self) -> Best | None:
        if not self.best_file.exists():
            return None
        try:
            run = load_run(self.best_file)
            stated = run.meta["practice"]["lap"]
            lap = Lap(
                int(stated["number"]), float(stated["start_s"]), tuple(map(float, stated["splits_s"])),
                tuple(map(float, stated["speeds_m_s"])), int(stated["misses"]),
            )  # fmt: skip
            if not lap.splits_s or not np.isfinite(lap.splits_s).all():
                raise ValueError("it has no splits")
            return _best_of(run, lap, self.best_file)
        except (InputError, KeyError, TypeError, ValueError, AttributeError) as error:
            kept = self._set_aside(self.best_file)
            reason = f"it lacks {error}" if isinstance(error, KeyError) else str(error).split(";")[0]
            self.notes.append(f"the best run could not be read ({reason}); it is kept as {kept.name}")
            return None

    def _set_aside(self, path: Path) -> Path:
        """Give a file another name beside it."""
        number = 1
        while (kept := path.with_name(f"{path.stem}-unreadable-{number}{path.suffix}")).exists():
            number += 1
        try:
            os.replace(path, kept)
        except OSError as error:
            raise InputError(f"{path} is unreadable and cannot be renamed: {error.strerror}") from None
        return kept

    def _rewrite(self, lines: list[LapLine]) -> None:
        with whole_file(self.laps_file) as part:
            part.write_text("".join(json.dumps(asdict(line)) + "\n" for line in lines), encoding="utf-8")


def lap_meta(lap: Lap) -> dict[str, object]:
    """A lap as `meta["practice"]["lap"]` of a run file keeps it."""
    return {key: list(value) if isinstance(value, tuple) else value for key, value in asdict(lap).items()}


def _best_of(run: Run, lap: Lap, path: Path) -> Best:
    t = run.t_s - lap.start_s
    chosen = (t >= -0.05) & (t <= lap.time_s + 0.05)
    if np.count_nonzero(chosen) < 2:
        raise ValueError("its lap is not in it")
    return Best(lap, t[chosen], run["position_m"][chosen], run["attitude"][chosen], path)


def _lap_line(stated: dict) -> LapLine:
    """A line of the book; raises ValueError, TypeError or KeyError for anything else."""
    line = LapLine(
        str(stated["session"]), str(stated["flown"]), float(stated["time_s"]),
        tuple(float(s) for s in stated["splits_s"]), int(stated["misses"]), str(stated["mode"]),
        tuple(str(a) for a in stated.get("aids", ())), str(stated.get("view", "")),
    )  # fmt: skip
    if not (line.time_s > 0.0 and np.isfinite(line.time_s) and line.splits_s):
        raise ValueError("no lap time")
    return line


def _stamp(wall_s: float) -> str:
    return time.strftime("%Y-%m-%dT%H:%M:%SZ", time.gmtime(wall_s))
