"""How a craft answers, in the terminal: steps, disturbances, quickness, noise to the motors."""

from __future__ import annotations

from typing import TYPE_CHECKING

from quadsim.cli.out import say, say_prose
from quadsim.cli.table import Cell, Column, table
from quadsim.report.numbers import figure

if TYPE_CHECKING:
    from quadsim.analysis.motor_noise import MotorNoise
    from quadsim.analysis.responses import Quickness, Rejection, Responses, Step

LEGEND = (
    "Flown in the full simulation from hover, judged by the truth, without sensor noise and without the radio link's delay.",
    "rise: 10 to 90 % of what was asked for before any shaping; within: from when on it stays within 2 and 5 % of it;",
    "a bank held for longer leaves that band by the attitude estimate's error, which takes acceleration for gravity;",
    "back: from when on the error stays below a tenth of its peak; integral: of the error's size;",
    "limit: time with a motor command at its least or greatest; a dash: it never got there while it was flown;",
    "yaw answers twice: at once, by the rotors' own inertia as they speed up, and then by their drag;",
    "quickness: peak rate over peak change (ADS-33E-PRF sec. 3.3.3; helicopters' boundaries are not scaled to this size).",
)


def print_responses(seen: Responses) -> None:
    """Print all tables and what their columns mean."""
    say()
    say(f"How {seen.craft} answers" + (f" with {', '.join(seen.changes)}" if seen.changes else ""), "title")
    say()
    if seen.trouble:
        say(f"  {seen.trouble}", "bad")
        return
    say(_steps(seen.steps))
    say()
    say(_rejections(seen.rejections))
    say()
    say(_quickness(seen.quickness))
    say()
    _print_noise(seen.noise)
    say()
    say_prose(LEGEND, "soft")
    say("  A simulated pass is not a clearance to fly.", "soft")


def _steps(steps: tuple[Step, ...]) -> str:
    columns = [
        Column("step", words=True), Column("of"), Column("", words=True), Column("rise", "s"), Column("peak", "s"),
        Column("overshoot", "%"), Column("within 5 %", "s"), Column("within 2 %", "s"), Column("limit", "% time"),
        Column("", words=True),
    ]  # fmt: skip
    rows: list[list[str | Cell]] = []
    for one in steps:
        at = one.figures
        numbers = (at.rise_s, at.peak_s, at.overshoot_pct, at.settle_5_s, at.settle_2_s, one.limited_pct)
        rows.append(
            [one.name, f"{one.size:g}", one.trace.unit, *map(figure, numbers), Cell(one.trouble, "bad")]
        )
    return table(columns, rows)


def _rejections(disturbances: tuple[Rejection, ...]) -> str:
    columns = [
        Column("disturbance", words=True), Column("of"), Column("", words=True), Column("peak rate"), Column("peak"),
        Column("back", "s"), Column("integral"), Column("", words=True), Column("limit", "% time"), Column("", words=True),
    ]  # fmt: skip
    rows: list[list[str | Cell]] = []
    for one in disturbances:
        unit = one.trace.unit
        numbers = (one.peak_rate, one.peak, one.back_s, one.integral)
        rows.append(
            [
                one.name, figure(one.size), one.size_unit, *map(figure, numbers), f"{unit}/s, {unit}, {unit} s",
                figure(one.limited_pct), Cell(one.trouble, "bad"),
            ]
        )  # fmt: skip
    return table(columns, rows)


def _quickness(points: tuple[Quickness, ...]) -> str:
    columns = [
        Column("quickness", words=True), Column("asked", "deg"), Column("peak change", "deg"), Column("least held", "deg"),
        Column("peak rate", "deg/s"), Column("quickness", "1/s"),
    ]  # fmt: skip
    rows = [
        [
            one.axis, f"{one.asked_deg:g}",
            *map(figure, (one.peak_change_deg, one.least_change_deg, one.peak_rate_deg_s, one.per_s)),
        ]
        for one in points
    ]  # fmt: skip
    return table(columns, rows)


def _print_noise(noise: MotorNoise) -> None:
    if noise.trouble:
        say(f"  noise to the motors: {noise.trouble}", "bad")
        return
    say(
        f"  Sensor noise in hover: motor commands {figure(noise.command_pct, 2)} % rms, "
        f"currents {figure(noise.current_A, 2)} A rms, {figure(1e3 * noise.power_W, 2)} mW more "
        f"({figure(1e3 * noise.heat_W, 2)} mW of it heat in windings and ESCs),"
        f" windings {figure(noise.winding_C, 2)} deg C warmer"
    )
