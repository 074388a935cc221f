"""A flight flown live: the viewer asks for the next fraction of a second and may hold the sticks."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cached_property

from controllers.signals import Mode
from quadsim.config import Craft
from quadsim.config.flight_schema import FlightFile
from quadsim.simulation.carried import COMMAND_FIELDS
from quadsim.simulation.fly import finish, snapshot, start
from quadsim.simulation.live_gains import LiveGains
from quadsim.simulation.run import Run

_STICK = COMMAND_FIELDS.index("roll")


class LiveFlight:
    """A flight in progress for the viewer. The timeline of the file goes on until the sticks are taken.

    Parameters
    ----------
    flight, craft, seed, blocks : as for `fly`
    """

    def __init__(
        self,
        flight: FlightFile | str,
        *,
        craft: Craft | str | None = None,
        seed: int | None = None,
        blocks: Mapping[str, str] | None = None,
    ) -> None:
        self._session = start(flight, craft=craft, seed=seed, blocks=blocks)
        self._wall_s = 0.0
        self._owed = 0.0

    def advance(self, duration_s: float) -> None:
        """Fly on by `duration_s` of flight time; fractions of a tick are owed to the next call."""
        self._owed += duration_s / self.time_step_s
        ticks = int(self._owed)
        self._owed -= ticks
        self._session.advance(ticks)

    def set_sticks(self, roll: float, pitch: float, yaw: float, throttle: float) -> None:
        """Hold the sticks from now on: roll, pitch, yaw -1..1, throttle 0..1."""
        table = self._session.commands
        table[self._row() :, _STICK : _STICK + 4] = roll, pitch, yaw, throttle

    def set_mode(self, mode: Mode | int) -> None:
        """Response type from now on."""
        self._session.commands[self._row() :, 0] = Mode(mode)

    def _row(self) -> int:
        """First row of the command table that has not been read."""
        session = self._session
        interval = int(session.clock.command_every)
        return min(-(-int(session.carried.tick) // interval), session.commands.shape[0] - 1)

    @cached_property
    def gains(self) -> LiveGains:
        """The gains, to be looked at and changed."""
        return LiveGains(self._session)

    @property
    def craft(self) -> Craft:
        """The craft that is flown."""
        return self._session.craft

    @property
    def block_names(self) -> dict[str, str]:
        """What flies in each slot, as it was asked for."""
        return dict(self._session.chosen)

    @property
    def run(self) -> Run:
        """The flight so far; once finished, judged as `fly` would."""
        return finish(self._session, self._wall_s) if self.finished else snapshot(self._session)

    @property
    def finished(self) -> bool:
        """True once the flight has ended."""
        return self._session.finished

    @property
    def t_s(self) -> float:
        """Time of the next tick [s]."""
        return self._session.t_s

    @property
    def time_step_s(self) -> float:
        """The physics step [s]."""
        return self._session.h
