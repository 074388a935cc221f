"""What went wrong, said so that the reader can mend it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True)
class Problem:
    """One fault of an input: where it stands, what was given, what is allowed (with unit) and what to do."""

    where: str
    given: str
    allowed: str = ""
    remedy: str = ""

    def __str__(self) -> str:
        text = f"{self.where}: {self.given}" if self.where else self.given
        if self.allowed:
            text += f"; {self.allowed}"
        return f"{text}. {self.remedy}" if self.remedy else text


class QuadsimError(Exception):
    """Base of all errors meant for the user; the command line prints them without a traceback."""

    exit_code = 2


class InputError(QuadsimError):
    """Bad input: a file, a value or an option. Lists every problem found, not only the first.

    Parameters
    ----------
    problems : str or sequence of Problem
    source : str
        File or option the problems belong to; printed as the first line.
    """

    def __init__(self, problems: str | Sequence[Problem], source: str = "") -> None:
        self.problems = (Problem("", problems),) if isinstance(problems, str) else tuple(problems)
        self.source = source
        count = len(self.problems)
        head = f"{source}: {count} problem{'s' if count != 1 else ''}" if source else ""
        lines = [str(problem) for problem in self.problems]
        super().__init__("\n".join([head, *("  - " + line for line in lines)] if head else lines))


class FlightError(QuadsimError):
    """A flight could not be carried on (for example the run file could not be written)."""

    exit_code = 1
