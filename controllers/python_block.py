"""A plain Python function as a block of one flight: slow, but nothing needs to compile.

Rationale: records handed to object mode are copies, and writes to them would be lost without a word. So the function is
bound to the very memory of the loop, and the compiled bridge only says when.
"""

from __future__ import annotations

import _thread
from collections.abc import Callable
from typing import Any

import numpy as np
from numba import njit, objmode

from controllers.contract import BLOCK, JIT, Block
from controllers.explain import explain_crash
from controllers.signals import SIGNALS_TABLE

OUTPUTS = {
    slot: tuple(s.name for s in SIGNALS_TABLE if s.written_by == slot)
    for slot in ("estimate", "guide", "attitude", "rate", "allocate")
}
"""Signals that each slot writes."""


class PythonBlock:
    """A Python function bound to one flight; `contract.chain` takes it in place of a Block.

    What the function raises is kept in `messages`, and NaN is written to the slot's outputs, which ends the flight.
    """

    def __init__(self, block: Block, s: Any, craft: Any, gains: np.ndarray, memory: np.ndarray) -> None:
        self.block = block
        self.messages: list[str] = []
        self._bound = (s, craft, gains, memory)
        self._bridge: Any = _make_bridge(self.run) if JIT else None

    def run(self) -> None:
        """One run on the loop's own memory; never raises."""
        try:
            self.block.function(*self._bound)
        except KeyboardInterrupt:
            _thread.interrupt_main()  # again, once the compiled loop has given control back
        except Exception as error:  # noqa: BLE001
            self.messages.append(
                f"{self.block.name}{explain_crash(error, self.block.function.__code__.co_filename)}"
            )
            s = self._bound[0]
            for name in OUTPUTS[self.block.slot]:
                s[name] = np.nan

    def function(self, *_: Any) -> None:
        """What the loop calls without the compiler."""
        self.run()

    @property
    def address(self) -> int:
        """Entry address of the bridge."""
        compiled = self._bridge.get_compile_result(BLOCK)
        return compiled.library.get_pointer_to_function(compiled.fndesc.llvm_func_name)


def _make_bridge(call: Callable[[], None]) -> Any:
    @njit(BLOCK)
    def bridge(s, craft, gains, memory):
        with objmode():
            call()

    return bridge


def make_python_block(block: Block, s: Any, craft: Any, gains: np.ndarray, memory: np.ndarray) -> PythonBlock:
    """Bind the plain function of `block` to a flight's records and arrays (views, not copies)."""
    return PythonBlock(block, s, craft, gains, memory)
