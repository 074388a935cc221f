"""Errors of the typical blade on families that nobody has seen, settings chosen without them, and the chance to miss.

    python tools/unseen_families.py FOLDER --blades mit=3 --diameter mi_4x2.7=3.95 --diameter mit_5x4=4.90

fit_typical_blade.py leaves one family out, but its settings were chosen by those same errors, which makes them look
better than they are. Here every family is predicted with the settings that did best when each of the others was left
out as well (nested cross-validation). Medians of so few propellers are uncertain: families are drawn with replacement
(bootstrap by cluster), for all of them and for a test of seven new propellers.

References: M. Stone, Cross-validatory choice and assessment of statistical predictions, J. Royal Statistical Society B 36
(1974) 111; B. Efron and R. J. Tibshirani, An Introduction to the Bootstrap (Chapman & Hall, 1993), ch. 8.
"""

from __future__ import annotations

import argparse
from itertools import combinations_with_replacement

import numpy as np
from empirical_bayes import CHOSEN, Likelihood, Settings, estimate_prior, likelihood
from fit_typical_blade import BENCH, Score, predict
from propeller_data import Propeller, add_arguments, read_propellers

from quadsim.dynamics.blade_element import Array

CANDIDATES = {
    "chosen": CHOSEN,
    "narrow spread": Settings(share=0.35),
    "wide spread": Settings(share=0.7),
    "more weight to it": Settings(weight=24.0),
    "less weight to it": Settings(weight=6.0),
    "lift slope with size": Settings(size_trends=(*CHOSEN.size_trends, ("lift_slope", 1.0))),
    "drag not with size": Settings(size_trends=CHOSEN.size_trends[:2]),
    "angle not with size": Settings(size_trends=CHOSEN.size_trends[1:]),
    "drag not with pitch": Settings(pitch_trends=CHOSEN.pitch_trends[1:]),
}
"""Settings that one would choose among."""
POINT = {" + point": BENCH[" + point"]}
LIMITS = {
    "diameter_pitch": (13.0, 16.0, 12.0, np.inf),
    "chord_75": (9.0, 14.0, 11.0, np.inf),
    "diameter_pitch + point": (2.0, 4.0, 6.0, 9.0),
}
"""Required medians in %: static CT, static CP, CT over J, J of no thrust."""
CHOOSE_BY = ("diameter_pitch", "chord_75")
TEST, DRAWS = 7, 4000

Errors = dict[tuple[str, str, frozenset[str]], Array]
"""Errors (k, 4) in % of a family's propellers by evidence, family and the one or two families left out."""


def errors(scored: list[Score]) -> Array:
    """|static CT|, |static CP|, rms of CT over J, |J of no thrust| (k, 4) in %."""
    rows = [
        (*np.abs(s["static"]), np.sqrt((s["sweep"][:, 0] ** 2).mean()), abs(float(s["zero"][0])))
        for s in scored
    ]
    return 100.0 * np.array(rows)


def left_out(propellers: list[Propeller], known: dict[str, Likelihood], settings: Settings) -> Errors:
    """Errors with every family and every pair of them left out; with a bench point only where it is one."""
    found: Errors = {}
    families = sorted({p.family for p in propellers})
    for pair in combinations_with_replacement(families, 2):
        out = frozenset(pair)
        prior = estimate_prior([p for p in propellers if p.family not in out], known, settings)
        for family in out:
            scored = [
                predict(p, kind, prior, POINT if len(out) == 1 and kind == "diameter_pitch" else {})
                for p in propellers
                if p.family == family
                for kind in CHOOSE_BY
            ]
            for evidence in LIMITS:
                those = [s[evidence] for s in scored if evidence in s]
                if those:
                    found[evidence, family, out] = errors(those)
    return found


def badness(found: Errors, family: str) -> float:
    """Mean error over what is required, of the other families, with this one left out too."""
    shares = []
    for (evidence, other, out), rows in found.items():
        if family in out and other != family:
            shares.append((rows / LIMITS[evidence]).mean())
    return float(np.mean(shares))


def best_without(found: dict[str, Errors], family: str) -> str:
    """Name of the settings that did best on the other families."""
    return min(found, key=lambda name: badness(found[name], family))


def chances(by_family: dict[str, Array], limits: tuple[float, ...], size: int | None) -> tuple[Array, Array]:
    """Medians' 10 to 90 % range (2, 4), and the share of draws whose median misses its limit (4,).

    size : propellers of a draw, from as many families as it takes; None draws as many families as there are
    """
    rng = np.random.default_rng(1)
    rows, medians = list(by_family.values()), []
    for _ in range(DRAWS):
        drawn = [rows[k] for k in rng.integers(len(rows), size=len(rows) if size is None else size)]
        both = np.vstack([rng.permutation(one) for one in drawn])
        medians.append(np.median(both[:size], axis=0))
    return np.quantile(medians, [0.1, 0.9], axis=0), np.mean(np.array(medians) > limits, axis=0)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    add_arguments(parser)
    propellers = read_propellers(parser.parse_args())
    known = {p.name: likelihood(p, full=False) for p in propellers}
    families = sorted({p.family for p in propellers})
    found = {}
    for name, settings in CANDIDATES.items():
        found[name] = left_out(propellers, known, settings)
        print(
            f"{name:22s} mean error over what is required {np.mean([badness(found[name], f) for f in families]):.3f}"
        )
    best = {f: best_without(found, f) for f in families}
    print("settings chosen without a family:", ", ".join(f"{f}: {name}" for f, name in best.items()))
    print("static CT, static CP, CT over J, J of no thrust in %; share of draws that miss what is required")
    for evidence, limits in LIMITS.items():
        for words, choice in (("as chosen", dict.fromkeys(families, "chosen")), ("nested", best)):
            rows = {
                f: found[choice[f]][evidence, f, frozenset([f])]
                for f in families
                if (evidence, f, frozenset([f])) in found[choice[f]]
            }
            report(f"{evidence}, {words}", rows, limits)


def report(title: str, rows: dict[str, Array], limits: tuple[float, ...]) -> None:
    """Medians with their range, and the chance that they miss."""
    every = np.vstack(list(rows.values()))
    (low, high), missed = chances(rows, limits, None)
    few = chances(rows, limits, TEST)[1]
    medians = " ".join(
        f"{m:4.1f} ({a:.1f}-{b:.1f})" for m, a, b in zip(np.median(every, axis=0), low, high, strict=True)
    )
    print(f"{title:36s} {medians}  means {' '.join(f'{m:4.1f}' for m in every.mean(axis=0))}")
    print(f"{'':36s} missed: all {missed.round(2)}, {TEST} new ones {few.round(2)}")


if __name__ == "__main__":
    main()
