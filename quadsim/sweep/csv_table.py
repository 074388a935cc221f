"""A sweep as comma-separated values (RFC 4180): one row for each flight, what was varied, how it ended, its figures."""

from __future__ import annotations

import csv
import math
from pathlib import Path

from quadsim.sweep.outcome import Outcome
from quadsim.whole_file import whole_file


def header(outcome: Outcome) -> list[str]:
    """Names of the columns."""
    sweep = outcome.sweep
    varied = [key.name for axis in sweep.axes for key in axis.keys] + [one.key.name for one in sweep.drawn]
    return ["flight", "seed", "craft", "law", *varied, "status", "passed", "missed", *_labels(outcome)]


def rows(outcome: Outcome) -> list[list[str]]:
    """One row for each flight that was flown or refused, in order; nine significant digits, empty where there is no figure."""
    refused = {one.number: one for one in outcome.refused}
    found = []
    for case in outcome.sweep.cases:
        one = outcome.judged.get(case.number)
        if one is None and case.number not in refused:
            continue
        row = [str(case.number), str(case.seed), case.cell.craft, case.cell.law]
        row += [_number(value) for _, value in case.changes]
        if one is None:
            row += [
                "refused",
                "",
                refused[case.number].words.replace("\n", " "),
                *[""] * len(_labels(outcome)),
            ]
        else:
            row += [one.flown.status, str(int(one.passed)), "; ".join(one.failed)]
            row += [_number(one.flown.figures[label]) for label in _labels(outcome)]
        found.append(row)
    return found


def write_csv(outcome: Outcome, path: Path) -> None:
    """Write the file. A kill leaves the old file or the new one.

    Raises
    ------
    FlightError
        when the folder cannot be written or the disk is full.
    """
    with whole_file(path) as part, part.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(header(outcome))
        writer.writerows(rows(outcome))


def _labels(outcome: Outcome) -> list[str]:
    return [asked.label for asked in outcome.sweep.base.asked]


def _number(value: object) -> str:
    if isinstance(value, float):
        return f"{value:.9g}" if math.isfinite(value) else ""
    return str(value)
