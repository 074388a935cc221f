"""Flights kept on disk: the same sweep goes on where it was stopped, and a wider one flies only what is new.

One file for each flight file and version of the sources, one line for each flight: a digest of all that decides it, and how it
ended. (The winners of a choice are a file each, some ten of them; a sweep has thousands.) A line is written in one go as a flight
ends, so a kill costs the flights in the air; a line that is cut off is passed over. Bounds of `expect` decide nothing here:
a kept flight is judged anew, and flown anew only when it lacks a figure that is asked for.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import math
import os
from collections.abc import Iterator
from functools import cached_property
from pathlib import Path
from typing import Any

from controllers.cache import cache_root, source_key
from quadsim.kernel_sources import KERNEL_SOURCES
from quadsim.sweep.base import Base
from quadsim.sweep.cases import Case
from quadsim.sweep.pilot import Flown

KEPT_FILES = 60
"""Files that stay; those written longest ago go first."""
UNFLOWN = ("title", "about", "expect", "ends", "seed", "craft")
"""Keys of a flight file that change no flight, or are in the digest of each flight."""
_PACKAGE = Path(__file__).parent.parent
PLAIN_SOURCES = (_PACKAGE / "config", _PACKAGE / "sweep" / "pilot.py", _PACKAGE / "sweep" / "base.py")
"""Sources beside those of the kernels that have a say in a flight's figures."""


class KeptFlights:
    """What was flown before with this flight file. anew : forget it; damaged : lines that made no sense and are flown again"""

    def __init__(self, base: Base, folder: Path | None = None, anew: bool = False) -> None:
        self.base = base
        self.folder = cache_root() / "sweeps" if folder is None else folder
        self.damaged = 0
        self._known: dict[str, dict[str, Any]] = {}
        for line in () if anew else self._lines():
            self._take(line)

    @cached_property
    def file(self) -> Path:
        """Where the flights of this flight file stand."""
        flight = {key: value for key, value in self.base.flight.items() if key not in UNFLOWN}
        folder = self.base.flight_path.parent
        beside = (*_files_beside(flight, folder), *_files_beside(flight.get("controllers", {}), Path()))
        whole = (source_key([*KERNEL_SOURCES, *PLAIN_SOURCES]), flight, *beside)
        return self.folder / f"{self.base.flight_path.stem}-{_digest(whole)}.jsonl"

    def name_of(self, case: Case) -> str:
        """Digest of what decides one flight, beside the flight file: craft, law with its sources, changes, seed."""
        changes = tuple((key.name, value) for key, value in case.changes)
        return _digest((self._crafts[case.cell.craft], self._laws[case.cell.law], changes, case.seed))

    @cached_property
    def _crafts(self) -> dict[str, str]:
        return {
            name: _digest((data, *_files_beside(data.get("controllers", {}), Path())))
            for name, data in self.base.crafts.items()
        }

    @cached_property
    def _laws(self) -> dict[str, str]:
        return {
            name: _digest((blocks, *_files_beside(blocks, Path()))) for name, blocks in self.base.laws.items()
        }

    def look_up(self, case: Case) -> Flown | None:
        """How a case ended, if all that is asked for is known of it."""
        found = self._known.get(self.name_of(case))
        labels = [asked.label for asked in self.base.asked]
        if found is None or not all(label in found["figures"] for label in labels):
            return None
        figures = {label: _number(found["figures"][label]) for label in labels}
        return Flown(case.number, found["status"], found["words"], figures)

    def keep(self, case: Case, flown: Flown) -> None:
        """Add a flight; what could not be flown is asked again another time, and a full disk costs no answer."""
        if flown.refused:
            return
        figures = {label: value if math.isfinite(value) else None for label, value in flown.figures.items()}
        line = {
            "flight": self.name_of(case),
            "status": flown.status,
            "words": flown.words,
            "figures": figures,
        }
        with contextlib.suppress(OSError):
            if not self._known:
                self.folder.mkdir(parents=True, exist_ok=True)
                self._forget_old()
            with self.file.open("a", encoding="utf-8") as file:
                file.write(json.dumps(line) + "\n")
        self._known.setdefault(line["flight"], line)["figures"] |= figures  # type: ignore[arg-type]

    def _lines(self) -> Iterator[str]:
        with contextlib.suppress(OSError):
            text = self.file.read_text(encoding="utf-8", errors="replace")
            if text and not text.endswith("\n"):  # cut off by a kill: the next line must not run into it
                with self.file.open("a", encoding="utf-8") as file:
                    file.write("\n")
            yield from text.splitlines()

    def _take(self, line: str) -> None:
        try:
            found = json.loads(line)
            name, status, words = str(found["flight"]), str(found["status"]), str(found["words"])
            figures = {str(label): _number(value) for label, value in found["figures"].items()}
        except (ValueError, TypeError, KeyError, AttributeError):
            self.damaged += bool(line.strip())
            return
        known = self._known.setdefault(
            name, {"flight": name, "status": status, "words": words, "figures": {}}
        )
        known["figures"] |= figures

    def _forget_old(self) -> None:
        files = sorted(self.folder.glob("*.jsonl"), key=lambda one: one.stat().st_mtime, reverse=True)
        for old in files[KEPT_FILES:]:
            os.unlink(old)


def _number(value: Any) -> float:
    return math.nan if value is None else float(value)


def _files_beside(data: Any, folder: Path) -> Iterator[bytes]:
    """What stands in the files that a file's texts name: a wind record, a trajectory, a block of one's own."""
    if isinstance(data, dict):
        data = list(data.values())
    if isinstance(data, (list, tuple)):
        for one in data:
            yield from _files_beside(one, folder)
    elif isinstance(data, str) and data:
        name = data.rsplit(":", 1)[0] if ".py:" in data else data
        with contextlib.suppress(OSError, ValueError):
            yield (folder / Path(name).expanduser()).read_bytes()


def _digest(value: Any) -> str:
    return hashlib.sha256(repr(value).encode()).hexdigest()[:20]
