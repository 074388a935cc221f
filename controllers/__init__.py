"""Control blocks for multirotors: estimate, guide, attitude, rate, allocate; readable, compiled, and on their own.

Names are fetched when first used (PEP 562), so that importing the package loads neither compiler nor blocks.
"""

from __future__ import annotations

from importlib import import_module
from typing import Any

_HOME = {
    "contract": (
        "BLOCK", "GAINS_SIZE", "JIT", "MEMORY_SIZE", "REGISTRY", "SLOTS",
        "Block", "Gains", "NoGains", "as_block", "block", "chain", "kernel",
    ),
    "signals": ("BUILDER", "BUILDER_TABLE", "SIGNALS", "SIGNALS_TABLE", "LinkLoss", "Mode", "Signal", "Stick", "rows"),
    "registry": ("DEFAULTS", "Loaded", "load_block", "load_file", "blocks_of", "stock_blocks"),
    "explain": ("BlockError",),
    "python_block": ("PythonBlock", "make_python_block"),
    "check": ("Finding", "check_block", "cost_ns", "example_craft"),
}  # fmt: skip
_MODULE_OF = {name: module for module, names in _HOME.items() for name in names}

__all__ = [*_MODULE_OF]


def __getattr__(name: str) -> Any:
    if name not in _MODULE_OF:
        raise AttributeError(f"module 'controllers' has no {name!r}; it has {', '.join(__all__)}")
    return getattr(import_module(f"controllers.{_MODULE_OF[name]}"), name)


def __dir__() -> list[str]:
    return __all__
