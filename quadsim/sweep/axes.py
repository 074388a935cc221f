"""What is varied: keys over stated values (a grid), and keys drawn at random (a scatter), as written on the command line."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import Any

from quadsim.config import Craft
from quadsim.config.flight_schema import FlightFile
from quadsim.errors import InputError, Problem
from quadsim.sweep.keys import OPTION, Key, find_key

FORMS = "KEY=LOW:HIGH:COUNT, KEY=A,B,C, K1/K2=A1/A2,B1/B2, or with --scatter KEY=VALUE~SIGMA or KEY=LOW..HIGH"
MOST_VALUES = 1000
DIGITS = 7
"""Significant digits of a value: what is printed is what was flown."""
_NUMBER = r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?"
_NORMAL = re.compile(rf"({_NUMBER})?~({_NUMBER})")
_UNIFORM = re.compile(rf"({_NUMBER})\.\.({_NUMBER})")


@dataclass(frozen=True)
class Axis:
    """A key and the values it takes, in the order stated. beside : keys that go with it, each with as many values"""

    key: Key
    values: tuple[Any, ...]
    beside: tuple[tuple[Key, tuple[Any, ...]], ...] = ()

    @property
    def numeric(self) -> bool:
        """True when all its values are numbers."""
        return all(isinstance(one, (int, float)) and not isinstance(one, bool) for one in self.values)

    @property
    def keys(self) -> tuple[Key, ...]:
        """The key and those that go with it."""
        return (self.key, *(key for key, _ in self.beside))

    def changes(self, value: Any) -> tuple[tuple[Key, Any], ...]:
        """What is set in the files for one of its values."""
        k = self.values.index(value)
        return ((self.key, value), *((key, values[k]) for key, values in self.beside))


@dataclass(frozen=True)
class Drawn:
    """A key drawn at random: normal about `value` with `sigma`, or, where `uniform`, evenly over value -+ sqrt(3) sigma."""

    key: Key
    value: float
    sigma: float
    uniform: bool = False


def rounded(number: float) -> float:
    """A number with so many digits as are printed."""
    return float(f"{number:.{DIGITS}g}")


def read_vary(text: str, craft: Craft, flight: FlightFile) -> Axis | Drawn:
    """One `--vary`.

    Raises
    ------
    InputError
        for a key that does not exist, a form that is none, or a value out of the key's range.
    """
    name, equals, given = (part.strip() for part in text.partition("="))
    if ";" in given:
        raise _refused(text, "has a semicolon", "commas part values, decimals begin with a point", FORMS)
    if not equals or not given:
        raise _refused(text, "has no values", FORMS)
    if "/" in name:
        return _together(text, [find_key(one.strip(), craft, flight) for one in name.split("/")], given)
    key = find_key(name, craft, flight)
    if (normal := _NORMAL.fullmatch(given)) or (uniform := _UNIFORM.fullmatch(given)):
        if not key.is_number:
            raise _refused(text, "draws a key that is no number", FORMS)
        if key.quantity is not None and key.quantity.whole:
            raise _refused(text, "draws a whole number", "state its values", "Write them as 1,2,3")
        return _normal(text, key, normal) if normal else _uniform(key, uniform)  # type: ignore[arg-type]
    values = _even(text, key, given) if given.count(":") == 2 and key.is_number else given.split(",")
    if not any(isinstance(one, str) and not one.strip() for one in values):
        return Axis(key, tuple(dict.fromkeys(key.checked(_value(key, one)) for one in values)))
    raise _refused(text, "has an empty value", FORMS)


def _together(text: str, keys: list[Key], given: str) -> Axis:
    """Keys that go together, such as capacity and mass of packs one can buy: K1/K2=A1/A2,B1/B2."""
    groups = [one.split("/") for one in given.split(",")]
    for group in groups:
        if len(group) != len(keys):
            raise _refused(
                text, f"has {'/'.join(group)!r} for {len(keys)} keys", "a value for each: K1/K2=A1/A2,B1/B2"
            )
    first, *others = (
        tuple(key.checked(_value(key, group[k])) for group in groups) for k, key in enumerate(keys)
    )
    if len(set(first)) < len(first):
        raise _refused(
            text, f"has a value of {keys[0].name} twice", "each once", "Begin with a key that differs"
        )
    return Axis(keys[0], first, tuple(zip(keys[1:], others, strict=True)))


def _normal(text: str, key: Key, found: re.Match[str]) -> Drawn:
    value = key.value if found[1] is None else key.checked(_value(key, found[1]))
    if value is None:
        raise _refused(text, "has no value to draw about", "the file states none", "Write KEY=VALUE~SIGMA")
    if not 0.0 < float(found[2]) < math.inf:
        raise _refused(text, f"has sigma {found[2]}", "must be above 0, and a number")
    return Drawn(key, float(value), float(found[2]))


def _uniform(key: Key, found: re.Match[str]) -> Drawn:
    low, high = sorted(key.checked(_value(key, found[k])) for k in (1, 2))
    return Drawn(key, 0.5 * (low + high), (high - low) / 12.0**0.5, uniform=True)


def _even(text: str, key: Key, given: str) -> list[float]:
    """Evenly spaced values, both ends among them."""
    low, high, count = given.split(":")
    if not all(
        re.fullmatch(_NUMBER, one) and math.isfinite(float(one)) for one in (low, high)
    ) or not re.fullmatch(r"\d+", count):
        raise _refused(
            text, f"is {given!r}", "LOW:HIGH:COUNT, three numbers", "Such as 1300:2200:4, both ends are flown"
        )
    if not 2 <= int(count) <= MOST_VALUES:
        raise _refused(text, f"has {count} values", f"COUNT must be 2 to {MOST_VALUES}, it is no step")
    step = (float(high) - float(low)) / (int(count) - 1)
    return [rounded(float(low) + k * step) for k in range(int(count))]


def _value(key: Key, given: Any) -> Any:
    """Text as what the key takes: a number, true or false, or a word; a number as it is."""
    if isinstance(given, str):
        given = given.strip()
        if isinstance(key.value, bool):
            if given not in ("true", "false"):
                raise _refused(key.name, f"is {given!r}", "must be true or false")
            return given == "true"
        if not key.is_number:
            return given
        if not re.fullmatch(_NUMBER, given) or not math.isfinite(float(given)):
            raise _refused(key.name, f"is {given!r}", "must be a number", _remedy(given))
        given = float(given)
    whole = key.quantity is not None and key.quantity.whole and given == int(given)
    return int(given) if whole else given


def _remedy(given: str) -> str:
    """What to write instead of text that is no number."""
    if given.count(":") == 1:
        return f"Evenly spaced values need their number, too: {given}:5"
    return f"Forms: {FORMS}"


def _refused(text: str, given: str, allowed: str, remedy: str = "") -> InputError:
    return InputError([Problem(f"{OPTION} {text}", given, allowed, remedy)])
