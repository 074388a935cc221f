"""A key of the craft's or the flight's file that is varied: found by its name, with its range, and set in the file's data.

Names are written as in messages about a file: `battery.capacity_mAh`, `parts#3.mass_g` (the third part), `parts#3.at_mm#1` (the
first of its three numbers), `gains.rate.roll_p`.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, get_args

from pydantic import BaseModel
from pydantic_core import PydanticCustomError

from quadsim.config import Craft
from quadsim.config.flight_schema import FlightFile
from quadsim.config.listing import model_at, quantity_of
from quadsim.config.quantity import Quantity, Triple
from quadsim.config.toml_reader import KeyPath
from quadsim.errors import InputError, Problem

OPTION = "--vary"
ELSEWHERE = {
    "seed": "Fly several with --seeds N, or begin at one with --seed",
    "craft": "Name crafts with --craft A,B",
    "controllers": "Name control laws with --law A,B",
    "expect": "Change the file: its bounds judge the flights, and flights that are kept are judged anew",
    "ends": "Change the file: flights that are kept are judged anew",
}
"""Sections that are not varied by their key, and what to do instead."""
WORDS = ("name", "title", "about", "event", "trajectory")
"""Keys that say something, but change no flight."""
_STEP = re.compile(r"([A-Za-z0-9_]+)(?:#(\d+))?")


@dataclass(frozen=True)
class Key:
    """One key: its name as written, the file it belongs to, its place in the data, its range, and what stands there now."""

    name: str
    file: str
    path: KeyPath
    quantity: Quantity | None
    value: Any
    whole_list: tuple[Any, ...] = ()

    @property
    def unit(self) -> str:
        """Its unit; empty for a bare number and for words."""
        return "" if self.quantity is None or self.quantity.unit == "-" else self.quantity.unit

    @property
    def is_number(self) -> bool:
        """True where it takes a number; gains are numbers whose range the law alone knows."""
        return self.quantity is not None or self.path[0] == "gains"

    def checked(self, given: Any) -> Any:
        """A value as the file would take it.

        Raises
        ------
        InputError
            when it is no number, or out of the key's range.
        """
        if self.quantity is None:
            return given
        one = _alone(self.quantity)
        try:
            value = one.check(given)
        except PydanticCustomError as error:
            context = error.context or {}
            problem = Problem(
                f"{OPTION} {self.name}", context["given"], context["allowed"], context["remedy"]
            )
            raise InputError([problem]) from None
        return value if one.whole else float(value)

    def within(self, number: float) -> float:
        """A drawn number, brought back into the key's range."""
        if self.quantity is None:
            return number
        low, high = self.quantity.low, self.quantity.high
        span = high - low
        return min(max(number, low + 1e-6 * span if self.quantity.above else low), high)


def _alone(quantity: Quantity) -> Quantity:
    """The range of one of several numbers."""
    if not isinstance(quantity, Triple):
        return quantity
    return Quantity(quantity.low, quantity.high, quantity.unit, quantity.meaning)


def find_key(name: str, craft: Craft, flight: FlightFile) -> Key:
    """The key with this name.

    Raises
    ------
    InputError
        when there is none; it names the nearest.
    """
    steps = [_STEP.fullmatch(part) for part in name.split(".")]
    if not all(steps):
        raise _refused(name, "is no name of a key", "write it as battery.capacity_mAh or parts#3.mass_g")
    path: KeyPath = ()
    for step in steps:
        assert step is not None
        path += (step[1],) if step[2] is None else (step[1], int(step[2]) - 1)
    first = str(path[0])
    if first in ELSEWHERE:
        raise _refused(name, "is not varied by its key", "", ELSEWHERE[first])
    file = "craft" if first in Craft.model_fields else "flight"
    return _walked(name, file, path, craft if file == "craft" else flight)


def _walked(name: str, file: str, path: KeyPath, whole: BaseModel) -> Key:
    """Follow the path through the checked file, or through the schema alone where a section is absent."""
    if file == "craft" and path[0] == "gains" and len(path) == 3:
        return Key(name, file, path, None, whole.gains.get(path[1], {}).get(path[2]))  # type: ignore[attr-defined]
    owner: type[BaseModel] | None = type(whole)
    value: Any = whole
    field = None
    rest = list(path)
    whole_list: tuple[Any, ...] = ()
    while rest:
        step = rest.pop(0)
        if owner is None or step not in owner.model_fields:
            raise _unknown(name)
        field = owner.model_fields[str(step)]
        value = getattr(value, str(step), None)
        owner = model_at(owner, (step,))
        if rest and isinstance(rest[0], int):
            k = rest.pop(0)
            whole_list = value if isinstance(value, tuple) and not rest else ()
            value = _one_of(name, value, int(k))
    if owner is not None or field is None or path[0] in WORDS:
        inside = f"keys there: {', '.join(owner.model_fields)}" if owner else "it changes no flight"
        raise _refused(
            name, "is a whole section" if owner else "is a text", inside, "Name a key with a number"
        )
    quantity = quantity_of(field)
    if isinstance(value, tuple) or (isinstance(quantity, Triple) and not isinstance(path[-1], int)):
        raise _refused(
            name, "is several numbers", "one is varied at a time", f"Say which: {name}#1, {name}#2, ..."
        )
    if quantity is None and bool in (field.annotation, *get_args(field.annotation)):
        return Key(name, file, path, None, bool(value))
    return Key(name, file, path, quantity, value, whole_list)


def _one_of(name: str, value: Any, k: int) -> Any:
    if not isinstance(value, tuple) or not 0 <= k < len(value):
        there = len(value) if isinstance(value, tuple) else 0
        raise _refused(name, f"#{k + 1} is not there", f"the file has {there} of them, counted from #1")
    return value[k]


def set_key(data: dict[str, Any], key: Key, value: Any) -> None:
    """Write a value into a file's data, in place; sections that are not there are made."""
    at: Any = data
    for step, after in zip(key.path[:-1], key.path[1:], strict=True):
        if isinstance(step, int):
            at = at[step]
        elif isinstance(after, int) and step not in at:
            at[step] = [float(one) for one in key.whole_list]
            at = at[step]
        else:
            at = at.setdefault(step, {})
    at[key.path[-1]] = value


def numbers_of(model: type[BaseModel], prefix: str = "") -> Iterator[str]:
    """Names of all keys that hold numbers."""
    for name, field in model.model_fields.items():
        below = model_at(model, (name,))
        if below is not None:
            many = "tuple" in str(field.annotation)
            yield from numbers_of(below, f"{prefix}{name}{'#1' if many else ''}.")
        elif quantity_of(field) is not None:
            yield prefix + name


def _unknown(name: str) -> InputError:
    known = [*numbers_of(Craft), *numbers_of(FlightFile)]
    last = name.rsplit(".", 1)[-1]
    near = [one for one in known if one.rsplit(".", 1)[-1] == last]
    near += [one for one in difflib.get_close_matches(name, known, 3, 0.5) if one not in near]
    remedy = (
        f"Nearest: {', '.join(near[:3])}"
        if near
        else "Keys: scenarios/crafts/README.md and scenarios/flights/README.md"
    )
    return _refused(name, "is no key of a craft or a flight", "", remedy)


def _refused(name: str, given: str, allowed: str, remedy: str = "") -> InputError:
    return InputError([Problem(f"{OPTION} {name}", given, allowed, remedy)])
