"""Where compiled kernels are kept: a folder keyed by a hash of all kernel sources.

Rationale: numba's own cache looks at the file of the function alone, so it serves a stale kernel when a
function in ANOTHER file that was inlined into it changes (numba issue 1833). Keying the folder by the content of
all kernel sources makes that impossible.
"""

from __future__ import annotations

import hashlib
import os
import platform
import shutil
import sys
from collections.abc import Iterable
from pathlib import Path

KEPT_FOLDERS = 4


def source_key(roots: Iterable[Path]) -> str:
    """Hash of every Python source under `roots` (folders or files), of the interpreter and of the machine type."""
    digest = hashlib.sha256(f"{sys.version_info[:2]} {platform.machine()}".encode())
    for root in roots:
        for path in sorted(root.rglob("*.py")) if root.is_dir() else [root]:
            digest.update(path.name.encode())
            digest.update(path.read_bytes())
    return digest.hexdigest()[:16]


def cache_root() -> Path:
    """Folder that holds the keyed cache folders; `QUADSIM_CACHE_DIR` overrides the user's cache folder."""
    chosen = os.environ.get("QUADSIM_CACHE_DIR")
    if chosen:
        return Path(chosen)
    if sys.platform == "win32":
        base = Path(os.environ.get("LOCALAPPDATA", Path.home() / "AppData" / "Local"))
    elif sys.platform == "darwin":
        base = Path.home() / "Library" / "Caches"
    else:
        base = Path(os.environ.get("XDG_CACHE_HOME", Path.home() / ".cache"))
    return base / "quadsim"


def open_folder(key: str) -> Path | None:
    """The cache folder for `key`, made if need be; None when nothing can be written there."""
    folder = cache_root() / f"kernels-{key}"
    try:
        folder.mkdir(parents=True, exist_ok=True)
        os.utime(folder)
        _forget_old(folder.parent)
    except OSError:
        return None
    return folder


def _forget_old(root: Path) -> None:
    """Keep the few folders used last; the others belong to sources that are gone."""
    folders = sorted(root.glob("kernels-*"), key=lambda p: p.stat().st_mtime, reverse=True)
    for folder in folders[KEPT_FOLDERS:]:
        shutil.rmtree(folder, ignore_errors=True)
