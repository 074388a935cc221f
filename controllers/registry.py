"""From what the user names to a block: a stock name, or a function in a file of their own."""

from __future__ import annotations

import ast
import difflib
import hashlib
import inspect
import os
import sys
import traceback
import types
import warnings
from dataclasses import dataclass
from importlib import import_module
from pathlib import Path
from typing import Any

from numba.core.errors import NumbaWarning

from controllers.contract import REGISTRY, SLOTS, Block, cache_of_its_own
from controllers.explain import BlockError, explain_compiler, explain_crash
from controllers.python_block import PythonBlock, make_python_block
from controllers.user_imports import refuse_stale

STOCK: dict[tuple[str, str], tuple[str, str]] = {
    ("estimate", "complementary"): ("estimate", "complementary"),
    ("estimate", "kalman"): ("kalman", "kalman"),
    ("guide", "response"): ("guide", "response"),
    ("guide", "navigation"): ("navigation", "navigation"),
    ("guide", "track"): ("track", "track"),
    ("attitude", "quaternion_p"): ("attitude", "quaternion_p"),
    ("attitude", "hold"): ("hold", "hold_attitude"),
    ("rate", "pid"): ("rate", "pid"),
    ("rate", "hold"): ("hold", "hold_rate"),
    ("rate", "geometric"): ("geometric", "geometric"),
    ("rate", "lqr"): ("lqr", "lqr"),
    ("rate", "incremental"): ("incremental", "incremental"),
    ("allocate", "priority"): ("allocate", "priority"),
}
"""Stock blocks by (slot, name): the module and the function, imported when asked for, since importing compiles."""

DEFAULTS = {slot: next(name for place, name in STOCK if place == slot) for slot in SLOTS}
"""The block of each slot that flies when none is named."""


@dataclass(frozen=True)
class Loaded:
    """A block with how it runs: `slow` with a `warning` for a plain Python function."""

    block: Block
    slow: bool = False
    warning: str = ""


def stock_blocks() -> list[Block]:
    """All stock blocks, compiled one after the other."""
    return [_stock(*key) for key in STOCK]


def default_block(slot: str) -> Block:
    """The block that flies in `slot` when none is named."""
    return _stock(slot, DEFAULTS[slot])


def load_block(spec: str, slot: str) -> Loaded:
    """The block that `spec` names for `slot`.

    Parameters
    ----------
    spec : a stock name such as `pid`, or `path/to/file.py:function`
    slot : one of SLOTS

    Raises
    ------
    BlockError : with a sentence that says what was given, what is allowed and what to do
    """
    if slot not in SLOTS:
        raise BlockError(f"there is no slot {slot!r}; slots are {', '.join(SLOTS)}")
    if ".py:" in spec:
        path, _, name = spec.rpartition(":")
        return _from_file(Path(path).expanduser(), name, slot)
    if spec.endswith(".py") or "/" in spec or "\\" in spec:
        raise BlockError(f"{spec} names no function; write FILE.py:FUNCTION")
    if (slot, spec) in STOCK:
        return Loaded(_stock(slot, spec))
    if (slot, spec) in REGISTRY:
        return Loaded(REGISTRY[slot, spec])
    raise BlockError(_unknown(spec, slot))


def _stock(slot: str, name: str) -> Block:
    module, function = STOCK[slot, name]
    return getattr(import_module(f"controllers.{module}"), function)


def _unknown(name: str, slot: str) -> str:
    known = sorted({n for place, n in [*STOCK, *REGISTRY] if place == slot})
    elsewhere = [place for place, n in STOCK if n == name]
    near = difflib.get_close_matches(name, known, 1)
    hint = f"; nearest: {near[0]}" if near else ""
    if elsewhere:
        hint = f"; {name} is a block for slot {elsewhere[0]}"
    return f"no {slot} block is named {name!r}; known: {', '.join(known)}{hint}; a block of your own is named FILE.py:FUNCTION"


