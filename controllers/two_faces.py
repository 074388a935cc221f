"""A kernel has two faces: the code that other kernels take in, and the door through which Python calls it.

Each is compiled when it is first wanted, so a formula that only the flight loop uses gets no door, and a command that finds the
loop in the cache makes neither.
"""

from __future__ import annotations

import importlib
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import cached_property, reduce, update_wrapper
from typing import Any

from numba import config, njit

from controllers.inlined import EntryCompiler, InlinedCache, InlinedCompiler


@contextmanager
def kept_in(folder: str) -> Iterator[None]:
    """numba's dispatchers made in here keep what they compile in `folder`; beside the source file if it is empty."""
    usual, config.CACHE_DIR = config.CACHE_DIR, folder
    try:
        yield
    finally:
        config.CACHE_DIR = usual


class Kernel:
    """A formula for kernels and for Python.

    Parameters
    ----------
    function : what it computes
    settings : options for numba
    """

    def __init__(self, function: Callable, settings: dict[str, Any]) -> None:
        update_wrapper(self, function)
        self._function, self._settings = function, settings
        self._folder = config.CACHE_DIR  # of this moment: what is compiled later belongs there

    def __call__(self, *arguments: Any) -> Any:
        return self._door(*arguments)

    @property
    def py_func(self) -> Callable:
        """The formula as plain Python, under numba's name for it."""
        return self._function

    def without_door(self) -> Kernel:
        """The same, closed to Python."""
        self._door = self._refuse
        return self

    def _refuse(self, *arguments: Any) -> Any:
        raise TypeError(
            f"{self._function.__qualname__} is called by kernels alone; make it a @kernel to call it"
        )

    @cached_property
    def _door(self) -> Any:
        with kept_in(self._folder):
            return njit(**self._settings, pipeline_class=EntryCompiler)(self._function)

    @cached_property
    def _inlined(self) -> Any:
        settings = {**self._settings, "cache": False, "no_cpython_wrapper": True}
        made = njit(**settings, pipeline_class=InlinedCompiler)(self._function)
        if self._settings["cache"]:
            with kept_in(self._folder):
                made._cache = InlinedCache(self._function)
        return made

    @property
    def _numba_type_(self) -> Any:
        """Under this name numba asks for the type of what a kernel calls."""
        return self._inlined._numba_type_

    def __reduce__(self) -> tuple[Any, ...]:
        """By name: numba tells functions apart by what they close over, and a name is the same in every process."""
        return kernel_of, (self._function.__module__, self._function.__qualname__)


def kernel_of(module: str, name: str) -> Any:
    """The kernel `name` of a module."""
    return reduce(getattr, name.split("."), importlib.import_module(module))
