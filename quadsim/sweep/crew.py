"""Processes that fly cases at the same time.

Rationale: between flights most of the work is Python, which threads of one process would do one at a time. A process is
started once, gets two cases ahead so that it never waits, and answers as each is flown. Where the system lets a process be
split (Linux, no other thread running) the helpers have all kernels in memory at once; elsewhere each loads them, about a
second.
"""

from __future__ import annotations

import multiprocessing
import os
import signal
import sys
import threading
import traceback
from collections import deque
from collections.abc import Iterator, Sequence
from multiprocessing.connection import Connection, wait
from typing import Any

from quadsim.errors import FlightError
from quadsim.sweep.base import Base
from quadsim.sweep.cases import Case
from quadsim.sweep.pilot import Flown, Pilot

AHEAD = 2
"""Cases that a process has at a time: one in the air, one waiting."""


def jobs_here() -> int:
    """Cores that this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def fly_cases(base: Base, cases: Sequence[Case], jobs: int) -> Iterator[Flown]:
    """Fly cases with so many processes; yields each as it ends, in any order.

    Closing the iterator, or Ctrl-C, ends the processes at once; flights in the air are lost.

    Raises
    ------
    FlightError
        when a process ended by itself.
    """
    jobs = min(jobs, len(cases))
    if jobs <= 1:
        pilot = Pilot(base)
        for case in cases:
            yield pilot.fly(case)
        return
    helpers: list[_Helper] = []
    try:
        for _ in range(jobs):
            helpers.append(_Helper(base, helpers))
        yield from _handed_out(helpers, deque(cases))
    finally:
        for helper in helpers:
            helper.end()


def _handed_out(helpers: Sequence[_Helper], left: deque[Case]) -> Iterator[Flown]:
    by_pipe = {helper.pipe: helper for helper in helpers}
    for helper in list(helpers) * AHEAD:
        if left:
            helper.send(left.popleft())
    while busy := [pipe for pipe, helper in by_pipe.items() if helper.flying]:
        for pipe in wait(busy):
            helper = by_pipe[pipe]
            flown = helper.answer()
            if left:
                helper.send(left.popleft())
            yield flown


class _Helper:
    """One process, and the pipe to it. flying : cases it has"""

    def __init__(self, base: Base, others: Sequence[_Helper]) -> None:
        method = start_method()
        context: Any = multiprocessing.get_context(method)
        self.pipe, far = context.Pipe()
        self.flying = 0
        # a process that is split off has our ends of the pipes, too: open there, they would hide that we are gone
        ours = [self.pipe, *(one.pipe for one in others)] if method == "fork" else []
        name = f"quadsim sweep {len(others) + 1}"
        self.process: Any = context.Process(target=work, args=(far, base, ours), name=name, daemon=True)
        self.process.start()
        far.close()

    def send(self, case: Case) -> None:
        try:
            self.pipe.send(case)
        except OSError:
            raise self._gone() from None
        self.flying += 1

    def answer(self) -> Flown:
        try:
            flown: Flown | str = self.pipe.recv()
        except (EOFError, OSError):
            raise self._gone() from None
        self.flying -= 1
        if isinstance(flown, str):
            raise RuntimeError(flown)
        return flown

    def _gone(self) -> FlightError:
        self.process.join(1.0)
        return FlightError(
            f"a process that flew ended by itself (exit code {self.process.exitcode}), perhaps for want of memory; what was "
            "flown is kept. Run the same command again with fewer --jobs"
        )

    def end(self) -> None:
        self.pipe.close()
        self.process.terminate()
        self.process.join(2.0)


def start_method() -> str:
    """How a process is started: split off where that is safe, else anew."""
    return "fork" if sys.platform == "linux" and threading.active_count() == 1 else "spawn"


def work(pipe: Connection, base: Base, not_ours: Sequence[Connection]) -> None:
    """What a helper does: fly what comes until the pipe ends. Ctrl-C is the first process's business."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    for one in not_ours:
        one.close()
    pilot = Pilot(base)
    try:
        while True:
            case = pipe.recv()
            try:
                pipe.send(pilot.fly(case))
            except Exception as error:  # noqa: BLE001 - the first process raises it
                pipe.send(_where(error))
    except (EOFError, OSError):
        return


def _where(error: Exception) -> str:
    """An error and the line it comes from."""
    last = traceback.extract_tb(error.__traceback__)[-1]
    return f"{type(error).__name__}: {error} ({last.filename.rsplit(os.sep, 1)[-1]}, line {last.lineno})"
