"""Rotor maps kept on disk, keyed by their inputs and by the sources that make them.

A missing, damaged or unwritable cache costs a fifth of a second and is never an error.
"""

from __future__ import annotations

import hashlib
import os
import tempfile
from functools import cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from controllers.cache import cache_root

SOURCES = (
    "blade_element.py",
    "blade_fit.py",
    "blade_prior.py",
    "flapping.py",
    "inflow.py",
    "measured_table.py",
    "rotor_evidence.py",
    "rotor_map.py",
    "typical_blade.py",
    "typical_blade_data.py",
)


def key(*inputs: object) -> str:
    """Name for the map of these inputs; another version of the sources gives another name."""
    return hashlib.sha256(f"{_source_digest()} {inputs!r}".encode()).hexdigest()[:24]


def load(name: str, shape: tuple[int, ...]) -> NDArray[np.float64] | None:
    """The stored array of this shape, or None when there is none to trust."""
    try:
        with open(_path(name), "rb") as file:
            stored = np.load(file, allow_pickle=False)
    except (OSError, ValueError, EOFError):
        return None
    if not isinstance(stored, np.ndarray) or stored.shape != shape or stored.dtype != np.float64:
        return None
    return stored if bool(np.isfinite(stored).all()) else None


def store(name: str, values: NDArray[np.float64]) -> None:
    """Keep the array; written aside and moved into place, so that a reader never sees half of it."""
    path = _path(name)
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, aside = tempfile.mkstemp(dir=path.parent, suffix=".tmp")
        try:
            with os.fdopen(handle, "wb") as file:
                np.save(file, values, allow_pickle=False)
            os.replace(aside, path)
        except OSError:
            os.unlink(aside)
    except OSError:
        return


def _path(name: str) -> Path:
    return cache_root() / "rotor-maps" / f"{name}.npy"


@cache
def _source_digest() -> str:
    digest = hashlib.sha256()
    for name in SOURCES:
        digest.update((Path(__file__).parent / name).read_bytes())
    return digest.hexdigest()
