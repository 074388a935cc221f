"""The whole suite: one kernel cache, no screen, and what the run without the compiler leaves out.

All tests run compiled. With NUMBA_DISABLE_JIT=1 those of `LINE_BY_LINE` run once more: kernels then are Python, so numpy raises
where compiled code would go on with inf or NaN, and an index out of bounds is an error. What is no kernel is the same
Python both times, so its tests are not collected again; nor are tests marked `jit`.
"""

import os
import re
from collections.abc import Iterator
from pathlib import Path

import hypothesis
import numpy as np
import pytest

from controllers.cache import cache_root

COMPILED = os.environ.get("NUMBA_DISABLE_JIT", "0") in ("", "0")

HERE = Path(__file__).parent
LINE_BY_LINE = (
    "kinematics", "integrators", "environment", "dynamics", "sensors", "simulation", "controllers", "contracts",
    "verification", "test_noise.py",
    "analysis/test_hand_check.py", "analysis/test_injection.py", "parts/test_search.py",  # the kernels of layer 5
    "planning/test_limits.py", "planning/test_spline.py", "logs/test_along.py",
    "cli/test_fly_command.py",  # the whole program flies without the compiler, too
)  # fmt: skip
"""Where kernels are tested: folders and files that run without the compiler as well (`tests/house/test_second_run.py`)."""


def pytest_ignore_collect(collection_path: Path) -> bool | None:
    """Without the compiler: pass over what is neither in LINE_BY_LINE nor on the way to it."""
    if COMPILED or HERE not in collection_path.parents:
        return None
    place = collection_path.relative_to(HERE)
    wanted = [Path(name) for name in LINE_BY_LINE]
    kept = any(place == name or name in place.parents or place in name.parents for name in wanted)
    return None if kept else True


def pytest_report_header() -> str | None:
    return None if COMPILED else f"without the compiler, tests of kernels alone: {', '.join(LINE_BY_LINE)}"


def pytest_configure(config: pytest.Config) -> None:
    """Settings that must stand before the first test module is imported, here and in the processes that tests start."""
    # named now, so that a test that moves the home folder does not compile everything again
    os.environ.setdefault("QUADSIM_CACHE_DIR", str(cache_root()))
    os.environ.setdefault("SDL_VIDEODRIVER", "dummy")
    os.environ.setdefault("PYGAME_HIDE_SUPPORT_PROMPT", "1")
    os.environ.setdefault("MPLBACKEND", "Agg")
    os.environ.setdefault(
        "OPENBLAS_NUM_THREADS", "1"
    )  # small products; in workers, which load numpy after this
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


SMALL_MARKET = (
    "Oddny Plain 5", "Thornby Reach 7",
    "Brambell 22-07, 1750 rpm/V", "Oddny 24-07, 1300 rpm/V",
    "Tiplo 5.0 x 4.3, three blades", "Marrit 5.1 x 5.5, three blades", "Tiplo 7.0 x 3.5, two blades",
    "Vellum board 45 A", "Sorrel board 40 A, 4 cells",
    "Halse 4 cells, 1500 mAh", "Halse 6 cells, 1300 mAh", "Orlop 4 cells, 3300 mAh",
    "Pellow full", "Quorn plain", "Nettle small",
)  # fmt: skip
"""Parts of the shipped catalogue that are few enough to try every choice there is."""


@pytest.fixture(scope="session")
def small_market() -> str:
    """Text of a catalogue with those parts alone."""
    from quadsim.config.find_data import library

    text = (library() / "parts" / "market.toml").read_text(encoding="utf-8")
    head, *blocks = re.split(r"(?m)^(?=\[\[)", text)
    return head + "".join(one for one in blocks if any(f'name = "{name}"' in one for name in SMALL_MARKET))
