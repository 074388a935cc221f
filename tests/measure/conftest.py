"""Measurements from a text, and the invented tables that ship."""

from collections.abc import Callable
from pathlib import Path

import pytest

from quadsim.config import load_craft
from quadsim.measure.kinds import measure
from quadsim.measure.result import Setup

BENCH = Path(__file__).parents[2] / "scenarios" / "bench"


@pytest.fixture(scope="session")
def siskin():
    return load_craft("siskin")


@pytest.fixture
def measured(tmp_path) -> Callable:
    """`measured("swing", text, **setup)`; without a text the shipped table."""

    def work_out(kind: str, text: str | None = None, **setup):
        path = BENCH / f"{kind}.csv"
        if text is not None:
            path = tmp_path / f"{kind}.csv"
            path.write_text(text, encoding="utf-8")
        return measure(kind, path, Setup(**setup))

    return work_out


@pytest.fixture
def shipped() -> Callable[[str], str]:
    return lambda kind: (BENCH / f"{kind}.csv").read_text(encoding="utf-8")
