"""The contract of a control block: `block(signals, craft, gains, memory) -> None`, run at the block's own rate.

Checklist for authors
---------------------
1. The function takes (s, craft, gains, memory): the signals record, the builder's record, two flat float64 arrays.
2. It reads any signal and writes only the signals of its slot (see `signals.SIGNALS_TABLE`).
3. Gains have physical units and are declared in a `Gains` enumeration with unit, default and bounds.
4. Everything kept from one run to the next lives in `memory` (zeros before the first run).
5. `s.dt` is the interval of this block; nothing else tells the time.
6. It must stay finite for any finite input.

Rationale: a numba dispatcher passed as an argument would recompile the flight loop in every process. A block is
compiled once for one explicit signature, and the loop gets its entry ADDRESS; swapping a block costs nothing.
Rebuilding the function pointer inside compiled code leans on numba internals: it happens in this file alone.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from enum import IntEnum
from pathlib import Path
from typing import Any

import numpy as np
from numba import config, from_dtype, njit, types
from numba.core import cgutils
from numba.core.cpu import CPUTargetOptions
from numba.core.errors import NumbaError
from numba.core.options import TargetOptions
from numba.extending import intrinsic

from controllers import cache, quick_asides, quick_typing
from controllers.inlined import EntryCompiler
from controllers.signals import BUILDER, SIGNALS
from controllers.two_faces import Kernel, kept_in

JIT: bool = not config.DISABLE_JIT
GAINS_SIZE = 64
MEMORY_SIZE = 512
SLOTS = ("estimate", "guide", "attitude", "rate", "allocate")

Signals, Builder = from_dtype(SIGNALS), from_dtype(BUILDER)
Vector = types.Array(types.float64, 1, "C")
BLOCK = types.void(Signals, Builder, Vector, Vector)
POINTER = types.FunctionType(BLOCK)
Chain = types.Array(types.int64, 1, "C")


def use_cache(roots: list[Path]) -> None:
    """Keep compiled kernels in the folder keyed by the sources under `roots`; beside the files if that fails."""
    folder = cache.open_folder(cache.source_key(roots))
    if folder is not None:
        config.CACHE_DIR = str(folder)


@contextmanager
def cache_of_its_own(name: str) -> Iterator[None]:
    """What is decorated in here is kept in a folder `name` of the cache: numba itself tells two texts of a file apart by size
    and time stamp alone."""
    usual = config.CACHE_DIR
    with kept_in(str(Path(usual) / name) if usual else usual):
        yield


if not config.CACHE_DIR:
    use_cache([Path(__file__).parent])


QUICK: bool = quick_typing.hasten() and quick_asides.spare()
"""Whether numba is one that `two_faces.Kernel` and its neighbours were tested with; with another, kernels are numba's own."""
CPUTargetOptions.noalias = TargetOptions.Mapping("noalias")  # numba has the flag, and no name for it


def kernel(function: Callable | None = None, *, signature: Any = None, **options: Any) -> Any:
    """Compile a formula or loop: cached, numpy's error model. Lazy unless a `signature` is given."""
    if function is None:
        return lambda f: kernel(f, signature=signature, **options)
    settings = {
        "cache": True,
        "error_model": "numpy",
        "no_cfunc_wrapper": True,
        "fastmath": {"contract", "arcp"},
        **options,
    }
    own = JIT and QUICK
    if signature is not None:
        return njit(signature, **settings, **({"pipeline_class": EntryCompiler} if own else {}))(function)
    return Kernel(function, settings) if own else njit(**settings)(function)


def inner(function: Callable | None = None, **options: Any) -> Any:
    """A kernel called by kernels alone and that makes no arrays: no door from Python, no counting of references."""
    if function is None:
        return lambda f: inner(f, **options)
    made = kernel(function, _nrt=False, **options)
    return made.without_door() if isinstance(made, Kernel) else made


def _compile_block(function: Callable) -> Any:
    """The block for its one signature. Counting references to gains and memory would cost as much as a short block does,
    so it is left out first; a block that makes arrays of its own needs it and is compiled with it."""
    try:
        return kernel(function, signature=BLOCK, _nrt=False)
    except NumbaError:
        return kernel(function, signature=BLOCK)


