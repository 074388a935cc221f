"""What a user's file may lean on, so that its compiled code on disk can never be out of date without a trace.

Compiled code is found again by the text of the file itself, of `controllers`, and the version of Python. Whatever else goes
into it (a helper beside it, a package that may be updated, a table of numbers read from a file) would change unseen.
"""

from __future__ import annotations

import ast
import sys
from collections.abc import Iterator
from pathlib import Path

from controllers.explain import BlockError

_MAY_COMPILE = {"controllers", "numpy", "numba", "__future__"}
_IMPORTERS = {"importlib", "imp", "runpy", "pkgutil"}
_LOADING = {"__import__", "import_module", "exec", "eval", "run_path", "run_module"}
_READING = {
    "open",
    "load",
    "loadtxt",
    "genfromtxt",
    "fromfile",
    "memmap",
    "read_text",
    "read_bytes",
    "getenv",
}


def refuse_stale(path: Path, folder: Path, tree: ast.Module) -> None:
    """Raise BlockError where the file takes code or numbers from elsewhere; plain Python functions may, as they never compile."""
    compiled = any(_is_compiled(node) for node in ast.walk(tree))
    for line, name in _imports(tree):
        top = name.split(".")[0]
        if _is_beside(folder, top) and top not in sys.stdlib_module_names and top != "controllers":
            raise BlockError(
                f"{path} line {line} imports {name!r} from beside it; a block lives in one file: "
                "copy what it needs into that file"
            )
        if top in _IMPORTERS:
            raise BlockError(
                f"{path} line {line} imports {name!r}, which loads other files; a block lives in one file: "
                "copy what it needs into that file"
            )
        if compiled and top not in sys.stdlib_module_names and top not in _MAY_COMPILE:
            raise BlockError(
                f"{path} line {line} imports {name!r}; a file with compiled blocks may import numpy, numba, controllers "
                "and what comes with Python alone, since compiled code would not notice a new version of anything else: "
                f"copy what it needs, or fly it as a plain Python function without @block"
            )
    for line, name in _calls(tree):
        if name in _LOADING:
            raise BlockError(
                f"{path} line {line} calls {name!r}, which loads other code; a block lives in one file: "
                "copy what it needs into that file"
            )
        if compiled and name in _READING:
            raise BlockError(
                f"{path} line {line} calls {name!r}; numbers read from a file are frozen into compiled code, which would not "
                "notice when they change: write them into this file, or make them gains"
            )


def _is_compiled(node: ast.AST) -> bool:
    """A function under @block, @kernel or one of numba's own decorators."""
    if not isinstance(node, ast.FunctionDef):
        return False
    marks = [mark.func if isinstance(mark, ast.Call) else mark for mark in node.decorator_list]
    return any(_last_name(mark) in ("block", "kernel", "njit", "jit", "inner") for mark in marks)


def _last_name(node: ast.AST) -> str:
    if isinstance(node, ast.Attribute):
        return node.attr
    return node.id if isinstance(node, ast.Name) else ""


def _imports(tree: ast.Module) -> Iterator[tuple[int, str]]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from ((node.lineno, alias.name) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            yield node.lineno, "." if node.level else node.module or "."


def _is_beside(folder: Path, top: str) -> bool:
    return not top or (folder / f"{top}.py").is_file() or (folder / top / "__init__.py").is_file()


def _calls(tree: ast.AST) -> Iterator[tuple[int, str]]:
    """Line and name of every call outside compiled functions, where the compiler itself says what does not work."""
    for node in ast.iter_child_nodes(tree):
        if _is_compiled(node):
            continue
        if isinstance(node, ast.Call):
            yield node.lineno, _last_name(node.func)
        yield from _calls(node)
