"""Check a document against a schema and list every problem at once, each with its place and remedy."""

from __future__ import annotations

import contextlib
import difflib
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from typing import Any, Literal, TypeVar, get_args, get_origin

from pydantic import BaseModel, ConfigDict, ValidationError
from pydantic.fields import FieldInfo
from pydantic_core import ErrorDetails

from quadsim.config.kinds import another_kind
from quadsim.config.quantity import Quantity
from quadsim.config.toml_reader import Document, KeyPath
from quadsim.config.unit_slips import nearest_key, unit_remedy
from quadsim.errors import InputError, Problem

Model = TypeVar("Model", bound=BaseModel)
Finding = tuple[KeyPath, str, str, str]
"""Key path, what was given, what is allowed, what to do."""
Rule = tuple[set[str], Callable[[Any], Iterator[Finding]]]
"""Sections that a rule needs, and the rule itself."""

_EXPECTED = {
    "string_type": "must be text in quotes",
    "bool_type": "must be true or false",
    "model_type": "must be a table, [section]",
    "tuple_type": "must be a list",
    "dict_type": "must be a table, [section]",
    "float_type": "must be a number",
    "float_parsing": "must be a number",
    "finite_number": "must be a finite number",
    "string_too_short": "must not be empty",
}


_KNOWN = "known here: "


class Section(BaseModel):
    """Base of all sections of a file: unknown keys are errors, values never change."""

    model_config = ConfigDict(extra="forbid", frozen=True)


def checked(model: type[Model], document: Document, rules: Sequence[Rule] = ()) -> Model:
    """The document as a `model`.

    rules : what the sections must fulfil together; a rule is asked when all its sections are sound by themselves.

    Raises
    ------
    InputError
        that lists every problem found.
    """
    problems: list[Problem] = []
    whole: Model | None = None
    try:
        whole = model.model_validate(document.data)
        sound: Model = whole
    except ValidationError as error:
        problems = [_problem(item, model, document) for item in error.errors(include_url=False)]
        sound = _sound_sections(model, document.data)
    for sections, rule in rules:
        if sections <= sound.model_fields_set:
            problems += [Problem(place(path, document), *rest) for path, *rest in rule(sound)]
    if whole is None or problems:
        other = another_kind(model.__name__, document.data)
        raise InputError([other] if other else _lists_once(problems), document.source)
    return whole


def _lists_once(problems: Sequence[Problem]) -> list[Problem]:
    """The problems with every list of known keys printed once, where it comes first."""
    said: set[str] = set()
    shorter = []
    for problem in problems:
        again = problem.allowed.startswith(_KNOWN) and problem.allowed in said
        said.add(problem.allowed)
        shorter.append(replace(problem, allowed="") if again else problem)
    return shorter


def _sound_sections(model: type[Model], data: dict[str, Any]) -> Model:
    """The model with those sections alone that are sound by themselves."""
    found: dict[str, Any] = {}
    for name in model.model_fields:
        section, given = model_at(model, (name,)), data.get(name)
        with contextlib.suppress(ValidationError):
            if section is not None and isinstance(given, dict):
                found[name] = section.model_validate(given)
            elif section is not None and isinstance(given, list):
                found[name] = tuple(section.model_validate(one) for one in given)
    return model.model_construct(None, **found)


def place(path: KeyPath, document: Document) -> str:
    """Key path in words with its line: `parts#2.mass_g (line 17)`."""
    text = ""
    for step in path:
        text += f"#{step + 1}" if isinstance(step, int) else f".{step}" if text else step
    line = document.line_of(path)
    return f"{text} (line {line})" if line else text


