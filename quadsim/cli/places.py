"""Where results go: asked before the work is done, so that nothing is flown in vain and nothing is overwritten by mistake."""

from __future__ import annotations

import os
from pathlib import Path

from quadsim.errors import InputError, Problem

HDF5_SIGNATURE = b"\x89HDF\r\n\x1a\n"
"""First bytes of an HDF5 file. The HDF Group, HDF5 File Format Specification 3.0, sec. II.A."""


def is_hdf5(path: Path) -> bool:
    """True when the file begins like an HDF5 file."""
    try:
        with path.open("rb") as file:
            return file.read(len(HDF5_SIGNATURE)) == HDF5_SIGNATURE
    except OSError:
        return False


def is_run(name: str) -> bool:
    """True when `name` means a run file rather than a flight."""
    path = Path(name).expanduser()
    return path.suffix.lower() in (".h5", ".hdf5") or (path.is_file() and is_hdf5(path))


def writable(path: Path, remedy: str) -> Path:
    """`path`, once its folder exists and takes files.

    Raises
    ------
    InputError
        when the folder cannot be made or written, or when `path` is a folder.
    """
    path = path.expanduser()
    if path.is_dir():
        raise InputError([Problem("--out", f"{path} is a folder", "must be a file", remedy)])
    folder = path.parent
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        reason = (
            "a file is in its place"
            if isinstance(error, (FileExistsError, NotADirectoryError))
            else error.strerror
        )
        raise InputError([Problem("", f"the folder {folder} cannot be made: {reason}", "", remedy)]) from None
    if not os.access(folder, os.W_OK):
        raise InputError([Problem("", f"the folder {folder} cannot be written to", "", remedy)])
    return path


def writable_run(path: Path) -> Path:
    """Like `writable`, and not a file of another kind, which a run must not overwrite."""
    path = writable(path, "Name another place with --out, or fly with --no-save")
    if path.exists() and path.stat().st_size > 0 and not is_hdf5(path):
        given = f"{path} exists and is not a run file"
        raise InputError(
            [Problem("--out", given, "it was not overwritten", "Name another file, such as flight.h5")]
        )
    return path


def picture_place(name: str, out: Path | None, ending: str = "", option: str = "--out") -> Path:
    """Where a picture of a craft goes: `out`, or its name with an ending, as PNG; asked before the work is done.

    Raises
    ------
    InputError
        for a suffix that is no kind of picture, or a folder that does not take files.
    """
    from quadsim.report.picture import checked_suffix

    place = checked_suffix(out or Path(f"{Path(name).stem}{ending}.png"), option)
    return writable(place, f"Name another file with {option}")
