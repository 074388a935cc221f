"""What is wrong with a user's block, in one sentence with the line."""

from __future__ import annotations

import difflib
import re
import traceback

from controllers.signals import BUILDER_TABLE, SIGNALS_TABLE


class BlockError(ValueError):
    """A block that cannot be used: the message says what was given, what is allowed and what to do."""


_NOISE = (
    "Failed in",
    "During",
    "Overload",
    "There are",
    "- ",
    ">>>",
    "Known signatures",
    "*",
    "Enable",
    "This error",
)

_UNDEFINED = re.compile(r"NameError: name '(\w+)'")
_UNCOMPILED = re.compile(r"Untyped global name '(\w+)'.*<class 'function'>")
_MISFIT = re.compile(r"No implementation of function (?:Function\()?(?:<built-in function )?(\w+)")


def explain_compiler(error: BaseException, source: str = "") -> str:
    """The compiler's complaint as ` line N: sentence`; its usual dozens of lines name types nobody wrote.

    Parameters
    ----------
    error : what the compiler raised
    source : text of the user's file, to find the line of a name the compiler gives without one
    """
    text = str(error)
    lines = [line.strip() for line in text.splitlines()]
    reason = next((line for line in lines if line and not line.startswith(_NOISE)), "does not compile")
    found = re.findall(r'File "[^"]*", line (\d+)', text)
    line = found[0] if found else str(getattr(getattr(error, "loc", None), "line", "") or "")
    if isinstance(error, KeyError):
        line, reason = _line_of(rf"\.{error.args[0]}\b", source), _unknown_field(str(error.args[0]))
    elif match := _UNDEFINED.match(reason):
        line, reason = _line_of(rf"\b{match[1]}\b", source), f"the name {match[1]!r} is not defined"
    elif match := _UNCOMPILED.match(reason):
        reason = f"the function {match[1]!r} is not compiled: put @kernel of controllers over it"
    elif match := _MISFIT.match(reason):
        reason = f"{match[1]!r} does not work on what it is given here"
    elif "IntEnum" in reason:
        line = line or _line_of(r"\bs\.mode\b", source)
        reason = "a signal is a float and does not compare with a name of Mode or Stick: write int(s.mode)"
    reason = re.sub(r"(Record\(.*\)|Raised from.*)", "", reason).rstrip(" .")
    place = f" line {line}" if line else ""
    return f"{place}: {reason[:200]}; a block may use numbers, arrays, `math` and functions under @kernel"


def _line_of(pattern: str, source: str) -> str:
    """Number of the first line that the pattern is found in."""
    return next((str(n) for n, line in enumerate(source.splitlines(), 1) if re.search(pattern, line)), "")


def explain_crash(error: Exception, filename: str) -> str:
    """An exception raised in the user's file as ` line N: type: message`."""
    frames = [f for f in traceback.extract_tb(error.__traceback__) if f.filename == filename]
    place = f" line {frames[-1].lineno}" if frames else ""
    known = isinstance(error, ValueError)
    return f"{place}: {error}" if known else f"{place}: {type(error).__name__}: {error}"


def _unknown_field(name: str) -> str:
    known = [s.name for s in (*SIGNALS_TABLE, *BUILDER_TABLE)]
    near = difflib.get_close_matches(name, known, 1)
    return f"there is no signal or craft value {name!r}" + (f"; nearest: {near[0]}" if near else "")
