"""A flight of a sweep flown again by itself: the files with its changes, and the command that flies them."""

from __future__ import annotations

import shlex
from pathlib import Path
from typing import Any

from quadsim.sweep.cases import Case
from quadsim.sweep.sweep import Sweep
from quadsim.sweep.toml_text import toml_text
from quadsim.whole_file import whole_file

FOLDER = Path("quadsim-sweeps")
BESIDE = (("wind", "record"), ("trajectory",))
"""Keys of a flight file that name a file beside it."""


def files_of(sweep: Sweep, case: Case) -> dict[str, str]:
    """Name and text of the files that a case needs beside those that are there; none where only the seed differs."""
    if not case.changes:
        return {}
    stem = f"{sweep.flight.name}_{case.number}"
    changed = {key.file for key, _ in case.changes}
    head = f"# Made by quadsim sweep: flight {case.number} of {len(sweep.cases)} of {sweep.flight.name}. Changed:\n"
    head += "".join(f"#   {key.name} = {value}\n" for key, value in case.changes)
    files = {}
    craft = case.cell.craft
    if "craft" in changed:
        craft = f"{stem}_craft.toml"
        files[craft] = head + toml_text(sweep.base.craft_data(case.cell.craft, case.changes))
    elif craft.endswith(".toml"):
        craft = str(Path(craft).expanduser().resolve())
    flight = sweep.base.flight_data(case.changes) | {"craft": craft, "seed": case.seed}
    files[f"{stem}.toml"] = head + toml_text(_told_where(flight, sweep.base.flight_path.parent.resolve()))
    return files


def _told_where(flight: dict[str, Any], folder: Path) -> dict[str, Any]:
    """The flight's data with whole paths to the files beside it."""
    for *sections, key in BESIDE:
        at: Any = flight
        for name in sections:
            at = at.get(name, {})
        if at.get(key):
            at[key] = str(folder / Path(at[key]).expanduser())
    return flight


def write_files(sweep: Sweep, case: Case, folder: Path = FOLDER) -> list[Path]:
    """Write the files of a case into a folder; returns them, the flight last.

    Raises
    ------
    FlightError
        when they cannot be written.
    """
    places = []
    for name, text in files_of(sweep, case).items():
        place = folder / name
        place.parent.mkdir(parents=True, exist_ok=True)
        with whole_file(place) as part:
            part.write_text(text, encoding="utf-8")
        places.append(place)
    return places


def command(sweep: Sweep, case: Case, folder: Path = FOLDER) -> str:
    """The command that flies a case again, to be copied."""
    words = ["quadsim", "fly"]
    files = list(files_of(sweep, case))
    if files:
        words.append(str(folder / files[-1]))
    else:
        words += [sweep.wanted.flight, "--seed", str(case.seed)]
        words += ["--craft", case.cell.craft] if sweep.wanted.crafts else []
    for slot, spec in sweep.base.laws[case.cell.law].items():
        words += [f"--{slot}", spec]
    return shlex.join(words)
