"""Numbers of a file: with a unit, a range, and perhaps an uncertainty."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from pydantic import BaseModel, GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic_core import CoreSchema, PydanticCustomError, core_schema


class Uncertain(float):
    """A number that may carry a standard uncertainty; it is used like any float.

    sigma : standard uncertainty in the number's own unit, 0 when none was stated
    """

    sigma: float

    def __new__(cls, value: float, sigma: float = 0.0) -> Uncertain:
        """The number `value` with the standard uncertainty `sigma`."""
        number = super().__new__(cls, value)
        number.sigma = float(sigma)
        return number

    @classmethod
    def __get_pydantic_core_schema__(cls, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        """Written out as the bare number."""
        return core_schema.no_info_plain_validator_function(
            cls, serialization=core_schema.plain_serializer_function_ser_schema(float)
        )


def refusal(given: str, allowed: str, remedy: str = "") -> PydanticCustomError:
    """An error that pydantic collects with the others, with the three parts of a `Problem`."""
    return PydanticCustomError("refused", "{given}", {"given": given, "allowed": allowed, "remedy": remedy})


@dataclass(frozen=True)
class Quantity:
    """Annotation of a number: allowed range in its unit, and what it means.

    low, high : bounds, both allowed unless `above` (then low itself is not)
    whole : only whole numbers
    """

    low: float
    high: float
    unit: str
    meaning: str
    above: bool = False
    whole: bool = False

    @property
    def range_text(self) -> str:
        """The range in words, with its unit."""
        unit = "" if self.unit == "-" else f" {self.unit}"
        return f"{'above ' if self.above else ''}{self.low:g} to {self.high:g}{unit}"

    @property
    def allowed(self) -> str:
        """What is allowed, as a clause."""
        return f"must be a {'whole ' if self.whole else ''}number, {self.range_text}"

    def check(self, given: Any) -> Any:
        """The number as `Uncertain` (or int when whole), or a refusal."""
        sigma: Any = 0.0
        value = given
        if isinstance(given, dict):
            extra = set(given) - {"value", "sigma"}
            if extra or "value" not in given:
                raise refusal(f"is {given!r}", "must be a number or { value = ..., sigma = ... }")
            value, sigma = given["value"], given.get("sigma", 0.0)
        if isinstance(value, str):
            raise refusal(
                f"is the text {value!r}", self.allowed, "Give a bare number; the unit is in the key"
            )
        if not _is_number(value):
            raise refusal(f"is {given!r}", self.allowed)
        self._check_range(value)
        if not _is_number(sigma) or not 0.0 <= sigma <= self.high - self.low:
            raise refusal(
                f"has sigma {sigma!r}", f"sigma must be 0 to {self.high - self.low:g}, in {self.unit}"
            )
        if self.whole:
            return int(value)
        return Uncertain(value, sigma if sigma else getattr(value, "sigma", 0.0))

    def _check_range(self, value: float) -> None:
        inside = self.low < value <= self.high if self.above else self.low <= value <= self.high
        if not (math.isfinite(value) and inside) or (self.whole and value != int(value)):
            raise refusal(f"is {value:.12g}", self.allowed)

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        """Let pydantic call `check`."""
        return core_schema.no_info_plain_validator_function(
            self.check, json_schema_input_schema=core_schema.any_schema()
        )

    def __get_pydantic_json_schema__(
        self, schema: CoreSchema, handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        """Range and meaning for editors that read JSON Schema."""
        number = {
            "type": "integer" if self.whole else "number",
            ("exclusiveMinimum" if self.above else "minimum"): self.low,
            "maximum": self.high,
        }
        spread = {
            "type": "object",
            "properties": {"value": number, "sigma": {"type": "number", "minimum": 0}},
            "required": ["value"],
            "additionalProperties": False,
        }
        about = f"{self.meaning} [{self.unit}]"
        return (
            number | {"description": about}
            if self.whole
            else {"anyOf": [number, spread], "description": about}
        )


@dataclass(frozen=True)
class Triple(Quantity):
    """Annotation of three numbers: forward, right, down unless the meaning says otherwise; `count` gives another length."""

    count: int = 3

    @property
    def allowed(self) -> str:
        """What is allowed, as a clause."""
        return f"must be {self.count} numbers, each {self.range_text}"

    def check(self, given: Any) -> Any:
        """The numbers as a tuple of floats, or a refusal."""
        if (
            not isinstance(given, (list, tuple))
            or len(given) != self.count
            or not all(map(_is_number, given))
        ):
            raise refusal(f"is {given!r}", self.allowed)
        for value in given:
            self._check_range(value)
        return tuple(float(value) for value in given)

    def __get_pydantic_json_schema__(
        self, schema: CoreSchema, handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        """Length, range and meaning for editors that read JSON Schema."""
        item = {"type": "number", "minimum": self.low, "maximum": self.high}
        about = f"{self.meaning} [{self.unit}]"
        return {
            "type": "array", "items": item, "minItems": self.count, "maxItems": self.count, "description": about,
        }  # fmt: skip


def uncertain_inputs(model: BaseModel, prefix: str = "") -> Iterator[tuple[str, Uncertain]]:
    """Key path and number of every input whose uncertainty is stated or has a stated default, in file order."""
    for name in type(model).model_fields:
        value = getattr(model, name)
        for index, item in enumerate(value if isinstance(value, tuple) else (value,)):
            where = f"{prefix}{name}" + (f"#{index + 1}" if isinstance(value, tuple) else "")
            if isinstance(item, Uncertain) and item.sigma > 0.0:
                yield where, item
            elif isinstance(item, BaseModel):
                yield from uncertain_inputs(item, where + ".")


def _is_number(value: Any) -> bool:
    return isinstance(value, (int, float)) and not isinstance(value, bool)
