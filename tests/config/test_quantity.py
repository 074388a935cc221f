"""Numbers with range, unit and uncertainty."""

import copy
import math
import pickle
from typing import Annotated

import pytest
from pydantic import BaseModel, ValidationError

from quadsim.config.quantity import Quantity, Triple, Uncertain, uncertain_inputs


class Sample(BaseModel):
    """One of each kind."""

    mass_g: Annotated[Uncertain, Quantity(0.0, 50.0, "g", "mass", above=True)] = Uncertain(1.0)
    count: Annotated[int, Quantity(1, 9, "-", "number", whole=True)] = 1
    at_mm: Annotated[tuple[float, ...], Triple(-5.0, 5.0, "mm", "place")] = (0.0, 0.0, 0.0)
    inner: tuple["Sample", ...] = ()


def test_a_number_and_its_uncertainty():
    plain = Sample(mass_g=20).mass_g
    spread = Sample(mass_g={"value": 20, "sigma": 2}).mass_g
    assert (plain, plain.sigma, spread, spread.sigma) == (20.0, 0.0, 20.0, 2.0)
    assert spread + 1 == 21.0


@pytest.mark.parametrize("again", [copy.deepcopy, lambda x: pickle.loads(pickle.dumps(x))])
def test_an_uncertainty_survives_copies(again):
    assert again(Uncertain(3.0, 0.5)).sigma == 0.5


@pytest.mark.parametrize(
    ("key", "value", "given", "allowed"),
    [
        ("mass_g", 0, "is 0", "must be a number, above 0 to 50 g"),
        ("mass_g", -1, "is -1", "must be a number, above 0 to 50 g"),
        ("mass_g", 50.1, "is 50.1", "must be a number, above 0 to 50 g"),
        ("mass_g", math.nan, "is nan", "must be a number, above 0 to 50 g"),
        ("mass_g", math.inf, "is inf", "must be a number, above 0 to 50 g"),
        ("mass_g", True, "is True", "must be a number, above 0 to 50 g"),
        ("mass_g", "20 g", "is the text '20 g'", "must be a number, above 0 to 50 g"),
        ("mass_g", {"value": 1, "sigma": -1}, "has sigma -1", "sigma must be 0 to 50, in g"),
        ("mass_g", {"value": 1, "sigma": math.nan}, "has sigma nan", "sigma must be 0 to 50, in g"),
        ("mass_g", {"value": 1, "simga": 1}, "is {'value': 1, 'simga': 1}", "must be a number or"),
        ("count", 1.5, "is 1.5", "must be a whole number, 1 to 9"),
        ("count", 10, "is 10", "must be a whole number, 1 to 9"),
        ("at_mm", [1, 2], "is [1, 2]", "must be 3 numbers, each -5 to 5 mm"),
        ("at_mm", [1, 2, 6], "is 6", "must be 3 numbers, each -5 to 5 mm"),
        ("at_mm", 3, "is 3", "must be 3 numbers, each -5 to 5 mm"),
    ],
)
def test_what_is_refused_and_how(key, value, given, allowed):
    with pytest.raises(ValidationError) as caught:
        Sample(**{key: value})
    context = caught.value.errors()[0]["ctx"]
    assert context["given"] == given
    assert context["allowed"].startswith(allowed)


def test_bounds_themselves():
    assert Sample(mass_g=50, count=9, at_mm=[-5, 5, 0]).at_mm == (-5.0, 5.0, 0.0)


def test_uncertain_inputs_are_listed_with_their_paths():
    sample = Sample(mass_g=Uncertain(2, 1), inner=(Sample(), Sample(mass_g={"value": 3, "sigma": 0.5})))
    assert [(path, value, value.sigma) for path, value in uncertain_inputs(sample)] == [
        ("mass_g", 2.0, 1.0), ("inner#2.mass_g", 3.0, 0.5),
    ]  # fmt: skip


def test_json_schema_holds_the_ranges():
    properties = Sample.model_json_schema()["$defs"]["Sample"]["properties"]
    number, spread = properties["mass_g"]["anyOf"]
    assert (number["exclusiveMinimum"], number["maximum"]) == (0.0, 50.0)
    assert spread["required"] == ["value"]
    assert (properties["count"]["type"], properties["at_mm"]["minItems"]) == ("integer", 3)
