"""The spread of a blade's unknowns between makes, from measured propellers, for fit_typical_blade.py.

Every propeller is fitted on its own; its likelihood about that fit is a normal distribution of the unknowns.
Then propellers are drawn from N(mean + trends, covariance), whose parameters follow by expectation and
maximisation with weak priors of their own. A family counts with the square root of its size.

References: C. M. Bishop, Pattern Recognition and Machine Learning (Springer, 2006), sec. 3.5 and 9.4; the prior of
the covariance is inverse Wishart, A. Gelman et al., Bayesian Data Analysis, 3rd ed. (2013), sec. 15.4 (from memory).
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from propeller_data import STATIC_SIGMA, SWEEP_SIGMA, Propeller
from scipy.optimize import least_squares

from quadsim.dynamics.blade_element import Array
from quadsim.dynamics.blade_prior import CHORD, CHORD_SIGMA, BladePrior, features
from quadsim.dynamics.typical_blade import UNKNOWNS

START = np.array([np.radians(6.0), *np.log([0.8, 0.18, 5.9, 2.0, 0.023, 1.0]), 0.10, 0.2])
WIDTH = np.array([0.05, 0.25, 0.15, 0.15, 0.3, 0.4, 0.5, 0.08, 0.15])
"""Before any data: unknowns and how far they may lie from that; assumed, from thin-section theory."""
_ROUNDS = 30


@dataclass(frozen=True)
class Settings:
    """What is assumed of the distribution; unseen_families.py tells what choosing among these is worth.

    size_trends, pitch_trends : which unknowns may move with ln diameter and with pitch ratio, and how far in widths a
    unit; share, weight : the covariance is drawn to (share width)^2 as if so many more propellers had shown that
    """

    size_trends: tuple[tuple[str, float], ...] = (("twist_offset", 1.0), ("helix", 1.0), ("drag_angle", 1.0))
    pitch_trends: tuple[tuple[str, float], ...] = (("drag_angle", 2.0), ("chord_75", 2.0))
    share: float = 0.5
    weight: float = 12.0


CHOSEN = Settings()


@dataclass(frozen=True)
class Likelihood:
    """A propeller's information on the unknowns: precision (9, 9) and precision times centre (9,)."""

    precision: Array
    information: Array


def likelihood(propeller: Propeller, full: bool) -> Likelihood:
    """Fit one propeller alone, with its chord if that was measured, or with its full geometry; linearise about the fit."""
    geometry = propeller.geometry if full else replace(propeller.geometry, table=None)
    weight = propeller.weights()[:, None] / [STATIC_SIGMA, SWEEP_SIGMA]

    def residuals(z: Array) -> Array:
        errors = (propeller.relative_errors(propeller.predict(geometry, z)) * weight).ravel()
        return np.concatenate([errors, (z - START) / WIDTH])

    found = least_squares(residuals, START, x_scale=WIDTH, diff_step=1e-3, xtol=1e-3, ftol=1e-3, max_nfev=25)
    slope, left = found.jac[: -len(START)], found.fun[: -len(START)]
    precision, information = slope.T @ slope, slope.T @ (slope @ found.x - left)
    if geometry.chord_75 is not None and not full:
        precision[CHORD, CHORD] += CHORD_SIGMA**-2
        information[CHORD] += math.log(geometry.chord_75) * CHORD_SIGMA**-2
    return Likelihood(precision, information)


def estimate_prior(
    propellers: list[Propeller], likelihoods: dict[str, Likelihood], settings: Settings = CHOSEN
) -> BladePrior:
    """The distribution of the unknowns between makes."""
    families = [p.family for p in propellers]
    weights = [families.count(family) ** -0.5 for family in families]
    causes = np.array([features(p.geometry) for p in propellers])
    known = [likelihoods[p.name] for p in propellers]
    means, covariance = np.column_stack([START, 0.0 * START, 0.0 * START]), np.diag(WIDTH**2)
    for _ in range(_ROUNDS):
        inverse = np.linalg.inv(covariance)
        spreads = [np.linalg.inv(k.precision + inverse) for k in known]
        centres = [
            s @ (k.information + inverse @ (means @ f))
            for s, k, f in zip(spreads, known, causes, strict=True)
        ]
        means = _regress(inverse, np.array(centres), causes, weights, settings)
        total = settings.weight * np.diag((settings.share * WIDTH) ** 2)
        for w, s, c, f in zip(weights, spreads, centres, causes, strict=True):
            total = total + w * (np.outer(c - means @ f, c - means @ f) + s)
        covariance = total / (settings.weight + sum(weights))
    deviation = np.sqrt(np.diag(covariance))
    mean, size_trend, pitch_trend = means.T
    correlation = covariance / np.outer(deviation, deviation)
    return BladePrior(mean, size_trend, pitch_trend, deviation, correlation)


def _regress(
    inverse: Array, centres: Array, causes: Array, weights: list[float], settings: Settings
) -> Array:
    """Mean and trends (9, 3): generalised least squares with normal priors; trends not allowed stay zero."""
    before = np.column_stack([START, 0.0 * START, 0.0 * START])
    trends = (_widths(settings.size_trends), _widths(settings.pitch_trends))
    allowed = np.column_stack([WIDTH * np.sqrt(20.0), *trends])
    free = (allowed > 0.0).ravel()
    left = np.diag(np.where(free, 1.0 / np.maximum(allowed.ravel(), 1e-9) ** 2, 0.0))
    right = left @ before.ravel()
    for w, c, f in zip(weights, centres, causes, strict=True):
        left = left + w * np.kron(inverse, np.outer(f, f))
        right = right + w * np.kron(inverse @ c, f)
    found = np.zeros(free.size)
    found[free] = np.linalg.solve(left[np.ix_(free, free)], right[free])
    return found.reshape(before.shape)


def _widths(trends: tuple[tuple[str, float], ...]) -> Array:
    return np.array([dict(trends).get(name, 0.0) for name in UNKNOWNS]) * WIDTH
