"""numba's own work, spared what it does again and again. Only the time to compile changes, by a quarter
(derivative and default guide: 18.4 to 14.0 s of processor time, two trials each).

Where the time goes for the flight loop's kernels: four fifths is numba's Python, the rest LLVM. Three things in it are put right
here from outside:

- Whether two sets of compiler flags are equal is asked for every candidate of every call, and numba reads all thirty flags
  through properties each time. Here their values are compared as they are kept.
- What a call such as `a * b` of two float64 returns is found by trying what is registered for `*` (dozens of candidates, most of
  them for strings, lists and dates), at every place, several times. Here the answer is kept for the same types and flags.
- The variables of a statement are looked for in everything it holds, its text and its place in the file as well.

All of it leans on numba's internals, so it acts for the versions it was tested with (`TESTED`); with another, kernels compile as
numba does it: the same code, later.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Any

import numba
from numba.core import ir, targetconfig, types

TESTED = ((0, 68),)
HOLDS_NONE = frozenset({str, int, float, complex, bool, bytes, type(None), ir.Loc})
"""Types of what stands in a statement and has no variables in it."""

_defaults: dict[type, dict[str, Any]] = {}


def flag_values(self: Any) -> dict[str, Any]:
    """All flags with their values, those not set by their defaults, in the order of the class."""
    kind = type(self)
    if kind not in _defaults:
        _defaults[kind] = {name: option.default for name, option in kind.options.items()}
    return {**_defaults[kind], **self._values}


def flags_equal(self: Any, other: Any) -> Any:
    """Whether two sets of flags of a class have the same values, set or by default, as numba's own answers."""
    if not isinstance(other, targetconfig.TargetConfig):
        return NotImplemented
    return self is other or self._values == other._values or flag_values(self) == flag_values(other)


def flags_hash(self: Any) -> int:
    """numba's own is the hash of the flags' names, one for all of a class; so is this."""
    return hash(type(self))


def remembering(get_call_type: Callable) -> Callable:
    """`BaseFunction.get_call_type` that keeps its answers; calls with keywords are passed on."""

    @wraps(get_call_type)
    def remembered(self: Any, context: Any, args: Any, kws: Any) -> Any:
        if kws:
            return get_call_type(self, context, args, kws)
        answers = self.__dict__.setdefault("_answers", {})
        asked = (id(context), tuple(args), targetconfig.ConfigStack.top_or_none())
        found = answers.get(asked)
        if found is None:
            found = answers[asked] = get_call_type(self, context, args, kws)
        return found

    return remembered


def variables_in(self: Any, held: Any) -> list[Any]:
    """The variables in what a statement holds, in their order."""
    if isinstance(held, ir.Var):
        return [held]
    if isinstance(held, ir.Inst):
        return held.list_vars()
    if not isinstance(held, list | tuple | dict):
        return []
    found: list[Any] = []
    for one in held.values() if isinstance(held, dict) else held:
        kind = type(one)
        if kind is ir.Var:
            found.append(one)
        elif kind not in HOLDS_NONE:
            found.extend(variables_in(self, one))
    return found


def hasten(version: tuple[int, ...] = numba.version_info.short) -> bool:
    """Put all three in numba's place, once; returns whether they are."""
    function: Any = types.functions.BaseFunction
    flags: Any = targetconfig.TargetConfig
    if hasattr(function.get_call_type, "__wrapped__"):
        return True
    if tuple(version[:2]) not in TESTED:
        return False
    flags.values, flags.__eq__, flags.__hash__ = flag_values, flags_equal, flags_hash
    function.get_call_type = remembering(function.get_call_type)
    statement: Any = ir.Inst
    statement._rec_list_vars = variables_in
    return True
