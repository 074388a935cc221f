"""What numba does beside compiling, spared where nobody looks at it.

- Every pass of a compilation words its argument types for whoever may watch; the words of a record with a hundred fields take as
  long as the pass. They are kept.
- Every call into LLVM is announced to timers nobody reads, one for each compilation in progress.
- The registries of all that numba knows are imported anew, name by name, for every call that is lowered. After the first time
  they are only looked through for what is new.
- LLVM's passes are made ready and run for functions that are only declared. There is nothing to do in them.
- scipy's linear algebra is loaded to learn that it is there; here it is only looked for, and loaded when a kernel needs it.

As `quick_typing`, it acts for the versions it was tested with; the compiled code is the same.
"""

from __future__ import annotations

import importlib.util
from collections.abc import Callable
from functools import wraps
from typing import Any

from llvmlite.binding import ffi
from numba.core import codegen, cpu, types
from numba.core.typing import context as typing_context


def worded_once(words: Callable[[Any], str]) -> Callable[[Any], str]:
    """`__repr__` of a type, which never changes, worked out once."""

    @wraps(words)
    def repeated(self: Any) -> str:
        known: str | None = self.__dict__.get("_words")
        if known is None:
            known = self.__dict__["_words"] = words(self)
        return known

    return repeated


def loading_once(load: Callable[[Any], None]) -> Callable[[Any], None]:
    """`load_additional_registries` that imports but once, and later looks through the same registries."""

    @wraps(load)
    def loaded(self: Any) -> None:
        known = self.__dict__.get("_registries_loaded")
        if known is not None:
            for registry in known:
                self.install_registry(registry)
            return
        found: list[Any] = []
        install = self.install_registry
        self.install_registry = lambda registry: (found.append(registry), install(registry))
        try:
            load(self)
        finally:
            del self.install_registry
        self._registries_loaded = found

    return loaded


def optimise_defined(self: Any, ll_module: Any) -> None:
    """`CPUCodeLibrary._optimize_functions` for functions that have a body."""
    ll_module.data_layout = self._codegen._data_layout
    for function in ll_module.functions:
        if not function.is_declaration:
            passes, builder = self._codegen._function_pass_manager()
            with self._recorded_timings.record(f"Function passes on {function.name!r}", builder):
                passes.run(function, builder)


def look_for_blas() -> None:
    """`ensure_blas` without loading what it looks for."""
    if importlib.util.find_spec("scipy") is None:
        raise ImportError("scipy is not installed")


def spare_scipy() -> None:
    """numba's array functions, imported without scipy; each of those that use it still asks for it."""
    from numba.np import linalg

    ensure, linalg.ensure_blas = linalg.ensure_blas, look_for_blas
    try:
        import numba.np.arraymath  # noqa: F401
    finally:
        linalg.ensure_blas = ensure


def spare() -> bool:
    """Put all of it in numba's place, once; returns True."""
    registries: Any = cpu.CPUContext
    if hasattr(registries.load_additional_registries, "__wrapped__"):
        return True
    spare_scipy()
    for kind in (types.Record, types.NestedArray):
        kind.__repr__ = worded_once(kind.__repr__)
    ffi.lib._lock._cblist.clear()
    for context in (cpu.CPUContext, typing_context.Context):
        context.load_additional_registries = loading_once(context.load_additional_registries)
    codegen.CPUCodeLibrary._optimize_functions = optimise_defined
    return True