def _from_file(path: Path, name: str, slot: str) -> Loaded:
    module = load_file(path)
    found = vars(module).get(name)
    if found is None:
        found = next((b for b in blocks_of(module) if b.name == name), None)
    if found is None:
        raise BlockError(
            f"{path} has no function {name!r}; it has {', '.join(_functions_of(module)) or 'no function'}"
        )
    if isinstance(found, Block):
        if found.slot != slot:
            raise BlockError(
                f"{path}:{name} is a block for slot {found.slot!r}, not {slot!r}; name it for that slot"
            )
        return Loaded(found)
    return _plain(path, name, slot, found)


def _plain(path: Path, name: str, slot: str, function: Any) -> Loaded:
    if hasattr(function, "py_func"):
        raise BlockError(
            f"{path}:{name} is compiled by numba's own decorator; use @block({slot!r}) of controllers instead"
        )
    if not inspect.isfunction(function):
        raise BlockError(
            f"{path}:{name} is of type {type(function).__name__}; must be a function (s, craft, gains, memory)"
        )
    count = function.__code__.co_argcount
    if count != 4:
        raise BlockError(
            f"{path}:{name} takes {count} arguments; a block takes exactly four: (s, craft, gains, memory)"
        )
    warning = (
        f"{path}:{name} is a plain Python function and runs slowly, some microseconds per call; "
        f'put @block("{slot}") of controllers over it to compile it'
    )
    about = (function.__doc__ or "").strip().split("\n")[0]
    return Loaded(Block(name, slot, function, about=about), True, warning)


def blocks_of(module: types.ModuleType) -> list[Block]:
    """The blocks that a user's file declares, in its order."""
    return [
        v for v in vars(module).values() if isinstance(v, Block) and v.function.__module__ == module.__name__
    ]


def _functions_of(module: types.ModuleType) -> list[str]:
    blocks = {id(b) for b in blocks_of(module)}
    return [
        name
        for name, value in vars(module).items()
        if id(value) in blocks or (inspect.isfunction(value) and value.__module__ == module.__name__)
    ]


def load_file(path: Path) -> types.ModuleType:
    """A user's file as a module, named after its path and text, so that compiled code is found again, and never an old one.

    Nothing is written beside the file. An unchanged file is not loaded twice.
    """
    try:
        source = path.read_bytes()
    except OSError as error:
        raise BlockError(f"{path} cannot be read: {error.strerror}; give the path of a Python file") from None
    full = path.resolve()
    key = hashlib.sha256(str(full).encode() + b"\0" + source).hexdigest()[:16]
    name = f"user_block_{full.stem}_{key}"
    if name in sys.modules:
        return sys.modules[name]
    tree = _parse(path, source)
    refuse_stale(path, full.parent, tree)
    module = types.ModuleType(name)
    module.__file__ = str(full)
    sys.modules[name] = module
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", NumbaWarning)  # what matters comes as an error, and is explained
            with cache_of_its_own(name):
                exec(compile(source, str(full), "exec"), module.__dict__)
    except BaseException as error:
        sys.modules.pop(name)
        if _is_of_compiler(error):
            raise BlockError(f"{path}{explain_compiler(error, source.decode())}") from None
        if isinstance(error, Exception):
            raise BlockError(f"{path}{explain_crash(error, str(full))}") from None
        raise
    return module


def _is_of_compiler(error: BaseException) -> bool:
    """Also the bare KeyError that an unknown field of a record ends in, deep inside the compiler."""
    if type(error).__module__.startswith("numba."):
        return True
    frames = traceback.extract_tb(error.__traceback__)
    return isinstance(error, KeyError) and f"{os.sep}numba{os.sep}" in frames[-1].filename


def _parse(path: Path, source: bytes) -> ast.Module:
    try:
        return ast.parse(source, str(path))
    except ValueError as error:  # null bytes, before Python 3.11.4
        raise BlockError(f"{path} is not a Python file: {error}") from None
    except SyntaxError as error:
        if error.lineno is None:
            raise BlockError(f"{path} is not a Python file: {error.msg}") from None
        shown = f": {error.text.strip()}" if error.text else ""
        raise BlockError(f"{path} line {error.lineno}: {error.msg}{shown}") from None


__all__ = ["DEFAULTS", "STOCK", "BlockError", "Loaded", "PythonBlock", "blocks_of", "load_block", "load_file",
           "make_python_block", "stock_blocks"]  # fmt: skip
