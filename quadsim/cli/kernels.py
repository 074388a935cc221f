"""The compiler at work: said once, before a command would seem to hang."""

from __future__ import annotations

from quadsim.cli.out import tell


def prepare_kernels() -> None:
    """Compile the kernels if this version of the sources was never compiled here, and say so on stderr."""
    from quadsim.warm import is_cold, warm

    if is_cold():
        warm(tell)
