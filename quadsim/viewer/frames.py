"""Pictures of a run without a window."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np

from quadsim.errors import FlightError, InputError
from quadsim.simulation.run import Run
from quadsim.viewer.canvas import Canvas, new_canvas
from quadsim.viewer.track import Track
from quadsim.viewer.view import Outlook, View

MOST_FRAMES = 20_000


def render(run: Run, t_s: float, size: tuple[int, int] = (1280, 720), camera: str = "chase") -> Canvas:
    """The picture of a run at `t_s` [s]."""
    track = _track(run)
    view = View(track, size, camera)
    canvas = new_canvas(view.layout.size, view.layout.scale)
    _draw(canvas, view, min(max(t_s, 0.0), track.end_s), camera)
    return canvas


def save_frames(
    run: Run, folder: str | Path, *, size: tuple[int, int] = (1280, 720), times: Sequence[float] | None = None,
    count: int | None = None, fps: float | None = None, camera: str = "chase",
) -> list[Path]:  # fmt: skip
    """Write PNG pictures of a run; needs neither a display nor a window.

    Parameters
    ----------
    times : times of the pictures [s]; or
    fps : pictures per second of flight; or
    count : so many pictures from start to end (12 when nothing is said)

    Returns
    -------
    list of Path
        frame_0000.png and so on, in order of time.

    Raises
    ------
    InputError
        for a size, time, camera or number that is not allowed.
    FlightError
        when the folder cannot be written.
    """
    track = _track(run)
    chosen = _times(track, times, count, fps)
    view = View(track, size, camera)
    folder = frame_folder(Path(folder))
    canvas = new_canvas(view.layout.size, view.layout.scale)
    paths = []
    for k, t_s in enumerate(chosen):
        _draw(canvas, view, t_s, camera)
        paths.append(folder / f"frame_{k:04d}.png")
        canvas.save(paths[-1])
    return paths


def frame_folder(folder: Path) -> Path:
    """The folder, made if need be."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise FlightError(
            f"the folder {folder} cannot be made: {error.strerror}. Choose another place"
        ) from None
    return folder


def _draw(canvas: Canvas, view: View, t_s: float, camera: str) -> None:
    view.draw(canvas, t_s, Outlook(camera=camera))


def _track(run: Run) -> Track:
    if len(run) == 0:
        raise InputError("this run has no rows, so there is nothing to draw; fly the flight again")
    return Track(run)


def _times(track: Track, times: Sequence[float] | None, count: int | None, fps: float | None) -> list[float]:
    if sum(option is not None for option in (times, count, fps)) > 1:
        raise InputError("times, count and fps were given together; give one of them")
    if times is not None:
        bad = [t for t in times if not 0.0 <= t <= track.end_s + 1e-6]
        if bad:
            raise InputError(
                f"the time {bad[0]:g} s is not in the flight; must be from 0 to {track.end_s:g} s"
            )
        return [float(t) for t in times]
    if fps is not None:
        most = MOST_FRAMES / max(track.end_s, 1e-3)
        if not 0.0 < fps <= most:
            raise InputError(
                f"fps is {fps:g}; must be above 0 and at most {most:.0f} pictures per second here"
            )
        return [float(t) for t in np.arange(0.0, track.end_s + 1e-9, 1.0 / fps)]
    wanted = 12 if count is None else count
    if not 1 <= wanted <= MOST_FRAMES:
        raise InputError(f"count is {wanted}; must be from 1 to {MOST_FRAMES} pictures")
    return [float(t) for t in np.linspace(0.0, track.end_s, wanted)] if wanted > 1 else [track.end_s]
