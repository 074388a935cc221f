"""Numbers as people read them."""

import math

import pytest

from quadsim.report.numbers import figure


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (0.0, "0"), (1.0, "1.00"), (-2.345, "-2.35"), (12.34, "12.3"), (2837.4, "2837"), (1e7, "10000000"),
        (0.0123, "0.0123"), (1e-9, "0"), (None, "-"), (math.nan, "-"), (math.inf, "-"),
    ],
)  # fmt: skip
def test_three_digits_and_no_exponent(value, text):
    assert figure(value) == text
