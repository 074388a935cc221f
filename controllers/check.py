"""Conformance check of a block: what it writes, whether it stays finite and repeatable, what it costs, in words."""

from __future__ import annotations

import time
from functools import cache

import numpy as np

from controllers.bench import Bench, Finding, example_craft, hovering_signals, not_finite, random_signals
from controllers.check_gains import check_gains
from controllers.check_limits import check_limits
from controllers.contract import JIT, MEMORY_SIZE, SLOTS, Block, as_block, chain, kernel
from controllers.python_block import OUTPUTS
from controllers.signals import SIGNALS, SIGNALS_TABLE, rows

DRAWS = 60


def check_block(block: Block) -> list[Finding]:
    """Ask a block all questions of the contract.

    Returns
    -------
    list of Finding, in a fixed order; the block conforms if all are `ok`
    """
    bench = Bench(block)
    names = ", ".join(block.function.__code__.co_varnames[:4])
    findings = [
        Finding("signature", block.function.__code__.co_argcount == 4, f"takes ({names})"),
        check_gains(block),
    ]
    try:
        with np.errstate(all="ignore"):  # a division by zero is found by its result
            findings += [
                _check_writes(bench), _check_finite(bench), _check_gain_bounds(bench),
                check_limits(bench), _check_repeat(bench), check_memory(bench), _check_cost(bench),
            ]  # fmt: skip
    except Exception as error:  # noqa: BLE001
        findings.append(
            Finding("runs", False, f"raised {type(error).__name__}: {error}; a block must never raise")
        )
    return findings


def _later_outputs(block: Block) -> tuple[str, ...]:
    """Signals of the block's slot and of the later ones, which it may serve too."""
    return tuple(name for place in SLOTS[SLOTS.index(block.slot) :] for name in OUTPUTS[place])


def written_signals(block: Block) -> set[str]:
    """Names of the signals that a block writes: those that it changes in any of many draws."""
    bench, generator, written = Bench(block), np.random.default_rng(1), set[str]()
    for _ in range(DRAWS):
        before = random_signals(generator)
        after, _ = bench.run(before, times=1)
        written |= {s.name for s in SIGNALS_TABLE if np.any(after[s.name] != before[s.name])}
    return written


def _check_writes(bench: Bench) -> Finding:
    """Later slots may be served too."""
    names, written = [s.name for s in SIGNALS_TABLE], written_signals(bench.block)
    slot, allowed = bench.block.slot, set(_later_outputs(bench.block))
    listed = ", ".join(n for n in names if n in written) or "nothing"
    if written - allowed:
        wrong = ", ".join(n for n in names if n in written - allowed)
        own = ", ".join(OUTPUTS[slot])
        return Finding(
            "writes", False, f"writes {wrong}, which is not for slot {slot} to write; it may write {own}"
        )
    if not written:
        own = ", ".join(OUTPUTS[slot])
        return Finding(
            "writes", True, f"writes nothing: it stands idle, and a block before it must write {own}"
        )
    return Finding("writes", True, f"writes {listed}")


def _check_finite(bench: Bench) -> Finding:
    generator, outputs = np.random.default_rng(2), _later_outputs(bench.block)
    draws = [rows(SIGNALS)[0]]
    draws += [random_signals(generator, scale) for scale in (0.1, 1.0, 30.0, 1e6) for _ in range(DRAWS)]
    for number, draw in enumerate(draws):
        faults = not_finite(bench.run(draw)[0], outputs)
        if faults:
            what = "with all signals zero" if number == 0 else "for some finite signals"
            return Finding(
                "finite",
                False,
                f"{', '.join(faults)} becomes NaN or infinite {what}; guard divisions and roots",
            )
    return Finding("finite", True, f"finite over {len(draws)} random inputs, also extreme ones")


