"""Bars for work that takes longer than a moment."""

from __future__ import annotations

import sys
import time
from types import TracebackType
from typing import Any, Self

QUIET_S = 1.0
"""Wall time after which the bar shows [s]."""


class _Bar:
    """A bar on stderr, once the work has taken a moment, and only where somebody is looking.

    counted : says what has been done of how much, in rich's column format
    """

    def __init__(self, counted: str, total: float | None = None) -> None:
        self.counted, self.total = counted, total
        self.begun, self.done = time.perf_counter(), 0
        self.bar: Any = None
        self.task: Any = None

    def show(self, title: str, completed: float, total: float | None = None) -> None:
        """So much is done; total : where it is known only now."""
        if self.bar is None:
            if time.perf_counter() - self.begun < QUIET_S or not sys.stderr.isatty():
                return
            self.bar = make_bar(self.counted)
            self.task = self.bar.add_task(title, total=self.total if total is None else total)
        self.bar.update(self.task, description=title, completed=completed)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self.bar is not None:
            self.bar.stop()


class FlightProgress(_Bar):
    """Of one flight; call it with the session between chunks."""

    def __init__(self, title: str) -> None:
        super().__init__("{task.completed:.0f} of {task.total:.0f} s flown")
        self.title = title

    def __call__(self, session: Any) -> None:
        self.show(self.title, session.t_s, session.flight.duration_s)


class FlightsProgress(_Bar):
    """Of many flights one after the other: one bar over all of them."""

    def __init__(self, total: int) -> None:
        super().__init__("{task.completed:.1f} of {task.total} flights", total)

    def __call__(self, title: str, session: Any, longest_s: float | None = None) -> None:
        """A flight goes on; longest_s : what it takes, where it ends before the time in its file [s]."""
        whole = session.flight.duration_s if longest_s is None else longest_s
        self.show(title, self.done + min(session.t_s / whole, 1.0))


class CountProgress(_Bar):
    """Of work that is counted: call it with how much is done and what comes next."""

    def __init__(self, total: int, unit: str) -> None:
        super().__init__(f"{{task.completed:.0f}} of {{task.total:.0f}} {unit}", total)

    def __call__(self, done: float, title: str) -> None:
        self.show(title, done)


class StagesProgress(_Bar):
    """Of stages that come one after the other, each with a count of its own."""

    def __init__(self) -> None:
        super().__init__("{task.completed:.0f} of {task.total:.0f}")

    def __call__(self, stage: str, done: float, total: float) -> None:
        self.show(stage, done, total)
        if self.bar is not None:
            self.bar.update(self.task, total=total)


def make_bar(counted: str) -> Any:
    """A bar of rich, running; `counted` says what has been done of how much."""
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn, TimeRemainingColumn

    bar = Progress(
        TextColumn("{task.description}"),
        BarColumn(bar_width=32, style="dim", complete_style="blue", finished_style="blue"),
        TextColumn(counted),
        TimeRemainingColumn(),
        console=Console(stderr=True),
        transient=True,
    )
    bar.start()
    return bar
