"""The compiler at work: said once, before a command would seem to hang."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import contextmanager

from quadsim.cli.out import tell

PATIENCE_S = 3.0
"""Wall time after which a word is due [s]."""


def prepare_kernels() -> None:
    """Compile the kernels if this version of the sources was never compiled here, and say so on stderr."""
    from quadsim.warm import is_cold, warm

    if is_cold():
        warm(tell)


@contextmanager
def blocks_loading() -> Iterator[None]:
    """While control blocks are loaded; those that were never used are compiled, which is said when it takes longer."""
    words = (
        "preparing the control blocks; those not used before are compiled first, once for this version ..."
    )
    due = threading.Timer(PATIENCE_S, tell, [words])
    due.daemon = True
    due.start()
    try:
        yield
    finally:
        due.cancel()
