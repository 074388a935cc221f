"""Conformance check of a block: what it writes, whether it stays finite and repeatable, what it costs, in words."""

from __future__ import annotations

import time
from dataclasses import dataclass
from typing import Any

import numpy as np

from controllers.contract import GAINS_SIZE, JIT, MEMORY_SIZE, SLOTS, Block, as_block, chain, kernel
from controllers.python_block import OUTPUTS
from controllers.signals import BUILDER, SIGNALS, SIGNALS_TABLE, Mode, rows

DRAWS = 60
GUARD = 16
"""Numbers kept beside the memory to catch a write beyond its end."""


@dataclass(frozen=True)
class Finding:
    """One question of the check with its answer."""

    name: str
    ok: bool
    message: str


def example_craft() -> Any:
    """An invented craft of 0.6 kg with rotors on a square of 180 mm; made up for checks."""
    craft = rows(BUILDER)[0]
    inertia = np.diag([3.0e-3, 3.5e-3, 6.0e-3])
    arm, drag = 0.09, 0.012
    moments = np.array([[-arm, -arm, arm, arm], [arm, -arm, -arm, arm], [drag, -drag, drag, -drag]])
    craft.mass, craft.inertia[:] = 0.6, inertia
    craft.effectiveness[:3] = np.linalg.solve(inertia, moments)
    craft.effectiveness[3] = 1.0
    craft.allocation[:] = np.linalg.inv(craft.effectiveness)
    craft.max_thrust, craft.thrust_curve, craft.nominal_voltage = 6.0, 0.8, 14.8
    craft.hover_throttle, craft.idle = 0.45, 0.05
    return craft


def random_signals(generator: np.random.Generator, scale: float = 1.0) -> Any:
    """Signals drawn at random; with a large `scale`, far beyond anything that flies. Quaternions stay unit."""
    s = rows(SIGNALS)[0]
    for signal in SIGNALS_TABLE:
        s[signal.name] = scale * generator.normal(size=signal.shape)
    for name in ("attitude", "attitude_wanted"):
        draw = generator.normal(size=4)
        s[name] = draw / np.linalg.norm(draw)
    s.dt = 10.0 ** generator.uniform(-4.0, -1.5)
    s.mode, s.link, s.airborne = generator.integers(len(Mode)), generator.integers(2), generator.integers(2)
    s.armed = 1.0
    s.attitude_weight = generator.integers(2)
    s.stick[:] = np.clip(s.stick, -1.0, 1.0)
    return s


def hovering_signals() -> Any:
    """Signals of the example craft in a hover under height hold, slightly disturbed."""
    s, craft = rows(SIGNALS)[0], example_craft()
    s.dt, s.mode, s.link, s.airborne, s.battery_voltage = 1e-3, Mode.HEIGHT_HOLD, 1.0, 1.0, 14.8
    s.armed = 1.0
    s.height = s.baro_height = s.target_height = 2.0
    s.gyro[:], s.accel[:] = (0.02, -0.01, 0.01), (0.05, -0.03, -9.8)
    s.attitude[0] = s.attitude_wanted[0] = s.attitude_weight = 1.0
    s.stick[3] = 0.5
    s.thrust_wanted = 9.80665 * craft.mass
    s.rates_wanted[:], s.angular_acceleration_wanted[:] = 0.01, 0.2
    return s


class _Bench:
    """Runs a block on arrays with guard zones."""

    def __init__(self, block: Block) -> None:
        self.block, self.craft = block, example_craft()

    def run(
        self, s: Any, gains: np.ndarray | None = None, beyond: float = 0.0, times: int = 3
    ) -> tuple[Any, np.ndarray]:
        """Signals after some runs, and the memory with its guard zone; `beyond` fills what was not declared."""
        s = s.copy().view(np.recarray) if isinstance(s, np.ndarray) else _copy(s)
        full = np.full(MEMORY_SIZE + GUARD, beyond)
        full[: self.block.memory] = 0.0
        used = np.full(GAINS_SIZE, beyond)
        declared = [int(g) for g in self.block.gains]
        used[declared] = (self.block.default_gains() if gains is None else gains)[declared]
        call = self.block.compiled if self.block.compiled is not None else self.block.function
        for _ in range(times):
            call(s, self.craft, used, full[:MEMORY_SIZE])
        return s, full


def _copy(s: Any) -> Any:
    fresh = rows(SIGNALS)
    fresh[0] = s
    return fresh[0]


def _bits(s: Any) -> bytes:
    return s.tobytes()


def _finite(s: Any, names: tuple[str, ...]) -> list[str]:
    return [name for name in names if not np.all(np.isfinite(s[name]))]