def _check_gain_bounds(bench: Bench) -> Finding:
    generator = np.random.default_rng(3)
    outputs, block = _later_outputs(bench.block), bench.block
    for gain in block.gains:
        for bound in (gain.low, gain.high):
            gains = block.default_gains()
            gains[gain] = bound if np.isfinite(bound) else np.sign(bound) * 1e3
            if any(
                not_finite(bench.run(random_signals(generator), gains)[0], outputs)
                for _ in range(DRAWS // 10)
            ):
                return Finding(
                    "gain bounds",
                    False,
                    f"not finite with {gain.name} = {gains[gain]:g} {gain.unit}; narrow it",
                )
    return Finding("gain bounds", True, "finite with every gain at its bounds")


def _check_repeat(bench: Bench) -> Finding:
    generator = np.random.default_rng(4)
    for _ in range(DRAWS // 4):
        draw = random_signals(generator)
        if bench.run(draw)[0].tobytes() != bench.run(draw)[0].tobytes():
            return Finding(
                "repeatable", False, "the same inputs gave another result; keep nothing outside `memory`"
            )
    return Finding("repeatable", True, "the same inputs give the same bits")


def check_memory(bench: Bench) -> Finding:
    """Beyond what is declared nothing may be written, and nothing read."""
    generator, size, used = np.random.default_rng(5), bench.block.memory, set[int]()
    for _ in range(DRAWS // 4):
        draw = random_signals(generator)
        (one, first), (two, second) = bench.run(draw, beyond=0.0), bench.run(draw, beyond=0.375)
        beyond = np.flatnonzero((first != 0.0) & (np.arange(first.size) >= size))
        if beyond.size or np.any(second[size:] != 0.375):
            place = f"memory[{beyond[-1]}], " if beyond.size else ""
            need = f"{beyond[-1] + 1}" if beyond.size and beyond[-1] < MEMORY_SIZE else "what it uses"
            words = (
                f"writes {place}beyond the {size} numbers it declares; raise `memory=` in @block to {need}"
            )
            return Finding("memory", False, f"{words}, at most {MEMORY_SIZE}")
        if one.tobytes() != two.tobytes():
            words = f"reads memory or gains it does not declare; it declares memory={size} and {len(bench.block.gains)} gains"
            return Finding("memory", False, words)
        used |= set(np.flatnonzero(first[:size]).tolist())
    return Finding("memory", True, f"stays within the {size} numbers it declares, {len(used)} of them in use")


@kernel
def run_chain(chain, s, craft, gains, memory, times):
    """Run the first block of a `contract.chain` so many times in a row."""
    block = as_block(chain[0])
    for _ in range(times):
        block(s, craft, gains, memory)


def cost_ns(block: Block, times: int = 20000, rounds: int = 7) -> float:
    """Median time of one call inside a compiled loop [ns]; from Python if the block is not compiled."""
    s, craft = hovering_signals(), example_craft()
    gains, memory = block.default_gains(), np.zeros(MEMORY_SIZE)
    compiled = JIT and block.compiled is not None
    times = times if compiled else 50
    spent = []
    for _ in range(rounds):
        start = time.perf_counter()
        if compiled:
            run_chain(chain([block]), s, craft, gains, memory, times)
        else:
            for _ in range(times):
                block.function(s, craft, gains, memory)
        spent.append((time.perf_counter() - start) / times * 1e9)
    return float(np.median(spent))


@cache
def _stock_ns(slot: str) -> float:
    from controllers.registry import DEFAULTS, load_block

    return cost_ns(load_block(DEFAULTS[slot], slot).block)


def _check_cost(bench: Bench) -> Finding:
    block = bench.block
    spent, usual = cost_ns(block), _stock_ns(block.slot)
    words = (
        f"{spent:.0f} ns per call, {spent / usual:.2g} times the default {block.slot} block's {usual:.0f} ns"
    )
    return Finding("cost", True, words)


__all__ = [
    "Finding",
    "check_block",
    "check_memory",
    "cost_ns",
    "example_craft",
    "random_signals",
    "written_signals",
]
