"""What every flight of a sweep starts from: the files as data, the laws, and the figures that are asked for."""

from __future__ import annotations

import copy
import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from quadsim.config import Craft
from quadsim.config.craft_loader import craft_of
from quadsim.config.flight_loader import flight_of
from quadsim.config.flight_schema import ExpectSection, FlightFile
from quadsim.sweep.cases import Case
from quadsim.sweep.keys import Key, set_key

Changes = tuple[tuple[Key, Any], ...]


@dataclass(frozen=True)
class Asked:
    """A figure that is asked for: a metric over a window of time [s]."""

    metric: str
    from_s: float = 0.0
    to_s: float | None = None

    @property
    def label(self) -> str:
        """Its name in tables and files: the metric, with its window where it has one."""
        window = f" {self.from_s:g}-{'end' if self.to_s is None else f'{self.to_s:g}'} s"
        return self.metric + (window if self.from_s or self.to_s is not None else "")

    @classmethod
    def by(cls, line: ExpectSection) -> Asked:
        """What an expect line looks at."""
        return cls(line.metric, line.from_s, line.to_s)


@dataclass(frozen=True)
class Base:
    """The files a sweep begins with. Goes to other processes, so it holds data alone.

    crafts : data of each craft file by the name it was given; laws : blocks of each law by its name, {} the craft's own
    """

    crafts: dict[str, dict[str, Any]]
    flight: dict[str, Any]
    flight_path: Path
    laws: dict[str, dict[str, str]]
    asked: tuple[Asked, ...]

    def craft_data(self, name: str, changes: Changes) -> dict[str, Any]:
        """Data of a craft file with the changes that belong to it."""
        return _changed(self.crafts[name], "craft", changes)

    def flight_data(self, changes: Changes) -> dict[str, Any]:
        """Data of the flight file with the changes that belong to it."""
        return _changed(self.flight, "flight", changes)

    def craft(self, name: str, changes: Changes = ()) -> Craft:
        """The checked craft; InputError where it is none."""
        return craft_of(self.craft_data(name, changes), name)

    def flight_file(self, changes: Changes = ()) -> FlightFile:
        """The checked flight; InputError where it is none."""
        return flight_of(self.flight_data(changes), self.flight_path)


def _changed(data: dict[str, Any], file: str, changes: Changes) -> dict[str, Any]:
    changed = copy.deepcopy(data)
    for key, value in changes:
        if key.file == file:
            set_key(changed, key, value)
    return changed


def data_of(text: str) -> dict[str, Any]:
    """Data of a file that was checked before."""
    return tomllib.loads(text)


def same_craft(case: Case) -> tuple[Any, ...]:
    """What decides the craft of a flight; equal for flights that may share it."""
    return (case.cell.craft, *((key.name, value) for key, value in case.changes if key.file == "craft"))


def same_flight(case: Case) -> tuple[Any, ...]:
    """What decides the flight file of a flight, but for its seed."""
    return tuple((key.name, value) for key, value in case.changes if key.file == "flight")
