"""Command line: one thin file per command. typer and rich are imported here and nowhere else."""

from quadsim.cli.entry import main

__all__ = ["main"]
