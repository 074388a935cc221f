"""A flown flight in the terminal: how it ended, its verdicts, its figures, what happened when."""

from __future__ import annotations

from typing import TYPE_CHECKING

from quadsim.cli.out import counted, figure, say, styled
from quadsim.cli.table import Cell, Column, beside, table
from quadsim.simulation.metrics import METRICS

if TYPE_CHECKING:
    from quadsim.simulation.run import Run, Verdict

MOTION = (
    "max_height_m", "min_height_m", "height_rms_m", "max_speed_m_s", "drift_m", "max_tilt_deg", "max_rate_deg_s",
    "tracking_rms_deg", "estimate_error_deg",
)  # fmt: skip
DRIVE = (
    "max_motor_pct", "saturated_pct", "max_motor_A", "max_battery_A", "min_cell_V", "mean_power_W", "used_mAh",
    "final_charge_pct", "airborne_s",
)  # fmt: skip


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
    say(table((Column("at", "s"), Column("event", words=True)), [(f"{e.t_s:.2f}", e.text) for e in run.events]))
    say()
    say(_pace(run), "soft")
    _print_next(run, saved)


_VERDICT_COLUMNS = (
    Column("", words=True), Column("expected", words=True), Column("value"), Column("unit", words=True),
    Column("bound", words=True), Column("meaning", words=True, style="soft"),
)  # fmt: skip


def _verdict_row(verdict: Verdict) -> list[str | Cell]:
    mark = Cell("pass", "good") if verdict.ok else Cell("FAIL", "bad")
    if verdict.metric == "status":
        ended, _, allowed = verdict.bound.partition("; ")
        return [mark, "status", ended, "", allowed, "how the flight ended"]
    metric = METRICS[verdict.metric]
    return [mark, verdict.metric, figure(verdict.value), metric.unit, verdict.bound, metric.meaning]


def _figures(run: Run) -> str:
    """Figures of the motion and of the drive, side by side."""
    return beside(_block(run, "motion", MOTION), _block(run, "drive", DRIVE))


def _block(run: Run, title: str, names: tuple[str, ...]) -> str:
    rows = [[METRICS[n].meaning, figure(run.metrics[n]), METRICS[n].unit] for n in names if n in run.metrics]
    return table((Column(title, words=True), Column(""), Column("", words=True)), rows)


def _pace(run: Run) -> str:
    wall_s, steps = run.meta["wall_s"], run.meta["steps"]
    times = run.t_s[-1] / wall_s if wall_s > 0.0 and len(run) else 0.0
    speed = f"{times:.0f} times real time" if times >= 10.0 else f"{times:.1f} times real time"
    step_ms = 1e3 / run.meta["physics_rate_Hz"]
    return f"{counted(steps, 'step')} of {step_ms:g} ms ({run.meta['stepper']}) in {figure(wall_s)} s, {speed}"


def _print_next(run: Run, saved: bool) -> None:
    if run.path is not None:
        say(f"run file  {run.path}")
        say(f"see it    quadsim plot {run.path}   or   quadsim watch {run.path}", "soft")
    elif not saved:
        say("not kept (--no-save)", "soft")
    say("A simulated pass is not a clearance to fly.", "soft")
