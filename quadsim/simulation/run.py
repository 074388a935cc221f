"""A flown flight: columns over time, events, status, metrics and verdicts; and the HDF5 file that keeps it."""

from __future__ import annotations

import json
import os
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np

from quadsim.errors import InputError
from quadsim.simulation.columns import columns
from quadsim.whole_file import whole_file

FORMAT = 1


@dataclass(frozen=True)
class Event:
    """Something that happened at `t_s` [s]; `kind` is one of timeline, ground, air, drive, fault, payload, link, battery,
    safety, motors, estimate, status."""

    t_s: float
    kind: str
    text: str
    sink_m_s: float | None = None
    """Sink rate of a touch-down [m/s]: of the craft (kind ground) or of a load (kind payload)."""
    impact_J: float | None = None
    """Kinetic energy at a touch-down [J]."""


@dataclass(frozen=True)
class Verdict:
    """One `expect` line of a flight, judged. `value` is None when the flight gives no such figure."""

    metric: str
    value: float | None
    bound: str
    ok: bool


@dataclass
class Run:
    """A flight as flown. `run["position_m"]` is an array (time x 3); `run.t_s` the times [s].

    Truth stands under plain names (`position_m`, north-east-down), what the flight controller knew under
    `signals/...`; `height_m` (up positive) is derived.
    """

    flight: str
    craft: str
    status: str
    status_text: str
    data: dict[str, np.ndarray]
    events: list[Event] = field(default_factory=list)
    metrics: dict[str, float] = field(default_factory=dict)
    expectations: list[Verdict] = field(default_factory=list)
    view: dict[str, Any] = field(default_factory=dict)
    meta: dict[str, Any] = field(default_factory=dict)
    path: Path | None = None

    @property
    def t_s(self) -> np.ndarray:
        """Times of the log rows [s], shape (n,)."""
        return self.data["t_s"]

    @property
    def passed(self) -> bool:
        """True when the flight was judged, ended as meant, and every expectation holds."""
        return bool(self.expectations) and all(verdict.ok for verdict in self.expectations)

    def __getitem__(self, name: str) -> np.ndarray:
        if name == "height_m":
            return -self.data["position_m"][:, 2]
        try:
            return self.data[name]
        except KeyError:
            raise InputError(
                f"{name!r} is no column of this run; it has: {', '.join(self)}, height_m"
            ) from None

    def __iter__(self) -> Iterator[str]:
        return iter(self.data)

    def __len__(self) -> int:
        return len(self.t_s)


def save_run(run: Run, path: str | Path) -> Path:
    """Write a run to `path` (HDF5). A kill leaves the old file or the new one, never half of one.

    Raises
    ------
    FlightError
        when the folder cannot be written or the disk is full; the old file is kept.
    """
    import h5py

    path = Path(path)
    with whole_file(path) as part:
        path.parent.mkdir(parents=True, exist_ok=True)
        with h5py.File(part, "w") as file:
            _write(file, run)
        with part.open("rb+") as handle:
            os.fsync(handle.fileno())
    run.path = path
    return path


def _write(file: Any, run: Run) -> None:
    table = columns()
    file.attrs["quadsim_run_format"] = FORMAT
    for key in ("flight", "craft", "status", "status_text"):
        file.attrs[key] = getattr(run, key)
    for key in ("metrics", "view", "meta"):
        file.attrs.create(key, json.dumps(getattr(run, key)))
    file.attrs.create("events", json.dumps([vars(event) for event in run.events]))
    file.attrs.create("expectations", json.dumps([vars(verdict) for verdict in run.expectations]))
    for name, values in run.data.items():
        stored = file.create_dataset(name, data=values, compression="lzf" if values.size > 4096 else None)
        signal = table[name]
        stored.attrs["unit"], stored.attrs["frame"], stored.attrs["meaning"] = (
            signal.unit,
            signal.frame,
            signal.meaning,
        )


def load_run(path: str | Path) -> Run:
    """Read a run file.

    Raises
    ------
    InputError
        when there is no such file or it is not a run file of a known format.
    """
    import h5py

    path = Path(path)
    if not path.is_file():
        raise InputError(f"there is no run file {path}; {_runs_near(path)}")
    try:
        with h5py.File(path, "r") as file:
            return _read(file, path)
    except (OSError, KeyError, ValueError) as error:
        raise InputError(f"{path} is not a readable run file ({error}); fly the flight again") from None


def _runs_near(path: Path) -> str:
    """What to give instead of a path that is no run file."""
    if path.is_dir():
        runs = sorted(one.name for one in path.glob("*.h5"))
        return f"it is a folder, of {', '.join(runs)}" if runs else "it is a folder without runs"
    kept = Path("quadsim-runs", f"{path.stem}.h5")
    return f"there is {kept.as_posix()}" if kept.is_file() else "`quadsim fly FLIGHT` makes one"


def _read(file: Any, path: Path) -> Run:
    version = int(file.attrs["quadsim_run_format"])
    if version != FORMAT:
        raise ValueError(f"its format is {version}, this version reads {FORMAT}")
    data: dict[str, np.ndarray] = {name: np.asarray(file[name]) for name in columns() if name in file}
    stored = {
        key: json.loads(file.attrs[key]) for key in ("metrics", "view", "meta", "events", "expectations")
    }
    return Run(
        **{key: str(file.attrs[key]) for key in ("flight", "craft", "status", "status_text")},
        data=data,
        events=[Event(**event) for event in stored["events"]],
        expectations=[Verdict(**verdict) for verdict in stored["expectations"]],
        metrics=stored["metrics"],
        view=stored["view"],
        meta=stored["meta"],
        path=path,
    )
