"""`quadsim watch`: replay a run, or fly and watch at once; or make pictures without a window."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from quadsim.cli.options import Json
from quadsim.cli.out import INTERRUPTED, counted, print_json, say, tell
from quadsim.errors import InputError, Problem

if TYPE_CHECKING:
    from quadsim.simulation.run import Run


def command(
    what: Annotated[
        str, typer.Argument(help="A run file (.h5), or a flight to be flown live.", metavar="RUN|FLIGHT")
    ],
    craft: Annotated[
        str | None, typer.Option(help="Craft to fly instead of the flight's.", metavar="CRAFT")
    ] = None,
    seed: Annotated[int | None, typer.Option(min=0, help="Seed instead of the flight's.")] = None,
    size: Annotated[
        str, typer.Option(help="Width and height of the picture in pixels.", metavar="WIDTHxHEIGHT")
    ] = "1280x720",
    camera: Annotated[str, typer.Option(help="Where to look from: chase, fixed, onboard or top.")] = "chase",
    start_s: Annotated[
        float, typer.Option("--start-s", min=0.0, help="Begin at this time of a run [s].")
    ] = 0.0,
    frames: Annotated[
        Path | None,
        typer.Option(help="Write PNG pictures into this folder; needs no display.", metavar="DIR"),
    ] = None,
    count: Annotated[int | None, typer.Option(min=1, help="How many pictures [default: 12].")] = None,
    fps: Annotated[
        float | None, typer.Option(help="Pictures per second of flight instead of --count.")
    ] = None,
    device: Annotated[
        Path | None,
        typer.Option(
            help="Calibration of your radio or gamepad, as `quadsim sticks --calibrate` writes it.",
            metavar="FILE",
        ),
    ] = None,
    json_: Json = False,
) -> None:
    """Replay a run in the viewer, or fly a flight live with your own sticks.

    Space plays and pauses, H shows all keys. Where there is no display, --frames makes pictures.
    """
    from quadsim.cli.places import is_run

    shape = pixels(size)
    replay = is_run(what)
    if replay and (craft is not None or seed is not None):
        raise InputError("--craft and --seed belong to a flight that is flown live; a run has both inside")
    if json_ and frames is None:
        raise InputError("--json lists pictures; give --frames DIR with it")
    if frames is None:
        if count is not None or fps is not None:
            raise InputError("--count and --fps belong to --frames DIR")
        _watch(what, replay, craft, seed, shape, camera, start_s, device)
        return
    from quadsim.viewer import save_frames

    run = _run(what, replay, craft, seed)
    paths = save_frames(run, frames.expanduser(), size=shape, count=count, fps=fps, camera=camera)
    if json_:
        print_json({"flight": run.flight, "run_file": run.path, "frames": paths})
    else:
        say(f"{counted(len(paths), 'picture')} in {frames}")


def _watch(
    what: str,
    replay: bool,
    craft: str | None,
    seed: int | None,
    size: tuple[int, int],
    camera: str,
    start_s: float,
    device: Path | None,
) -> None:
    from quadsim.config.stick_device import load_device
    from quadsim.viewer import require_display, watch

    if replay and device is not None:
        raise InputError("--device belongs to a flight that is flown live; a run has its sticks inside")
    calibration = None if device is None else load_device(device.expanduser())

    require_display()
    if replay:
        from quadsim.simulation.run import load_run

        watch(load_run(what), size=size, camera=camera, start_s=start_s)
        return
    if start_s:
        raise InputError("--start-s belongs to a run; a live flight begins at its start")
    from quadsim.cli.kernels import prepare_kernels

    prepare_kernels()
    from quadsim.analysis.predicted_answer import Predictor
    from quadsim.simulation.live import LiveFlight

    live = LiveFlight(what, craft=craft, seed=seed)
    predictor = Predictor(live.craft, live.block_names)
    stopped = False
    try:
        watch(live, size=size, camera=camera, device=calibration, gains=live.gains, predictor=predictor)
    except KeyboardInterrupt:
        stopped = True  # what was tried is said all the same
    if lines := live.gains.craft_lines():
        say("gains changed in the flight; for the craft file:")
        for line in lines:
            say(f"    {line}")
    if stopped:
        tell("quadsim: stopped")
        raise typer.Exit(INTERRUPTED)


def _run(what: str, replay: bool, craft: str | None, seed: int | None) -> Run:
    """The run read from its file, or flown now."""
    if replay:
        from quadsim.simulation.run import load_run

        return load_run(what)
    from quadsim.cli.kernels import prepare_kernels

    prepare_kernels()
    from quadsim.simulation.fly import fly

    return fly(what, craft=craft, seed=seed)


def pixels(size: str) -> tuple[int, int]:
    """Width and height of a picture from text such as 1280x720."""
    found = re.fullmatch(r"(\d{1,5})[xX](\d{1,5})", size)
    if found is None:
        raise InputError(
            [Problem("--size", f"is {size!r}", "must be WIDTHxHEIGHT in pixels, such as 1280x720")]
        )
    return int(found[1]), int(found[2])
