"""The command `quadsim`: its subcommands, and the one place where errors turn into a sentence and an exit status.

Exit status: 0 done; 1 the flight or check failed its expectations, or a result could not be written; 2 bad input;
3 an error of quadsim itself; 130 stopped by Ctrl-C, after printing what was known by then.
"""

from __future__ import annotations

import difflib
import os
import sys
from collections.abc import Callable
from typing import Annotated, Any

import typer
from typer.core import TyperGroup

from quadsim import __version__
from quadsim.cli import (
    blocks,
    card,
    choose,
    compare,
    dash,
    export,
    fly,
    hover,
    inspect_craft,
    lap,
    laws,
    lift,
    margins,
    measure,
    pilot,
    plot,
    report,
    responses,
    setout,
    sticks,
    sweep,
    tune,
    watch,
)
from quadsim.cli.asked import Command
from quadsim.cli.out import INTERRUPTED
from quadsim.cli.summaries import SUMMARIES
from quadsim.errors import QuadsimError

HELP = """Build, fly and judge a quadrotor that has not been built yet: from a craft file and a flight file to a verdict.

Caution: a simulated pass is not a clearance to fly. Try a real craft without propellers first, then low and far from people.

Exit status: 0 done, 1 a flight or check failed its expectations, 2 bad input,
130 stopped by Ctrl-C."""

OWN_FAULT = 3


class _Commands(TyperGroup):
    """The commands; a name that is none of them lists them all and the nearest. `help NAME` is `NAME --help`."""

    def parse_args(self, ctx: Any, args: list[str]) -> list[str]:
        if args and args[0] == "help":
            args = [*args[1:2], "--help"]
        return super().parse_args(ctx, args)

    def resolve_command(self, ctx: Any, args: list[str]) -> Any:
        names = list(self.commands)
        if args and args[0] not in names and not args[0].startswith("-"):
            near = difflib.get_close_matches(args[0], names, 1)
            nearest = f"; nearest: {near[0]}" if near else ""
            ctx.fail(f"there is no command {args[0]!r}; commands are {', '.join(names)}{nearest}")
        return super().resolve_command(ctx, args)

    def invoke(self, ctx: Any) -> Any:
        try:
            return super().invoke(ctx)
        except KeyboardInterrupt:  # typer itself would end without a word
            raise typer.Exit(_complain("stopped before there was an answer", INTERRUPTED)) from None


app = typer.Typer(
    cls=_Commands,
    help=HELP,
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
)


def _print_version(wanted: bool) -> None:
    if wanted:
        typer.echo(f"quadsim {__version__}")
        raise typer.Exit()


@app.callback()
def _options(
    version: Annotated[
        bool, typer.Option("--version", callback=_print_version, is_eager=True, help="Print the version.")
    ] = False,
) -> None:
    pass


_COMMANDS: dict[str, Callable[..., None]] = {
    "fly": fly.command,
    "watch": watch.command,
    "plot": plot.command,
    "export": export.command,
    "inspect": inspect_craft.command,
    "lift": lift.command,
    "dash": dash.command,
    "hover": hover.command,
    "lap": lap.command,
    "margins": margins.command,
    "tune": tune.command,
    "sticks": sticks.command,
    "blocks": blocks.command,
    "laws": laws.command,
    "responses": responses.command,
    "sweep": sweep.command,
    "card": card.command,
    "choose": choose.command,
    "measure": measure.command,
    "report": report.command,
    "setout": setout.command,
    "compare": compare.command,
    "pilot": pilot.command,
}
for _name, _command in _COMMANDS.items():
    app.command(_name, cls=Command, short_help=SUMMARIES.get(_name), no_args_is_help=_name != "blocks")(
        _command
    )


def main(arguments: list[str] | None = None) -> int:
    """Run the command that `arguments` (those of the process when None) name; returns the exit status."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")  # a console that lacks a sign must not end a flight
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # threads for small products cost many times the work
    try:
        app(args=arguments, prog_name="quadsim")
    except SystemExit as end:
        if end.code == INTERRUPTED:
            _keep_status()
        return end.code if isinstance(end.code, int) else int(end.code is not None)
    except Exception as error:
        if os.environ.get("QUADSIM_DEBUG") == "1":
            raise
        return _explain(error)
    return 0


def _keep_status() -> None:
    """Let the process end with our status after Ctrl-C.

    CPython notes a KeyboardInterrupt that leaves an exec() of text, as libraries use while they are imported, and kills the
    process by SIGINT at its end, handled or not; the next exec() takes the note back (run_eval_code_obj in pythonrun.c).
    """
    exec("pass")


def _explain(error: Exception) -> int:
    from controllers.explain import BlockError

    if isinstance(error, QuadsimError):
        return _complain(str(error), error.exit_code)
    if isinstance(error, BlockError):
        return _complain(str(error), 2)
    if isinstance(error, MemoryError):
        return _complain(
            "there is not enough memory for this; fly a shorter flight or log fewer rows (log_rate_Hz)", 2
        )
    last = error.__traceback__
    while last is not None and last.tb_next is not None:
        last = last.tb_next
    place = f" ({os.path.basename(last.tb_frame.f_code.co_filename)}, line {last.tb_lineno})" if last else ""
    text = f"this is an error of quadsim itself: {type(error).__name__}: {error}{place}. "
    return _complain(
        text + "Set QUADSIM_DEBUG=1 to see where it comes from, and report it with that text", OWN_FAULT
    )


def _complain(text: str, status: int) -> int:
    typer.echo(f"quadsim: {text}", err=True)
    return status
