"""Write a file whole or not at all."""

from __future__ import annotations

import contextlib
import os
from collections.abc import Iterator
from pathlib import Path

from quadsim.errors import FlightError


@contextlib.contextmanager
def whole_file(path: Path) -> Iterator[Path]:
    """A place beside `path` to write to; it becomes `path` at the end, so a kill leaves the old file or the new one.

    Raises
    ------
    FlightError
        when the folder cannot be written or the disk is full; the old file is kept.
    """
    part = path.with_name(f".{os.getpid()}.{path.name}")
    try:
        yield part
        os.replace(part, path)
    except OSError as error:
        reason = error.strerror or str(error).splitlines()[0]
        raise FlightError(
            f"{path} could not be written: {reason}. "
            "Name another place with --out, or free space; nothing that was there is lost"
        ) from None
    finally:
        with contextlib.suppress(OSError):
            part.unlink()
