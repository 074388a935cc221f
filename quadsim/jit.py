"""The one door to the compiler for quadsim: `kernel`, the switch `JIT`, and the cache keyed by all kernel sources."""

from typing import Any

import numpy as np
from numba import from_dtype, types

from controllers import contract
from controllers.contract import JIT, as_block, kernel
from quadsim.kernel_sources import KERNEL_SOURCES

contract.use_cache(KERNEL_SOURCES)

BOOLEAN, INTEGER = types.boolean, types.int64
VECTOR, MATRIX = types.Array(types.float64, 1, "C"), types.Array(types.float64, 2, "C")


def record_type(dtype: np.dtype) -> Any:
    """Compiler's type of one record of `dtype`, for explicit signatures."""
    return from_dtype(dtype)


def rows_type(dtype: np.dtype) -> Any:
    """Compiler's type of a contiguous array of records of `dtype`."""
    return types.Array(from_dtype(dtype), 1, "C")


__all__ = ["BOOLEAN", "INTEGER", "JIT", "MATRIX", "VECTOR", "as_block", "kernel", "record_type", "rows_type"]
