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
        from rich.console import Console
        from rich.progress import BarColumn, Progress, TextColumn, TimeRemainingColumn

        self.bar = Progress(
            TextColumn("{task.description}"),
            BarColumn(bar_width=32, style="dim", complete_style="blue", finished_style="blue"),
            TextColumn("{task.completed:.0f} of {task.total:.0f} s flown"),
            TimeRemainingColumn(),
            console=Console(stderr=True),
            transient=True,
        )
        self.bar.start()
        self.task = self.bar.add_task(self.title, total=duration_s)

    def __enter__(self) -> FlightProgress:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self.bar is not None:
            self.bar.stop()
