"""Viewer: watch a flight in a window, or make pictures of it without one. pygame loads on first use."""

from importlib import import_module
from typing import TYPE_CHECKING, Any

_HOMES = {
    "watch": "quadsim.viewer.app",
    "save_frames": "quadsim.viewer.frames",
    "render": "quadsim.viewer.frames",
    "LiveFlight": "quadsim.viewer.playback",
    "require_display": "quadsim.viewer.display",
}

if TYPE_CHECKING:
    from quadsim.viewer.app import watch
    from quadsim.viewer.display import require_display
    from quadsim.viewer.frames import render, save_frames
    from quadsim.viewer.playback import LiveFlight

__all__ = ["LiveFlight", "render", "require_display", "save_frames", "watch"]


def __getattr__(name: str) -> Any:
    if name not in _HOMES:
        raise AttributeError(
            f"module 'quadsim.viewer' has no attribute {name!r}; it has: {', '.join(sorted(_HOMES))}"
        )
    return getattr(import_module(_HOMES[name]), name)