class Gains(IntEnum):
    """Base of a block's gain list: `NAME = index, unit, default, low, high`."""

    unit: str
    default: float
    low: float
    high: float

    def __new__(
        cls, index: int, unit: str = "-", default: float = 0.0, low: float = -np.inf, high: float = np.inf
    ):
        member = int.__new__(cls, index)
        member._value_ = index
        member.unit, member.default, member.low, member.high = unit, default, low, high
        return member


class NoGains(Gains):
    """For a block without gains."""


@dataclass(frozen=True)
class Block:
    """A control block with what it declares."""

    name: str
    slot: str
    function: Callable
    gains: type[Gains] = NoGains
    memory: int = 0
    compiled: Any = field(default=None, compare=False)
    about: str = ""

    @property
    def address(self) -> int:
        """Entry address of the compiled block."""
        compiled = self.compiled.get_compile_result(BLOCK)
        return compiled.library.get_pointer_to_function(compiled.fndesc.llvm_func_name)

    def default_gains(self) -> np.ndarray:
        """The declared defaults, in an array of GAINS_SIZE."""
        values = np.zeros(GAINS_SIZE)
        for gain in self.gains:
            values[gain] = gain.default
        return values

    def __call__(self, s: Any, craft: Any, gains: np.ndarray, memory: np.ndarray) -> None:
        self.compiled(s, craft, gains, memory)


REGISTRY: dict[tuple[str, str], Block] = {}
"""All blocks known in this process, by (slot, name); the user's and ours alike."""


def block(
    slot: str, *, gains: type[Gains] = NoGains, memory: int = 0, name: str = ""
) -> Callable[[Callable], Block]:
    """Register a function as a control block for `slot` and compile it once (cached).

    Parameters
    ----------
    slot : one of SLOTS
    gains : Gains enumeration with unit, default and bounds of each gain
    memory : how many numbers the block keeps between runs, at most MEMORY_SIZE
    name : name under which it is chosen; the function's own name if empty
    """
    if slot not in SLOTS:
        raise ValueError(f"slot is {slot!r}; must be one of {', '.join(SLOTS)}")
    if not 0 <= memory <= MEMORY_SIZE:
        raise ValueError(f"memory is {memory}; must be 0 to {MEMORY_SIZE} numbers")

    def register(function: Callable) -> Block:
        if function.__code__.co_argcount != 4:
            raise ValueError(
                f"block {function.__name__} takes {function.__code__.co_argcount} arguments; "
                "a block takes exactly four: (s, craft, gains, memory)"
            )
        if any(not 0 <= gain < GAINS_SIZE for gain in gains):
            raise ValueError(
                f"block {function.__name__} declares a gain beyond index {GAINS_SIZE - 1}; number them from 0"
            )
        twice = [name for name, gain in gains.__members__.items() if gain.name != name]
        if twice:
            raise ValueError(
                f"block {function.__name__} gives the gain {twice[0]} the index {int(gains[twice[0]])} of "
                f"{gains[twice[0]].name}; give each gain its own, from 0"
            )
        made = Block(
            name or function.__name__,
            slot,
            function,
            gains,
            memory,
            _compile_block(function),
            (function.__doc__ or "").strip().split("\n")[0],
        )
        REGISTRY[slot, made.name] = made
        return made

    return register


def chain(blocks: Sequence[Any]) -> Any:
    """What the flight loop takes for its blocks: their addresses, or the functions themselves without the compiler."""
    if not JIT:
        return tuple(b.function for b in blocks)
    return np.array([b.address for b in blocks], np.int64)


if JIT:

    @intrinsic
    def as_block(context, address):
        """Address -> callable block, inside compiled code."""

        def build(context, builder, signature, arguments):
            pointer = cgutils.create_struct_proxy(POINTER)(context, builder)
            pointer.c_addr = pointer.py_addr = cgutils.voidptr_t(None)
            pointer.jit_addr = builder.inttoptr(arguments[0], cgutils.voidptr_t)
            return pointer._getvalue()

        return POINTER(types.int64), build
else:

    def as_block(function):
        """Without the compiler a block is already callable."""
        return function
