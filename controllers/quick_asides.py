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

        def noted(registry: Any) -> None:
            found.append(registry)
            install(registry)

        self.install_registry = noted
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


def leave_unannounced() -> None:
    """Calls into LLVM without word to numba's timers."""
    announced = codegen.ll.ffi.lib._lock._cblist
    announced[:] = [pair for pair in announced if pair[0].__module__ != "numba.core.base"]


def spare() -> bool:
    """Put all of it in numba's place, once; returns True."""
    target: Any = cpu.CPUContext
    typing: Any = typing_context.Context
    library: Any = codegen.CPUCodeLibrary
    if hasattr(target.load_additional_registries, "__wrapped__"):
        return True
    spare_scipy()
    leave_unannounced()
    long_worded: tuple[Any, ...] = (types.Record, types.NestedArray)
    for kind in long_worded:
        kind.__repr__ = worded_once(kind.__repr__)
    for context in (target, typing):
        context.load_additional_registries = loading_once(context.load_additional_registries)
    library._optimize_functions = optimise_defined
    return True
