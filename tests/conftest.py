"""The whole suite: one kernel cache, no screen, and what the run without the compiler leaves out.

The suite runs twice, compiled and with NUMBA_DISABLE_JIT=1. Without the compiler, tests marked `jit` (long flights) are
left out and numpy raises where compiled code would go on with inf or NaN.
"""

import os
from collections.abc import Iterator

import hypothesis
import numpy as np
import pytest

from controllers.cache import cache_root

COMPILED = os.environ.get("NUMBA_DISABLE_JIT", "0") in ("", "0")


def pytest_configure(config: pytest.Config) -> None:
    """Settings that must stand before the first test module is imported, here and in the processes that tests start."""
    # named now, so that a test that moves the home folder does not compile everything again
    os.environ.setdefault("QUADSIM_CACHE_DIR", str(cache_root()))
    os.environ.setdefault("SDL_VIDEODRIVER", "dummy")
    os.environ.setdefault("PYGAME_HIDE_SUPPORT_PROMPT", "1")
    os.environ.setdefault("MPLBACKEND", "Agg")
    # the first example may have to compile a kernel; on a server the same examples come every time
    hypothesis.settings.register_profile("suite", deadline=None, derandomize="CI" in os.environ)
    hypothesis.settings.load_profile("suite")


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    if COMPILED:
        return
    needs_compiler = [item for item in items if item.get_closest_marker("jit")]
    config.hook.pytest_deselected(items=needs_compiler)
    items[:] = [item for item in items if not item.get_closest_marker("jit")]


@pytest.fixture(autouse=not COMPILED)
def _numpy_raises() -> Iterator[None]:
    """Division by zero, overflow and invalid results are errors; a number fading to zero is not."""
    with np.errstate(all="raise", under="ignore"):
        yield
