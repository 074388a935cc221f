"""A bar for flights that take longer than a moment."""

from __future__ import annotations

import sys
import time
from types import TracebackType
from typing import Any

QUIET_S = 1.0
"""Wall time after which the bar shows [s]."""


class FlightProgress:
    """Call it with the session between chunks; it draws on stderr, and only where somebody is looking."""

    def __init__(self, title: str) -> None:
        self.title = title
        self.begun = time.perf_counter()
        self.bar: Any = None
        self.task: Any = None

    def __call__(self, session: Any) -> None:
        if self.bar is None:
            if time.perf_counter() - self.begun < QUIET_S or not sys.stderr.isatty():
                return
            self._open(session.flight.duration_s)
        self.bar.update(self.task, completed=session.t_s)

    def _open(self, duration_s: float) -> None:
        self.bar = make_bar("{task.completed:.0f} of {task.total:.0f} s flown")
        self.task = self.bar.add_task(self.title, total=duration_s)

    def __enter__(self) -> FlightProgress:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self.bar is not None:
            self.bar.stop()


class FlightsProgress:
    """The same for many flights one after the other: one bar over all of them."""

    def __init__(self, total: int) -> None:
        self.total = total
        self.done = 0
        self.begun = time.perf_counter()
        self.bar: Any = None
        self.task: Any = None

    def __call__(self, title: str, session: Any) -> None:
        """A flight goes on."""
        if self.bar is None:
            if time.perf_counter() - self.begun < QUIET_S or not sys.stderr.isatty():
                return
            self.bar = make_bar("{task.completed:.1f} of {task.total} flights")
            self.task = self.bar.add_task(title, total=self.total)
        completed = self.done + min(session.t_s / session.flight.duration_s, 1.0)
        self.bar.update(self.task, description=title, completed=completed)

    def __enter__(self) -> FlightsProgress:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self.bar is not None:
            self.bar.stop()


class CountProgress:
    """The same for work that is counted: call it with how much is done and what comes next."""

    def __init__(self, total: int, unit: str) -> None:
        self.total, self.unit = total, unit
        self.begun = time.perf_counter()
        self.bar: Any = None
        self.task: Any = None

    def __call__(self, done: float, title: str) -> None:
        if self.bar is None:
            if time.perf_counter() - self.begun < QUIET_S or not sys.stderr.isatty():
                return
            self.bar = make_bar(f"{{task.completed:.0f}} of {{task.total:.0f}} {self.unit}")
            self.task = self.bar.add_task(title, total=self.total)
        self.bar.update(self.task, description=title, completed=done)

    def __enter__(self) -> CountProgress:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self.bar is not None:
            self.bar.stop()


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
