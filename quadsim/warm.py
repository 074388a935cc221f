"""Compile all kernels once, so that the next command starts at once. `python -m quadsim.warm` does it and says so.

Two processes share the work: this one compiles what moves the craft and then the loop, the other what surrounds it, then the
blocks, which this one takes from their other end: two cores, half the wait.
"""

from __future__ import annotations

import gc
import os
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

from controllers import cache
from quadsim.kernel_sources import KERNEL_SOURCES

_MARK = "all-compiled"


def _folder() -> Path | None:
    return cache.open_folder(cache.source_key(KERNEL_SOURCES))


def is_cold() -> bool:
    """True when the kernels of this version of the sources have not all been compiled on this machine."""
    if os.environ.get("NUMBA_DISABLE_JIT", "0") not in ("", "0"):
        return False
    folder = _folder()
    return folder is None or not (folder / _MARK).exists()


def warm(progress: Callable[[str], None] | None = None) -> float:
    """Compile what is missing; returns the seconds it took. `progress` is told what is going on, in a sentence."""
    begun = time.perf_counter()
    gc.disable()  # the compiler makes many small objects and keeps most of them: 6 to 14 % of its time in three trials
    if progress:
        progress("compiling the flight kernels, once for this version (some seconds) ...")
    helper = None
    if (os.cpu_count() or 1) > 1:
        helper = subprocess.Popen([sys.executable, "-c", "import quadsim.warm as w; w.compile_beside()"])
        compile_motion()
    import quadsim.simulation.loop  # noqa: F401  (importing compiles)

    compile_blocks(backwards=True)
    if helper is not None:
        helper.wait()
    gc.enable()
    folder = _folder()
    if folder is not None:
        (folder / _MARK).touch()
    return time.perf_counter() - begun


def compile_motion() -> None:
    """Compile the part of the loop's kernels that this process begins with."""
    from quadsim.simulation import in_parts

    in_parts.compile_motion()


def compile_beside() -> None:
    """What the second process does: the other part of the loop's kernels, then the blocks."""
    gc.disable()
    from quadsim.simulation import in_parts

    in_parts.compile_surroundings()
    compile_blocks()


def compile_blocks(backwards: bool = False) -> None:
    """Compile the default control blocks that the cache does not have yet, in their order or from its end; the others
    compile when a flight first chooses them."""
    import quadsim.jit  # noqa: F401  (it opens the cache folder first)
    from controllers.registry import default_blocks

    default_blocks(backwards)


if __name__ == "__main__":
    if is_cold():
        spent = warm(lambda text: print(text, flush=True))
        print(f"kernels compiled in {spent:.1f} s")
    else:
        print("kernels are compiled already")
