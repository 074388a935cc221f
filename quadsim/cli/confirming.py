"""The flights behind `--flown`: shown as they go, and what is known kept when Ctrl-C ends them."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from typing import Any, Generic, TypeVar

from quadsim.cli.out import INTERRUPTED, tell
from quadsim.cli.progress import FlightProgress, FlightsProgress

One = TypeVar("One")


@dataclass
class Confirmed(Generic[One]):
    """What was flown of so many flights that were asked for."""

    asked: int = 0
    flights: list[One] = field(default_factory=list)

    @property
    def stopped(self) -> bool:
        return len(self.flights) < self.asked

    def document(self, of: Callable[[One], dict[str, Any]]) -> dict[str, Any]:
        """As JSON; nothing where nothing was asked for."""
        if not self.asked:
            return {}
        return {"flown": [of(one) for one in self.flights], "stopped": self.stopped}

    def status(self, agrees: Callable[[One], bool]) -> int:
        """The exit status, after a word on what Ctrl-C cut off: 0 all flown as predicted, 1 not as predicted."""
        if self.stopped:
            tell(f"quadsim: stopped; {len(self.flights)} of {self.asked} flights were flown")
            return INTERRUPTED
        return 0 if all(map(agrees, self.flights)) else 1


def confirm(
    bar: FlightProgress | FlightsProgress, asked: int, flown: Callable[[], Iterable[One]]
) -> Confirmed[One]:
    """Fly; flown : yields each flight once it is over, and may import what is compiled."""
    from quadsim.cli.kernels import prepare_kernels

    done: Confirmed[One] = Confirmed(asked)
    try:
        prepare_kernels()
        with bar:
            for one in flown():
                done.flights.append(one)
                bar.done = len(done.flights)
    except KeyboardInterrupt:
        pass
    return done
