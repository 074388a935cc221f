"""The sticks of an attempt as a file, to be flown again."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from quadsim.whole_file import whole_file

Row = tuple[float, float, float, float, float]


def write_sticks(rows: Sequence[Row], path: Path, about: str) -> Path:
    """Write sticks (t, roll, pitch, yaw, throttle), as `--sticks-from` reads them; of several at one time the last one counts.

    Raises
    ------
    FlightError
        when the file cannot be written.
    """
    last = {row[0]: row for row in rows}
    lines = [f"# {about}", "t_s,roll,pitch,yaw,throttle"]
    lines += [",".join(repr(float(value)) for value in last[t]) for t in sorted(last)]
    with whole_file(path) as part:
        path.parent.mkdir(parents=True, exist_ok=True)
        part.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return path
