"""Which response type is flown: the one asked for, unless a safety action takes its place."""

from __future__ import annotations

from controllers.contract import inner


@inner
def mode_in_force(s, craft, gains, memory):
    """The response type to fly (Mode), also left in `mode_in_force`; arms the motors."""
    s.armed = 1.0
    s.mode_in_force = s.mode
    return int(s.mode)