def check_block(block: Block) -> list[Finding]:
    """Ask a block all questions of the contract.

    Returns
    -------
    list of Finding, in a fixed order; the block conforms if all are `ok`
    """
    bench = _Bench(block)
    names = ", ".join(block.function.__code__.co_varnames[:4])
    findings = [
        Finding("signature", block.function.__code__.co_argcount == 4, f"takes ({names})"),
        _check_gains(block),
    ]
    try:
        with np.errstate(all="ignore"):  # a division by zero is found by its result
            findings += [
                _check_writes(bench), _check_finite(bench), _check_gain_bounds(bench),
                _check_repeat(bench), _check_memory(bench), _check_cost(bench),
            ]  # fmt: skip
    except Exception as error:  # noqa: BLE001
        findings.append(
            Finding("runs", False, f"raised {type(error).__name__}: {error}; a block must never raise")
        )
    return findings


def _check_gains(block: Block) -> Finding:
    faults = [g.name for g in block.gains if not g.unit]
    faults += [g.name for g in block.gains if not g.low <= g.default <= g.high]
    if faults:
        return Finding("gains", False, f"{', '.join(faults)}: needs a unit and a default within its bounds")
    return Finding("gains", True, f"{len(block.gains)} declared, each with unit, default and bounds")


def written_signals(block: Block) -> set[str]:
    """Names of the signals that a block writes: those that it changes in any of many draws."""
    bench, generator, written = _Bench(block), np.random.default_rng(1), set[str]()
    for _ in range(DRAWS):
        before = random_signals(generator)
        after, _ = bench.run(before, times=1)
        written |= {s.name for s in SIGNALS_TABLE if np.any(after[s.name] != before[s.name])}
    return written


def _check_writes(bench: _Bench) -> Finding:
    """Later slots may be served too."""
    names, written = [s.name for s in SIGNALS_TABLE], written_signals(bench.block)
    slot = bench.block.slot
    later = SLOTS[SLOTS.index(slot) :]
    allowed = {name for place in later for name in OUTPUTS[place]}
    listed = ", ".join(n for n in names if n in written) or "nothing"
    if written - allowed:
        wrong = ", ".join(n for n in names if n in written - allowed)
        own = ", ".join(OUTPUTS[slot])
        return Finding(
            "writes", False, f"writes {wrong}, which is not for slot {slot} to write; it may write {own}"
        )
    return Finding("writes", True, f"writes {listed}")


def _check_finite(bench: _Bench) -> Finding:
    generator = np.random.default_rng(2)
    outputs = OUTPUTS[bench.block.slot]
    draws = [rows(SIGNALS)[0]]
    draws += [random_signals(generator, scale) for scale in (0.1, 1.0, 30.0, 1e6) for _ in range(DRAWS)]
    for number, draw in enumerate(draws):
        faults = _finite(bench.run(draw)[0], outputs)
        if faults:
            what = "with all signals zero" if number == 0 else "for some finite signals"
            return Finding(
                "finite",
                False,
                f"{', '.join(faults)} becomes NaN or infinite {what}; guard divisions and roots",
            )
    return Finding("finite", True, f"finite over {len(draws)} random inputs, also extreme ones")


def _check_gain_bounds(bench: _Bench) -> Finding:
    generator = np.random.default_rng(3)
    outputs, block = OUTPUTS[bench.block.slot], bench.block
    for gain in block.gains:
        for bound in (gain.low, gain.high):
            gains = block.default_gains()
            gains[gain] = bound if np.isfinite(bound) else np.sign(bound) * 1e3
            if any(
                _finite(bench.run(random_signals(generator), gains)[0], outputs) for _ in range(DRAWS // 10)
            ):
                return Finding(
                    "gain bounds",
                    False,
                    f"not finite with {gain.name} = {gains[gain]:g} {gain.unit}; narrow it",
                )
    return Finding("gain bounds", True, "finite with every gain at its bounds")


def _check_repeat(bench: _Bench) -> Finding:
    generator = np.random.default_rng(4)
    for _ in range(DRAWS // 4):
        draw = random_signals(generator)
        if _bits(bench.run(draw)[0]) != _bits(bench.run(draw)[0]):
            return Finding(
                "repeatable", False, "the same inputs gave another result; keep nothing outside `memory`"
            )
    return Finding("repeatable", True, "the same inputs give the same bits")


def _check_memory(bench: _Bench) -> Finding:
    """Beyond what is declared nothing may be written, and nothing read."""
    generator, size = np.random.default_rng(5), bench.block.memory
    for _ in range(DRAWS // 4):
        draw = random_signals(generator)
        (one, first), (two, second) = bench.run(draw, beyond=0.0), bench.run(draw, beyond=0.375)
        if np.any(first[size:] != 0.0) or np.any(second[size:] != 0.375):
            return Finding("memory", False, f"writes beyond the {size} numbers it declares; raise `memory=`")
        if _bits(one) != _bits(two):
            return Finding(
                "memory", False, f"reads memory or gains it does not declare; it declares memory={size}"
            )
    return Finding("memory", True, f"stays within the {size} numbers it declares")


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


def _check_cost(bench: _Bench) -> Finding:
    return Finding("cost", True, f"{cost_ns(bench.block):.0f} ns per call")


__all__ = ["Finding", "check_block", "cost_ns", "example_craft", "random_signals", "written_signals"]
