"""A file's data as TOML text that reads back as the same data: tables for sections, one line for what is inside them."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from typing import Any


def toml_text(data: Mapping[str, Any]) -> str:
    """The text: bare keys first, then a [section] or [[section]] for each table."""
    bare = [(name, value) for name, value in data.items() if not _is_table(value)]
    lines = [f"{_key(name)} = {_value(value)}" for name, value in bare]
    for name, value in data.items():
        if _is_table(value):
            lines += _tables(name, value)
    return "\n".join(lines) + "\n"


def _is_table(value: Any) -> bool:
    many = isinstance(value, list) and bool(value) and all(isinstance(one, Mapping) for one in value)
    return isinstance(value, Mapping) or many


def _tables(name: str, value: Any) -> Iterator[str]:
    many = isinstance(value, list)
    for one in value if many else [value]:
        yield f"\n[[{_key(name)}]]" if many else f"\n[{_key(name)}]"
        yield from (f"{_key(key)} = {_value(item)}" for key, item in one.items())


def _key(name: str) -> str:
    bare = bool(name) and all(sign.isascii() and (sign.isalnum() or sign in "_-") for sign in name)
    return name if bare else json.dumps(name)


def _value(value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
    if isinstance(value, Mapping):
        return "{ " + ", ".join(f"{_key(key)} = {_value(item)}" for key, item in value.items()) + " }"
    if isinstance(value, (list, tuple)):
        return "[" + ", ".join(map(_value, value)) + "]"
    return repr(float(value)) if isinstance(value, float) else str(value)
