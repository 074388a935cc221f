"""Compile all kernels once, so that the next command starts at once. `python -m quadsim.warm` does it and says so.

Processes share the work, as many as there are cores, up to four: each compiles parts of the loop and some blocks, so that all
end at about the same time; this one compiles the loop itself, from its parts, and whatever block is left.
"""

from __future__ import annotations

import gc
import os
import subprocess
import sys
import time
from collections.abc import Callable, Iterable
from pathlib import Path

from controllers import cache
from quadsim.kernel_sources import KERNEL_SOURCES

_MARK = "all-compiled"
SLOTS = ("estimate", "guide", "attitude", "rate", "allocate")
Share = tuple[tuple[str, ...], tuple[str, ...]]
SHARES: dict[int, tuple[Share, ...]] = {
    1: (((), ()),),
    2: ((("derivative", "renewal"), ()), (("weather", "sensing", "slow"), SLOTS)),
    4: (
        (("derivative",), ("allocate", "rate", "attitude")),
        (("renewal",), ("guide",)),
        (("sensing",), ()),
        (("slow", "weather"), ("estimate",)),
    ),
}
"""By least number of cores, for each process the parts of the loop (`in_parts.PARTS`) and the slots whose default blocks it
compiles; the first is the process that goes on to the loop."""


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
    cores = os.cpu_count() or 1
    shares = SHARES[max(count for count in SHARES if count <= cores)]
    calls = [f"import quadsim.warm as w; w.compile_share({share!r})" for share in shares[1:]]
    helpers = [subprocess.Popen([sys.executable, "-c", call]) for call in calls]
    compile_share(shares[0])
    import quadsim.simulation.loop  # noqa: F401  (importing compiles)

    compile_blocks(reversed(SLOTS))
    for helper in helpers:
        helper.wait()
    gc.enable()
    folder = _folder()
    if folder is not None:
        (folder / _MARK).touch()
    return time.perf_counter() - begun


def compile_share(share: Share) -> None:
    """Compile parts of the loop, then default blocks; those that the cache has already only load."""
    gc.disable()
    from quadsim.simulation.in_parts import compile_parts

    parts, slots = share
    compile_parts(parts)
    compile_blocks(slots)


def compile_blocks(slots: Iterable[str]) -> None:
    """Compile the default control blocks of some slots that the cache does not have yet; other blocks compile when a flight
    first chooses them."""
    import quadsim.jit  # noqa: F401  (it opens the cache folder first)
    from controllers.registry import default_block

    for slot in slots:
        default_block(slot)


if __name__ == "__main__":
    if is_cold():
        spent = warm(lambda text: print(text, flush=True))
        print(f"kernels compiled in {spent:.1f} s")
    else:
        print("kernels are compiled already")
