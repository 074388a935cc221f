"""Aids for training; each can be turned off on its own."""

from __future__ import annotations

from dataclasses import dataclass, replace

AIDS = {
    "marker": "next gate marked",
    "ghost": "ghost",
    "slow": "slow motion",
    "calm": "wind off",
    "forgiving": "soft ground, crashes set back 2 s",
}
"""Name -> what it does, in words."""


@dataclass(frozen=True)
class Aids:
    """Which aids are on."""

    marker: bool = True
    ghost: bool = True
    slow: bool = False
    calm: bool = False
    forgiving: bool = False

    def toggled(self, name: str) -> Aids:
        """With one aid the other way."""
        return replace(self, **{name: not getattr(self, name)})

    def helping(self, windy: bool) -> tuple[str, ...]:
        """Aids that change the flight itself, so that a lap with them is no best lap: none of the marks in the picture do."""
        return tuple(
            name
            for name in ("slow", "calm", "forgiving")
            if getattr(self, name) and (windy or name != "calm")
        )
