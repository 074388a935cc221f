"""Commands that say of an option what was given, what is allowed and what to do."""

from __future__ import annotations

from typing import Any

import typer
from typer.core import TyperCommand

_WORDS = {
    "a valid number, unable to parse string as a number": "a number",
    "a valid integer, unable to parse string as an integer": "an integer",
}


class Command(TyperCommand):
    """A command whose complaints name the value, and the options that share a word with an unknown one."""

    def parse_args(self, ctx: Any, args: list[str]) -> list[str]:
        """As always; what is refused is said in full."""
        given = list(args)
        try:
            return super().parse_args(ctx, args)
        except typer.BadParameter as error:
            error.message = _refused(error, given)
            raise
        except Exception as error:
            if hasattr(error, "possibilities") and hasattr(error, "option_name"):
                known = [name for one in self.params for name in one.opts if name.startswith("--")]
                error.possibilities = _alike(str(error.option_name), known)
            raise


def _refused(error: Any, given: list[str]) -> str:
    """`is '0,3'; must be a number. Give the bare number, 0.3; ...` for the library's words without the value."""
    said = str(error.message)
    names = getattr(error.param, "opts", [])
    value = _value(names, given)
    _, found, rest = said.partition("Input should be ")
    if not found or value is None:
        return said
    from quadsim.config.unit_slips import unit_remedy  # the library of schemas: only where something is wrong

    remedy = unit_remedy(names[0], value, None) if rest in _WORDS else ""
    return f"is {value!r}; must be {_WORDS.get(rest, rest)}" + (f". {remedy}" if remedy else "")


def _value(names: list[str], given: list[str]) -> str | None:
    """What stands behind an option, `--name VALUE` or `--name=VALUE`."""
    for k, word in enumerate(given):
        name, equals, value = word.partition("=")
        if name in names:
            return value if equals else given[k + 1] if k + 1 < len(given) else None
    return None


def _alike(unknown: str, known: list[str]) -> list[str]:
    """The options that share a word with an unknown one; all of them where none does."""
    words = set(unknown.lower().strip("-").split("-"))
    alike = [name for name in known if words & set(name.lower().strip("-").split("-")) - {"m", "s", "g"}]
    return alike or known
