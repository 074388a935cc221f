"""Least squares against certified values.

Longley data set and its certified regression: NIST Statistical Reference Datasets (StRD), linear regression, "Longley", higher
level of difficulty; data from J. W. Longley, J. American Statistical Association 62, 1967, 819-841. Written from memory: a digit
remembered wrongly would not meet sixteen certified numbers.
"""

import numpy as np
import pytest

from quadsim.logs.regression import least_squares

LONGLEY = """
60323 83.0 234289 2356 1590 107608 1947
61122 88.5 259426 2325 1456 108632 1948
60171 88.2 258054 3682 1616 109773 1949
61187 89.5 284599 3351 1650 110929 1950
63221 96.2 328975 2099 3099 112075 1951
63639 98.1 346999 1932 3594 113270 1952
64989 99.0 365385 1870 3547 115094 1953
63761 100.0 363112 3578 3350 116219 1954
66019 101.2 397469 2904 3048 117388 1955
67857 104.6 419180 2822 2857 118734 1956
68169 108.4 442769 2936 2798 120445 1957
66513 110.8 444546 4681 2637 121950 1958
68655 112.6 482704 3813 2552 123366 1959
69564 114.2 502601 3931 2514 125368 1960
69331 115.7 518173 4806 2572 127852 1961
70551 116.9 554894 4007 2827 130081 1962
"""
THETA = (
    -3482258.63459582, 15.0618722713733, -0.358191792925910e-01, -2.02022980381683, -1.03322686717359, -0.511041056535807e-01,
    1829.15146461355,
)  # fmt: skip
SIGMA = (
    890420.383607373, 84.9149257747669, 0.334910077722432e-01, 0.488399681651699, 0.214274163161675, 0.226073200069370,
    455.478499142212,
)  # fmt: skip
RESIDUAL_SD, EXPLAINED = 304.854073561965, 0.995479004577296


def test_longley():
    data = np.array([line.split() for line in LONGLEY.split("\n") if line], dtype=float)
    fit = least_squares(np.column_stack([np.ones(16), data[:, 1:]]), data[:, 0], coloured=False)
    assert fit.theta == pytest.approx(THETA, rel=1e-8)
    assert fit.sigma == pytest.approx(SIGMA, rel=1e-8)
    assert np.sqrt(fit.residual @ fit.residual / 9) == pytest.approx(RESIDUAL_SD, rel=1e-8)
    assert fit.explained == pytest.approx(EXPLAINED, rel=1e-10)
