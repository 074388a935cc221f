"""Command line: one thin file per command. typer and rich are imported here and nowhere else."""

import gc

from quadsim.cli.entry import main

gc.set_threshold(
    50_000, 20, 100
)  # what a start makes, stays: looking for garbage as often as usual is 8 % of it

__all__ = ["main"]
