"""The command line called in this process, and flights of a twentieth of a second."""

from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

import pytest

from quadsim.cli import main

SHORT = """
title = "A moment of hover"
about = "Two hundred steps of 0.25 ms."
craft = "siskin"
duration_s = 0.05
[start]
height_m = 2
[[at]]
t_s = 0.01
text = "a mark"
[[expect]]
metric = "max_tilt_deg"
below = 5
"""


class Answer(NamedTuple):
    status: int
    out: str
    err: str


@pytest.fixture
def quadsim(capsys, monkeypatch, tmp_path) -> Callable[..., Answer]:
    """`quadsim("fly", "hover")` in an empty folder: exit status and what was printed."""
    monkeypatch.chdir(tmp_path)

    def call(*arguments: object) -> Answer:
        capsys.readouterr()
        status = main([str(argument) for argument in arguments])
        printed = capsys.readouterr()
        return Answer(status, printed.out, printed.err)

    return call


@pytest.fixture
def make_flight(tmp_path) -> Callable[..., Path]:
    """A short flight file with (old, new) pieces of its text exchanged."""

    def make(*changes: tuple[str, str], name: str = "moment") -> Path:
        text = SHORT
        for old, new in changes:
            assert text.count(old) == 1, old
            text = text.replace(old, new)
        path = tmp_path / f"{name}.toml"
        path.write_text(text, encoding="utf-8")
        return path

    return make
