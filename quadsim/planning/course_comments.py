"""Comments of a course file: found table by table, and written again where their table or key has gone.

A comment above a table or key belongs to it, one behind a value to that value; one inside a value of several lines moves above
its key. Gates, posts and boxes are known by their names; one that was renamed, by its place in its row. What belongs to a thing
that is there no longer goes with it.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field

_TABLE = re.compile(r"\[{1,2}\s*([A-Za-z0-9_-]+)\s*\]{1,2}$")
_KEY = re.compile(r"\s*([A-Za-z0-9_-]+|\"[^\"]*\"|'[^']*')\s*=")
_NAME = re.compile(r"""["'](.*)["']$""")
TOP = ""
"""The keys above all tables."""


@dataclass
class TableNotes:
    """Comments of one table."""

    kind: str
    before: list[str] = field(default_factory=list)
    behind_head: str = ""
    name: str = ""
    above: dict[str, list[str]] = field(default_factory=dict)
    behind: dict[str, str] = field(default_factory=dict)

    @property
    def noted(self) -> set[str]:
        """Keys with a comment: they are written even where they may be left out."""
        return {*self.above, *self.behind}


@dataclass(frozen=True)
class Comments:
    """Comments of a file but those that it begins with."""

    tables: tuple[TableNotes, ...] = ()
    foot: tuple[str, ...] = ()
    """Below everything."""

    def of(self, kind: str, index: int = 0, name: str = "", present: Iterable[str] = ()) -> TableNotes:
        """Those of a table; `present` are the names that its row has now."""
        row = [notes for notes in self.tables if notes.kind == kind]
        for notes in row:
            if notes.name == name:
                return notes
        if index < len(row) and row[index].name not in set(present):
            return row[index]
        return TableNotes(kind, before=self.of(TOP).above.get(kind, []) if kind and not row else [])


NONE = Comments()


def comments_of(text: str, header: str = "") -> Comments:
    """The comments of a file's text that begins with `header`."""
    tables = [TableNotes(TOP)]
    waiting: list[str] = []
    for statement in _statements(text.splitlines()[len(header.splitlines()) :]):
        code, remark = statement.code, statement.remark
        if not code:
            waiting += [remark] if remark or waiting else []
            continue
        above, waiting = [*_trimmed(waiting), *statement.inside], []
        table, key = _TABLE.match(code), _KEY.match(code)
        if table:
            tables.append(TableNotes(table[1], above, remark))
        elif key:
            word = key[1].strip("\"'")
            if above:
                tables[-1].above[word] = above
            if remark:
                tables[-1].behind[word] = remark
            name = _NAME.search(code)
            if word == "name" and name and tables[-1].kind:
                tables[-1].name = name[1]
    return Comments(tuple(tables), tuple(_trimmed(waiting)))


def with_comments(notes: TableNotes, head: str, lines: Iterable[str]) -> list[str]:
    """The lines of a table, each `key = value`, with its comments; `head` is empty for the keys above all tables."""
    written = [*notes.before, _joined(head, notes.behind_head)] if head else []
    for line in lines:
        key = line.split(" = ", 1)[0]
        written += [*notes.above.get(key, []), _joined(line, notes.behind.get(key, ""))]
    return written


def _joined(code: str, remark: str) -> str:
    return f"{code}  {remark}" if remark else code


@dataclass
class _Statement:
    code: str
    remark: str
    inside: list[str]
    """Comments between the lines of one value."""


def _statements(lines: Sequence[str]) -> Iterator[_Statement]:
    """A table's head or a key with its whole value at a time, or a line without code; a comment is split off."""
    code, inside, quote, depth = "", [], "", 0
    for line in lines:
        part, remark, quote, depth = _scan(line, quote, depth)
        code = f"{code}\n{part}" if code else part.strip()
        if quote or depth > 0:
            inside += [remark] if remark else []
            continue
        yield _Statement(code.strip(), remark, inside)
        code, inside, depth = "", [], 0


def _scan(line: str, quote: str, depth: int) -> tuple[str, str, str, int]:
    """Code and comment of a line that begins inside `quote` and so many brackets; and what is open at its end."""
    k, head = 0, not quote and depth == 0 and line.lstrip().startswith("[")
    while k < len(line):
        here = line[k]
        if quote:
            if here == "\\" and quote[0] == '"':
                k += 1
            elif line.startswith(quote, k):
                k += len(quote) - 1
                quote = ""
        elif here in "\"'":
            quote = here * 3 if line.startswith(here * 3, k) else here
            k += len(quote) - 1
        elif here == "#":
            return line[:k].rstrip(), line[k:].rstrip(), "", depth
        elif not head:
            depth += (here in "[{") - (here in "]}")
        k += 1
    return line, "", quote if len(quote) == 3 else "", depth


def _trimmed(lines: list[str]) -> list[str]:
    """Without empty lines at the ends."""
    kept = list(lines)
    while kept and not kept[0]:
        kept.pop(0)
    while kept and not kept[-1]:
        kept.pop()
    return kept
