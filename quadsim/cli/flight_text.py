"""A flown flight in the terminal: how it ended, its verdicts, its figures, what happened when."""

from __future__ import annotations

from typing import TYPE_CHECKING

from quadsim.cli.out import counted, say, styled
from quadsim.cli.table import Cell, Column, table
from quadsim.report.numbers import figure
from quadsim.simulation.metrics import METRICS

if TYPE_CHECKING:
    from quadsim.simulation.run import Run, Verdict

FIGURES = {
    "motion": ("max_height_m", "min_height_m", "height_rms_m", "max_speed_m_s", "drift_m", "airborne_s"),
    "attitude": (
        "max_tilt_deg",
        "max_rate_deg_s",
        "tracking_rms_deg",
        "estimate_error_deg",
        "max_motor_pct",
        "saturated_pct",
    ),
    "drive": ("max_motor_A", "max_battery_A", "mean_power_W", "min_cell_V", "used_mAh", "final_charge_pct"),
}
"""What is printed of every flight; `--json` and the run file have all metrics."""
PAYLOAD_FIGURES = ("max_swing_deg", "max_line_N", "load_impact_m_s", "load_drift_m")
"""What is printed besides when a load hung on a line or was let go."""


def print_flight(run: Run, saved: bool) -> None:
    """Print the whole report of a flight."""
    held = sum(verdict.ok for verdict in run.expectations)
    say()
    say(run.meta["title"], "title")
    say(f"{run.flight} with {run.craft}, seed {run.meta['seed']}", "soft")
    say()
    word = styled("PASS", "good") if run.passed else styled("FAIL", "bad")
    say(f"{word}  {run.status_text}; {held} of {len(run.expectations)} expectations hold")
    say()
    say(table(_VERDICT_COLUMNS, [_verdict_row(verdict) for verdict in run.expectations]))
    say()
    say(_figures(run))
    say()
    loose = [(name, figure(run.metrics[name])) for name in PAYLOAD_FIGURES if name in run.metrics]
    if loose:
        say(table((Column("payload", words=True), Column("")), loose))
        say()
    say(table((Column(""), Column("", words=True)), [(f"{e.t_s:.2f} s", e.text) for e in run.events]))
    say()
    say(_pace(run), "soft")
    _print_next(run, saved)


_VERDICT_COLUMNS = (
    Column("", words=True), Column("expected", words=True), Column("value"), Column("bound", words=True),
    Column("meaning", words=True, style="soft"),
)  # fmt: skip


def _verdict_row(verdict: Verdict) -> list[str | Cell]:
    mark = Cell("pass", "good") if verdict.ok else Cell("FAIL", "bad")
    if verdict.metric == "status":
        ended, _, allowed = verdict.bound.partition("; ")
        return [mark, "status", ended, allowed, "how the flight ended"]
    return [mark, verdict.metric, figure(verdict.value), verdict.bound, METRICS[verdict.metric].meaning]


def _figures(run: Run) -> str:
    """The figures in columns beside each other, under the names that an `expect` line uses."""
    heads = [column for title in FIGURES for column in (Column(title, words=True), Column(""), Column(""))][
        :-1
    ]
    rows = []
    for names in zip(*FIGURES.values(), strict=True):
        cells = [part for name in names for part in (name, figure(run.metrics.get(name)), "")]
        rows.append(cells[:-1])
    return table(heads, rows)


def _pace(run: Run) -> str:
    wall_s, steps = run.meta["wall_s"], run.meta["steps"]
    times = run.t_s[-1] / wall_s if wall_s > 0.0 and len(run) else 0.0
    speed = f"{times:.0f} times real time" if times >= 10.0 else f"{times:.1f} times real time"
    step_ms = 1e3 / run.meta["physics_rate_Hz"]
    return (
        f"{counted(steps, 'step')} of {step_ms:g} ms ({run.meta['stepper']}) in {figure(wall_s)} s, {speed}"
    )


def _print_next(run: Run, saved: bool) -> None:
    if run.path is not None:
        say(f"run file  {run.path}")
        say(f"see it    quadsim plot {run.path}   or   quadsim watch {run.path}", "soft")
    elif not saved:
        say("not kept (--no-save)", "soft")
    say("A simulated pass is not a clearance to fly.", "soft")
