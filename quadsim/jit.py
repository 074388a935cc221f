"""The one door to the compiler for quadsim: `kernel`, the switch `JIT`, and the cache keyed by all kernel sources."""

from collections.abc import Callable
from typing import Any

import numpy as np
from numba import from_dtype, types

from controllers import contract
from controllers.contract import JIT, as_block
from quadsim.kernel_sources import KERNEL_SOURCES

contract.use_cache(KERNEL_SOURCES)
inner = contract.inner


def kernel(function: Callable | None = None, **options: Any) -> Any:
    """As the contract's kernel, without reference counting: nothing of quadsim's allocates inside a kernel, and counting
    arrays in and out of every formula cost a fifth of the flight loop (521 against 423 ns a step)."""
    return contract.kernel(function, _nrt=False, **options)


BOOLEAN, INTEGER = types.boolean, types.int64
MATRIX = types.Array(types.float64, 2, "C")


def record_type(dtype: np.dtype) -> Any:
    """Compiler's type of one record of `dtype`, for explicit signatures."""
    return from_dtype(dtype)


def rows_type(dtype: np.dtype) -> Any:
    """Compiler's type of a contiguous array of records of `dtype`."""
    return types.Array(from_dtype(dtype), 1, "C")


__all__ = ["BOOLEAN", "INTEGER", "JIT", "MATRIX", "as_block", "inner", "kernel", "record_type", "rows_type"]
