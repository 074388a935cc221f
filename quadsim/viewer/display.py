"""Is there a display to open a window on? Asked before anything slow is done; loads no pygame."""

from __future__ import annotations

import os
import sys

from quadsim.errors import InputError


def no_window(reason: str) -> InputError:
    """The error that says how to go on without a window."""
    return InputError(
        f"no window can be opened: {reason}. Make pictures instead: `quadsim watch RUN --frames FOLDER`, "
        "or in Python quadsim.viewer.save_frames(run, folder)"
    )


def require_display() -> None:
    """Raise InputError on a Linux without a desktop, where SDL would open a window that nobody sees."""
    asked = ("SDL_VIDEODRIVER", "DISPLAY", "WAYLAND_DISPLAY")
    if sys.platform.startswith("linux") and not any(os.environ.get(name) for name in asked):
        raise no_window("there is no display")
