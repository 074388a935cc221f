"""Where the shipped scenario data lie: inside the wheel, or beside the package in a checkout."""

from __future__ import annotations

import difflib
from pathlib import Path

from quadsim.errors import InputError, Problem

_PACKAGE = Path(__file__).resolve().parent.parent


def library() -> Path:
    """The scenarios folder, from a wheel (quadsim/scenarios) or a checkout (scenarios beside quadsim)."""
    packaged = _PACKAGE / "scenarios"
    return packaged if packaged.is_dir() else _PACKAGE.parent / "scenarios"


def shipped(kind: str) -> dict[str, Path]:
    """Name -> path of the shipped files of one kind: crafts, flights, ..., sorted by name."""
    return {path.stem: path for path in sorted((library() / kind).glob("*.toml"))}


def find_file(path_or_name: str | Path, kind: str) -> Path:
    """The file meant by a path, or by the name of a shipped file without its suffix.

    A name with a suffix or a folder in it is a path. Raises InputError that lists the shipped names.
    """
    path, text = Path(path_or_name).expanduser(), str(path_or_name)
    noun = kind.removesuffix("s")
    known = shipped(kind)
    is_path = isinstance(path_or_name, Path) or path.suffix == ".toml" or len(path.parts) > 1
    if not is_path and text in known:
        return known[text]
    if path.is_file():
        return path
    near = difflib.get_close_matches(path.stem.lower(), known, n=1)
    remedy = (
        _likelier(text, kind)
        + f"Shipped {kind}: {', '.join(known) or 'none'}"
        + (f"; nearest: {near[0]}" if near else "")
    )
    if path.is_dir():
        given = f"{text!r} is a folder"
    else:
        given = f"there is no {noun} file {text!r}" if is_path else f"there is no {noun} {text!r}"
    raise InputError(
        [Problem("", given, f"give the path of a .toml file or a shipped {noun}'s name", remedy)]
    )


def _likelier(text: str, kind: str) -> str:
    """The file that was probably meant, as the beginning of a remedy: one beside it, or a shipped one of another kind."""
    beside = Path(f"{text}.toml").expanduser()
    if beside.is_file():
        return f"There is {str(beside)!r}: give it with its ending. "
    kinds = sorted(folder.name for folder in library().iterdir() if folder.is_dir() and folder.name != kind)
    others = [other.removesuffix("s") for other in kinds if Path(text).stem in shipped(other)]
    return f"{Path(text).stem!r} is a shipped {others[0]}, not a {kind.removesuffix('s')}. " if others else ""
