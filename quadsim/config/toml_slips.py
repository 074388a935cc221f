"""What a builder who writes TOML for the first time gets wrong, told apart from what the parser says of it."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable, Iterator

from quadsim.errors import Problem

_AT = re.compile(r" ?\(at (?:line (\d+), column \d+|end of document)\)$")
_PAIR = re.compile(r"^\s*([\w.\"'-]+(?:[ \t]+[\w-]+)*)\s*=\s*(.*?)\s*(?:#[^\"']*)?$")
_NUMBER = r"[-+]?\d+(?:\.\d+)?"
_COMMA = re.compile(rf"(?:^|[=\s]){_NUMBER},\d+(?=\s*(?:$|[,}}\]]))")
_SHOWN, _MOST = 60, 12


def syntax_problems(text: str, error: tomllib.TOMLDecodeError) -> list[Problem]:
    """The line that the parser stopped at, and every other line with a slip that is known, each with what to write."""
    said = str(error)
    at = _AT.search(said)
    reason = said[: at.start()] if at else said
    lines = text.splitlines()
    stopped = int(at[1]) if at and at[1] else max(len(lines), 1)
    found = {number: advice for number, advice in _slips(lines) if number != stopped}
    line = lines[stopped - 1] if stopped <= len(lines) else ""
    advice = _twice(lines, stopped, reason) or _slip(line) or _OF_REASON.get(reason, "")
    found[stopped] = advice or f"{reason}. Mend that line first"
    return [_problem(number, lines, found[number]) for number in sorted(found)][:_MOST]


def _problem(number: int, lines: list[str], advice: str) -> Problem:
    line = lines[number - 1].strip() if number <= len(lines) else ""
    shown = line if len(line) <= _SHOWN else line[: _SHOWN - 3] + "..."
    return Problem(f"line {number}", f"{shown!r} is not valid TOML", "", advice)


def _slips(lines: list[str]) -> Iterator[tuple[int, str]]:
    """Number and advice of the lines that no parser would take and that show why."""
    for number, line in enumerate(lines, start=1):
        advice = _slip(line) if _PAIR.match(line) else ""
        if advice and _is_broken(line):
            yield number, advice


def _is_broken(line: str) -> bool:
    try:
        tomllib.loads(line)
    except tomllib.TOMLDecodeError:
        return True
    return False


def _slip(line: str) -> str:
    """What to write instead of a line; empty when none of the known slips is in it."""
    if any(sign in line for sign in "“”„‟‘’"):
        return "Put text in straight quotes: \" or '"
    if line.lstrip().startswith("//") or re.search(r"\s//", line):
        return "A comment begins with #"
    pair = _PAIR.match(line)
    if pair is None:
        if re.match(r"^\s*[\w.-]+\s*:", line):
            return "Write key = value, with = for the colon"
        bare = re.match(r"^\s*([\w.-]+)\s*$", line)
        return (
            f"A section stands in brackets, [{bare[1]}]; a key has a value: {bare[1]} = ..." if bare else ""
        )
    key, value = pair[1], pair[2]
    if re.search(r"[ \t]", key.strip()) and "." not in key and '"' not in key:
        return f"A key has no spaces: {re.sub(r'[ ]+', '_', key)} = {value}"
    return next((advice for slip in _OF_VALUE if (advice := slip(key, value))), "")


def _comma(key: str, value: str) -> str:
    found = _COMMA.search(value)
    if not found or value.startswith("["):
        return ""
    number = found[0].strip()
    whole, _, rest = number.rpartition(",")
    if len(rest) == 3 and "." not in whole:
        return f"No comma in a number: {whole}{rest}, or {whole}.{rest} if it was meant as decimal comma"
    return f"A decimal point, not a comma: {key} = {value.replace(number, f'{whole}.{rest}')}"


def _unit(key: str, value: str) -> str:
    found = re.fullmatch(rf"({_NUMBER})\s*(?!e\d)([A-Za-z%°µΩ\"]\S*.*)", value)
    if not found:
        return ""
    return f"A bare number, {key} = {found[1]}: the unit is in the name of the key"


def _half_number(key: str, value: str) -> str:
    if re.fullmatch(r"[-+]?\.\d+", value):
        return f"A digit before the point: {key} = {value.replace('.', '0.')}"
    if re.fullmatch(r"[-+]?\d+\.", value):
        return f"A digit after the point: {key} = {value}0"
    if re.fullmatch(r"[-+]?0\d+(?:\.\d+)?", value):
        return f"No zero in front: {key} = {value.lstrip('+-').lstrip('0')}"
    return ""


def _unquoted(key: str, value: str) -> str:
    if value.lower() in ("true", "false"):
        return f"Small letters: {key} = {value.lower()}"
    if re.fullmatch(r"[A-Za-z][\w .,/-]*", value):
        return f'Text stands in quotes: {key} = "{value}"'
    if re.fullmatch(r"\"[^\"]*", value) or re.fullmatch(r"'[^']*", value):
        return f"The quote is not closed: {key} = {value}{value[0]}"
    if re.fullmatch(r"\"[A-Za-z]:\\[^\"]*\"", value):
        return f"A path with / for \\, or in single quotes: {key} = '{value[1:-1]}'"
    return f"A value belongs behind the =: {key} = ..." if not value else ""


_OF_VALUE: tuple[Callable[[str, str], str], ...] = (_comma, _unit, _half_number, _unquoted)

_OF_REASON = {
    "Unclosed array": "A list that begins above, with [, is not closed: ]",
    "Unclosed inline table": "A { is not closed by } on its own line",
    "Expected ']' at the end of a table declaration": "The section's bracket is not closed: [name]",
    "Expected ']]' at the end of an array declaration": "The section's brackets are not closed: [[name]]",
}


def _twice(lines: list[str], stopped: int, reason: str) -> str:
    """Where a key or a section stood before that must stand once."""
    line = lines[stopped - 1] if stopped <= len(lines) else ""
    if reason.startswith("Cannot declare"):
        same = (number for number, one in enumerate(lines[: stopped - 1], 1) if _bare(one) == _bare(line))
        first = next(same, None)
        name = _bare(line)
        return f"{name} stands on line {first} already: put all its keys there" if first else ""
    if not reason.startswith("Cannot overwrite a value"):
        return ""
    key = line.split("=")[0].strip()
    for number in range(stopped - 1, 0, -1):
        before = lines[number - 1]
        if _bare(before).startswith("["):
            return ""
        if before.split("=")[0].strip() == key:
            return f"{key} is given on line {number} already: leave one out"
    return ""


def _bare(line: str) -> str:
    return line.split("#")[0].strip()
