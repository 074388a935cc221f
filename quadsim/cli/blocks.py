"""`quadsim blocks`: what can be put into the control chain, and whether a block of your own keeps the contract."""

from __future__ import annotations

import math
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from quadsim.cli.options import Json
from quadsim.cli.out import print_json, say, styled
from quadsim.cli.table import Cell, Column, table
from quadsim.report.numbers import figure

if TYPE_CHECKING:
    from controllers.check import Finding
    from controllers.contract import Block

Checked = list[tuple["Block", list["Finding"]]]


def command(
    file: Annotated[
        str | None,
        typer.Argument(
            help="Your file, or FILE.py:FUNCTION; the stock blocks if left out.", metavar="[FILE]"
        ),
    ] = None,
    slot: Annotated[
        str | None,
        typer.Option(
            help="Slot of a plain function: estimate, guide, attitude, rate or allocate.", metavar="SLOT"
        ),
    ] = None,
    new: Annotated[
        Path | None,
        typer.Option(
            "--new", help="Write a first law for --slot (rate if none) to this file.", metavar="FILE"
        ),
    ] = None,
    json_: Json = False,
) -> None:
    """List the control blocks with their gains, check the blocks in a file of yours, or begin a file.

    Exit status: 0 done and every check held, 1 a check did not hold, 2 bad input.
    """
    if new is not None:
        _begin(new, slot or "rate", json_)
        return
    from quadsim.cli.kernels import blocks_loading, prepare_kernels

    prepare_kernels()
    if file is None:
        with blocks_loading():
            import quadsim.jit  # noqa: F401  (it opens the cache folder first)
            from controllers.registry import stock_blocks

            blocks = stock_blocks()
        _list(blocks, json_)
        return
    from controllers.check import check_block

    checked = [(block, check_block(block)) for block in _blocks_in(file, slot)]
    conforms = all(finding.ok for _, findings in checked for finding in findings)
    if json_:
        print_json(
            {"file": file, "conforms": conforms, "blocks": [_checked_document(*one) for one in checked]}
        )
    else:
        _print_checked(file, checked)
    raise typer.Exit(0 if conforms else 1)


def _begin(path: Path, slot: str, json_: bool) -> None:
    from controllers.new_block import write_template

    written = write_template(path.expanduser(), slot)
    if json_:
        print_json({"file": written, "slot": slot, "function": f"my_{slot}"})
        return
    say(f"{written} holds my_{slot}, a law for slot {slot}. Check it, then fly it:")
    say(f"  quadsim blocks {written}")
    say(f"  quadsim fly hover --{slot} {written}:my_{slot}")


def _list(blocks: list[Block], json_: bool) -> None:
    from controllers.registry import DEFAULTS

    if json_:
        documents = [{**_document(block), "default": DEFAULTS[block.slot] == block.name} for block in blocks]
        print_json({"blocks": documents})
        return
    last = ""
    for block in blocks:
        if block.slot != last:
            say()
            say(block.slot, "title")
        last = block.slot
        flies = "  flies by default" if DEFAULTS[block.slot] == block.name else ""
        say(f"  {block.name}{styled(flies, 'good')}")
        if block.about:
            say(f"    {block.about}", "soft")
        if len(block.gains):
            say(_gains_table(block))
    say()
    say("Put one into a flight with --SLOT NAME, its gains into a craft file under [gains.SLOT].", "soft")
    say(
        "A block of your own: quadsim blocks --new FILE.py begins it, quadsim blocks FILE.py checks it, "
        "--rate FILE.py:FUNCTION flies it.",
        "soft",
    )


def _gains_table(block: Block) -> str:
    columns = (
        Column("gain", words=True),
        Column("default"),
        Column("unit", words=True),
        Column("least"),
        Column("greatest"),
    )
    rows = [[g.name.lower(), figure(g.default), g.unit, _bound(g.low), _bound(g.high)] for g in block.gains]
    return table(columns, rows, indent=4)


def _bound(value: float) -> str:
    return f"{value:g}" if math.isfinite(value) else "any"


def _document(block: Block) -> dict[str, Any]:
    gains = [
        {"name": g.name.lower(), "unit": g.unit, "default": g.default, "low": g.low, "high": g.high}
        for g in block.gains
    ]
    return {
        "slot": block.slot,
        "name": block.name,
        "about": block.about,
        "memory": block.memory,
        "gains": gains,
    }


def _checked_document(block: Block, findings: list[Finding]) -> dict[str, Any]:
    compiled = block.compiled is not None
    return {**_document(block), "compiled": compiled, "findings": [vars(finding) for finding in findings]}


def _blocks_in(file: str, slot: str | None) -> list[Block]:
    """The blocks that `file` names: all that it declares, or the one function named."""
    from controllers.contract import SLOTS
    from controllers.explain import BlockError
    from controllers.registry import blocks_of, load_block, load_file

    path, _, name = file.rpartition(":") if ".py:" in file else (file, "", "")
    module = load_file(Path(path).expanduser())
    declared = blocks_of(module)
    if name and slot is None:
        found = [block for block in declared if name in (block.name, block.function.__name__)]
        if found:
            return found
    if name and slot is not None:
        return [load_block(file, slot).block]
    if not name and declared:
        return declared
    what = f"{path} declares no block {name!r}" if name else f"{path} declares no block"
    raise BlockError(
        f"{what}; put @block(SLOT) of controllers over the function, with SLOT one of {', '.join(SLOTS)}, "
        f"or check a plain function with quadsim blocks {path}:{name or 'FUNCTION'} --slot SLOT"
    )


def _print_checked(file: str, checked: Checked) -> None:
    columns = (Column("", words=True), Column("question", words=True), Column("answer", words=True))
    for block, findings in checked:
        say()
        word = styled("PASS", "good") if all(f.ok for f in findings) else styled("FAIL", "bad")
        say(
            f"{word}  {styled(block.name, 'title')}, a {block.slot} block of {file.rpartition(':')[0] or file}"
        )
        if block.compiled is None:
            say("      a plain Python function: it flies slowly, and nothing of it is compiled", "caution")
        say()
        say(
            table(
                columns,
                [
                    [Cell("pass", "good") if f.ok else Cell("FAIL", "bad"), f.name, f.message]
                    for f in findings
                ],
            )
        )
        if len(block.gains):
            say()
            say(_gains_table(block))
    say()