def _problem(item: ErrorDetails, model: type[BaseModel], document: Document) -> Problem:
    path: KeyPath = tuple(step for step in item["loc"] if step != "[key]")
    where, kind, context = place(path, document), item["type"], item.get("ctx", {})
    if kind == "refused":
        owner = model_at(model, path[:-1])
        field = owner.model_fields.get(str(path[-1])) if owner and path else None
        guess = (
            unit_remedy(str(path[-1]), item["input"], quantity_of(field) if field else None) if path else ""
        )
        return Problem(where, context["given"], context["allowed"], guess or context["remedy"])
    if kind == "missing":
        return _missing(path, where, model)
    if kind == "extra_forbidden":
        return _unknown(path, where, model)
    given = f"is {item['input']!r}"
    if kind == "literal_error":
        return _not_one_of(item, where, str(context["expected"]))
    return Problem(where, given if kind in _EXPECTED else item["msg"], _EXPECTED.get(kind, ""))


def _not_one_of(item: ErrorDetails, where: str, expected: str) -> Problem:
    options = [option.strip(" '") for option in expected.replace(" or ", ",").split(",")]
    near = difflib.get_close_matches(str(item["input"]), options, n=1)
    remedy = f"Nearest: {near[0]!r}" if near else ""
    noun = "unknown key" if item["loc"][-1] == "[key]" else f"is {item['input']!r}"
    return Problem(where, noun, f"must be one of {', '.join(options)}", remedy)


def _missing(path: KeyPath, where: str, model: type[BaseModel]) -> Problem:
    owner = model_at(model, path[:-1])
    name = str(path[-1])
    wanted = ""
    if owner is not None and name in owner.model_fields:
        wanted = allowed_of(owner.model_fields[name])
    if model_at(model, path) is not None:
        return Problem(where, "the section is missing", "", f"Add [{'.'.join(map(str, path))}]")
    return Problem(
        where, "is missing", wanted, f"Add {name} = ... there" if owner_is_leaf(owner, name) else ""
    )


def quantity_of(field: FieldInfo) -> Quantity | None:
    """Range and unit of a key, when it is a number; also of an optional one."""
    return next((m for m in _metadata(field.annotation, field.metadata) if isinstance(m, Quantity)), None)


def allowed_of(field: FieldInfo) -> str:
    """What a key takes, in words; empty for text and tables."""
    quantity = quantity_of(field)
    if quantity is not None:
        return quantity.allowed
    options = get_args(field.annotation) if get_origin(field.annotation) is Literal else ()
    return f"must be one of {', '.join(options)}" if options else ""


def _metadata(annotation: Any, found: list[Any]) -> list[Any]:
    inner = [
        item
        for part in get_args(annotation)
        for item in _metadata(part, list(getattr(part, "__metadata__", ())))
    ]
    return [*found, *inner]


def owner_is_leaf(owner: type[BaseModel] | None, name: str) -> bool:
    """True when `name` is a plain key of `owner`, not a table."""
    return owner is not None and name in owner.model_fields and model_at(owner, (name,)) is None


def _unknown(path: KeyPath, where: str, model: type[BaseModel]) -> Problem:
    owner = model_at(model, path[:-1])
    name = str(path[-1])
    known = list(owner.model_fields) if owner else []
    near = nearest_key(name, known)
    remedy = f"Nearest known key: {near}" if near else ""
    homes = sorted({home for home, key in all_keys(model) if key == name})
    if homes:
        remedy += ("; " if remedy else "") + f"{name} belongs in {' or '.join(homes)}"
    return Problem(where, "unknown key", f"{_KNOWN}{', '.join(known)}", remedy)


def all_keys(model: type[BaseModel], home: str = "the top level") -> Iterator[tuple[str, str]]:
    """(table, key) of every key of a schema."""
    for name in model.model_fields:
        yield home, name
        below = model_at(model, (name,))
        if below is not None:
            inner = name if home == "the top level" else f"{home.strip('[]')}.{name}"
            yield from all_keys(below, f"[{inner}]")


def model_at(model: type[BaseModel], path: KeyPath) -> type[BaseModel] | None:
    """The section class at a key path; None where there is a plain value."""
    current: type[BaseModel] | None = model
    for step in path:
        if isinstance(step, int):
            continue
        if current is None or step not in current.model_fields:
            return None
        current = _section_in(current.model_fields[step].annotation)
    return current


def _section_in(annotation: Any) -> type[BaseModel] | None:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    return next((found for part in get_args(annotation) if (found := _section_in(part))), None)
