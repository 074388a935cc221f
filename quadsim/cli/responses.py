"""`quadsim responses`: how a craft answers steps, torques, a gust and its sensors' noise."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from quadsim.cli.options import Json
from quadsim.cli.out import print_json, say
from quadsim.cli.places import picture_place

if TYPE_CHECKING:
    from quadsim.analysis.responses import Responses


def command(
    craft: Annotated[
        str, typer.Argument(help="Path of a craft file, or the name of a shipped craft.", metavar="CRAFT")
    ],
    payload_g: Annotated[
        float | None,
        typer.Option(
            "--payload-g", min=1.0, max=20000.0, help="With a box of this mass below the frame [g]."
        ),
    ] = None,
    charge_pct: Annotated[
        float, typer.Option("--charge-pct", min=1.0, max=100.0, help="State of charge of the pack [%].")
    ] = 100.0,
    set_: Annotated[
        list[str] | None,
        typer.Option("--set", help="A gain that is different; may be repeated.", metavar="SLOT.GAIN=VALUE"),
    ] = None,
    plot: Annotated[bool, typer.Option("--plot", help="Draw all answers over time.")] = False,
    out: Annotated[
        Path | None,
        typer.Option(
            help="Picture to draw: .png, .pdf or .svg [default: CRAFT_responses.png].", metavar="FILE"
        ),
    ] = None,
    json_: Json = False,
) -> None:
    """Fly steps of rate, attitude and height, torques and a gust from outside, and hover with and without sensor noise.

    Rise, overshoot, settling, rejection, attitude quickness, noise to the motors, time at the motors' limits.

    Exit status: 0 everything was flown, 1 the craft cannot hover, 2 bad input.
    """
    from quadsim.analysis.responses import responses
    from quadsim.cli.kernels import prepare_kernels
    from quadsim.config import load_craft
    from quadsim.config.loose_load import payload_of

    picture = picture_place(craft, out, "_responses") if plot or out else None
    checked = load_craft(craft)
    prepare_kernels()
    seen = responses(
        checked, loads=payload_of((payload_g or 0.0) / 1000.0), charge=charge_pct / 100.0, changes=set_ or ()
    )
    if picture:
        from quadsim.report.responses_plot import draw_responses

        draw_responses(seen, picture)
    if json_:
        print_json(_document(seen) | ({"figure": picture} if picture else {}))
    else:
        from quadsim.cli.responses_text import print_responses

        print_responses(seen)
        if picture:
            say(f"drawn in {picture}")
    raise typer.Exit(1 if seen.trouble else 0)


def _document(seen: Responses) -> dict[str, Any]:
    """What `--json` prints; the traces stay out."""
    return {
        "craft": seen.craft,
        "changes": seen.changes,
        "trouble": seen.trouble,
        "steps": [_plain(one, one.trace.unit) for one in seen.steps],
        "disturbances": [_plain(one, one.trace.unit) for one in seen.rejections],
        "quickness": [asdict(one) | {"per_s": one.per_s} for one in seen.quickness],
        "noise": asdict(seen.noise),
    }


def _plain(one: Any, unit: str) -> dict[str, Any]:
    values = {key: value for key, value in vars(one).items() if key not in ("trace", "figures")}
    return values | (asdict(one.figures) if hasattr(one, "figures") else {}) | {"unit": unit}
