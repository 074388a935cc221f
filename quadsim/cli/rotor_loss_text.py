"""What becomes of a craft that loses a rotor, in the terminal."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from quadsim.cli.out import say
from quadsim.cli.table import Cell, Column, table

if TYPE_CHECKING:
    from quadsim.analysis.rotor_loss import RotorLoss

_COLUMNS = (
    Column("lost", words=True),
    Column("answer", words=True),
    Column("lasts", "s"),
    Column("sink", "m/s"),
    Column("spin", "deg/s"),
    Column("gyro", words=True),
)


def print_lost_rotors(name: str, found: list[RotorLoss]) -> None:
    """Print what each rotor's loss comes to."""
    say()
    say(f"{name}: one rotor lost in hover at 60 m, still air", "title")
    say()
    rows: list[list[str | Cell]] = []
    for one in found:
        falls = one.answer == "falls"
        words = f"falls at {one.sink_m_s:.0f} m/s" if falls else one.answer
        look = {"falls": "bad", "controllable": "good", "unknown": "caution"}[one.answer]
        rows.append(
            [
                one.rotor.replace("_", " "), Cell(words, look), f"{one.lasts_s:.1f}", f"{one.sink_m_s:.1f}",
                f"{one.spin_deg_s:.0f}", "beyond its range" if one.gyro_saturates else "within its range",
            ]
        )  # fmt: skip
    say(table(_COLUMNS, rows))
    say(f"  {found[0].reason}", "soft")
    if found[0].answer == "falls":
        soon = found[0].soon_enough_ms
        held = "no time to find it that was tried would hold it"
        say(f"  {held if soon is None else f'found within {soon:.0f} ms it would be held, spinning'}", "soft")
    say()
    say("  lasts: until the ground, or the end of the 10 s flown; sink: fastest on the way down", "soft")
    say(
        "  Simulated with the craft's own laws and an assumed time to find the loss. Keep people away from below.",
        "soft",
    )


def rotor_loss_document(found: list[RotorLoss]) -> dict[str, Any]:
    """What `--json` adds: the worst rotor, and all of them."""
    every = [vars(one) | {"detection_ms": _or_none(one.detection_ms)} for one in found]
    return {"rotor_loss": every[0] | {"rotors": every}}


def _or_none(value: float) -> float | None:
    return value if math.isfinite(value) else None
