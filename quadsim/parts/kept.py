"""Flown winners kept on disk: the same search flown again goes on where it was stopped.

A file holds one event of one craft, some hundred bytes. Its name is a digest of all that decides the flight: the sources that
fly it, the contest, the craft as a file, the event, and the estimate from which a load or a speed is looked for. The catalogue
comes in through the craft's file: another part's price does not fly anything anew.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
from dataclasses import asdict, dataclass, field
from functools import cache
from pathlib import Path
from typing import Any

from controllers.cache import cache_root, source_key
from quadsim.config.contest_schema import Contest
from quadsim.kernel_sources import KERNEL_SOURCES
from quadsim.parts.flown import Flown

PLAIN_SOURCES = ("analysis", "config", "contest", "parts", "planning", "tuning")
"""Packages beside those of the kernels that have a say in a flown figure."""


@dataclass
class Kept:
    """What was flown before. notes : what was found wrong with the files, in sentences; found : how many were taken"""

    folder: Path = field(default_factory=lambda: cache_root() / "winners")
    notes: list[str] = field(default_factory=list)
    found: int = 0

    def look_up(self, name: str) -> Flown | None:
        """What is kept under a name; a file that makes no sense is set aside."""
        file = self.folder / f"{name}.json"
        try:
            flown = _read(json.loads(file.read_text(encoding="utf-8")))
        except OSError:
            return None
        except (ValueError, TypeError, KeyError, AttributeError):
            self._set_aside(file)
            return None
        self.found += 1
        return flown

    def keep(self, name: str, flown: Flown) -> None:
        """Written whole or not at all; where that fails it is flown again another time."""
        file = self.folder / f"{name}.json"
        part = file.with_suffix(f".{os.getpid()}.part")
        with contextlib.suppress(OSError):
            self.folder.mkdir(parents=True, exist_ok=True)
            part.write_text(json.dumps(asdict(flown)), encoding="utf-8")
            os.replace(part, file)

    def _set_aside(self, file: Path) -> None:
        aside = file.with_suffix(".damaged")
        with contextlib.suppress(OSError):
            os.replace(file, aside)
        self.notes.append(f"{file.name} in {file.parent} is damaged; set aside as {aside.name}, flown again")


def name_of(contest: Contest, craft_text: str, event: str, estimate: float, tuned: bool) -> str:
    """Digest of all that decides a flight."""
    decides = (flight_sources(), contest, contest.slalom.laid, craft_text, event, estimate, tuned)
    return hashlib.sha256(repr(decides).encode()).hexdigest()[:24]


@cache
def flight_sources() -> str:
    packages = Path(__file__).parent.parent
    return source_key([*KERNEL_SOURCES, *(packages / one for one in PLAIN_SOURCES)])


def _read(found: Any) -> Flown:
    """A Flown from its JSON; anything but numbers, words and gains in their places is refused."""
    gains = {str(name): float(value) for name, value in dict(found["gains"]).items()}
    words = (found["event"], found["words"], found["choice_of_gains"])
    if not all(isinstance(one, str) for one in words) or found.keys() != Flown.__dataclass_fields__.keys():
        raise ValueError
    return Flown(found["event"], float(found["estimated"]), float(found["flown"]), words[1], gains, words[2])
