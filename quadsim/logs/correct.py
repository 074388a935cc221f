"""The craft file with what a log says written into it, comments kept, and the proof on the rows that no fit saw."""

from __future__ import annotations

from dataclasses import dataclass, replace

from quadsim.config import Craft, parse_craft
from quadsim.config.toml_reader import key_lines
from quadsim.errors import InputError, Problem
from quadsim.logs.agreement import Agreement
from quadsim.logs.along import along, model_of
from quadsim.logs.channels import channels
from quadsim.logs.comparison import Comparison
from quadsim.logs.estimate import Estimate, Key

MOST_DELAY_MS = 15.0
"""Greatest `esc.delay_ms` that a craft file takes [ms]."""


@dataclass(frozen=True)
class Proof:
    """One channel on the rows kept back: with the craft file as it was, and as corrected."""

    before: Agreement
    after: Agreement

    @property
    def better(self) -> bool:
        """Whether the corrected craft is nearer to the log."""
        return self.after.rms < self.before.rms


def to_write(found: Comparison) -> list[Estimate]:
    """The estimates that a corrected file takes: those with a key that say more than the file; a delay only when it differs."""
    told = [one for one in found.estimates if one.key is not None and one.tells]
    return [one for one in told if one.name != "delay" or _worth(one)]


def _worth(one: Estimate) -> bool:
    """Whether a delay is off the file's and one that the file may hold."""
    assert one.key is not None and isinstance(one.key.value, float)
    return one.verdict in ("corrects", "contradicts") and 0.0 <= one.key.value <= MOST_DELAY_MS


def corrected_text(found: Comparison, name: str) -> str:
    """The craft file's text with the estimates in it. name : of the log, for the comments

    Raises
    ------
    InputError
        when something grave looks wrong with the log, or it says nothing that the file does not know.
    """
    if not found.sound:
        grave = [Problem("LOG", one.text) for one in found.suspicions if one.grave]
        raise InputError(grave, "nothing is written into a craft file from a log that looks wrong")
    wanted = to_write(found)
    if not wanted:
        given = "says nothing that the craft file does not know better"
        raise InputError(
            [Problem("--apply", f"this log {given}", "", "Fly what is said under `cannot tell`")]
        )
    text = found.craft.source_text
    for one in wanted:
        assert one.key is not None
        text = with_key(text, one.key, f"from {name}")
    return text


def corrected(found: Comparison, name: str) -> Craft:
    """The corrected craft, checked like any file."""
    craft = parse_craft(corrected_text(found, name), f"corrected {found.craft.name}")
    craft._path = found.craft.path
    return craft


def with_key(text: str, key: Key, why: str) -> str:
    """TOML text with one key of a section set; its other lines and comments stay, the old line becomes a comment."""
    section, _, name = key.name.partition(".")
    lines = text.splitlines()
    at = key_lines(text)
    written = f"{name} = {_written(key)} # {_sigma_words(key)}{why}"
    if (section, name) in at:
        first = at[section, name] - 1
        was = lines[first].strip()
        end = first + 1
        while end < len(lines) and was.count("[") > was.count("]"):
            was += " " + lines[end].strip()
            end += 1
        return "\n".join([*lines[:first], f"{written}, was: {was}", *lines[end:]]) + "\n"
    if (section,) in at and lines[at[section,] - 1].lstrip().startswith("["):
        line = at[section,]
        return "\n".join([*lines[:line], written, *lines[line:]]) + "\n"
    return "\n".join([*lines, "", f"[{section}]", written]) + "\n"


def _written(key: Key) -> str:
    if isinstance(key.value, tuple):
        return "[" + ", ".join(f"{one:.4g}" for one in key.value) + "]"
    value = f"{key.value:.5g}"
    return f"{{ value = {value}, sigma = {key.sigma:.2g} }}" if key.sigma > 0.0 else value


def _sigma_words(key: Key) -> str:
    if isinstance(key.value, tuple) and key.sigma > 0.0:
        return f"standard uncertainty {100.0 * key.sigma:.2g} %, "
    return ""


def prove(found: Comparison, craft: Craft) -> list[Proof]:
    """Every channel on the rows kept back, before and after."""
    model = model_of(craft, found.site)
    said = along(model, found.log, found.wind)
    before = channels(found.model, found.log, found.said, found.kept, found.offsets, found.fitted)
    after = channels(model, found.log, said, found.kept, found.offsets, found.fitted)
    return [
        Proof(one, replace(two, allowed=one.allowed, why=one.why))
        for one, two in zip(before, after, strict=True)
    ]
