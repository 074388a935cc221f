"""Fit the typical blade to measured propellers and print its errors, a whole family left out at a time.

    python tools/fit_typical_blade.py FOLDER --blades mit=3 --diameter mi_4x2.7=3.95 --diameter mit_5x4=4.90

FOLDER holds one folder per propeller, named family_DIAMETERxPITCH (inches; `-3b` in the name gives the blade
count), with files as the UIUC Propeller Database has them: *_static_*.txt (RPM, CT, CP), *_RPM.txt (J, CT,
CP, eta), *_geom.txt (r/R, c/R, blade angle in deg). The data are not part of this project. `--write FILE` writes
the numbers as quadsim/dynamics/typical_blade_data.py has them.
"""

from __future__ import annotations

import argparse
from pathlib import Path

import numpy as np
from empirical_bayes import Likelihood, estimate_prior, likelihood
from propeller_data import Propeller, add_arguments, read_propellers, zero_thrust

from quadsim.dynamics.blade_element import Array
from quadsim.dynamics.blade_fit import fit_blade
from quadsim.dynamics.blade_prior import BladePrior
from quadsim.dynamics.typical_blade import UNKNOWNS

PRIORS = {"rule": ("diameter_pitch", "chord_75"), "full_geometry": ("full_geometry",)}
"""Kinds of evidence by the prior they have."""
BENCH = {" + point": (True, True), " + table": (False, True), " + thrust": (False, False)}
"""Further evidence: one point only, torque measured too."""
REQUIRED = {
    "diameter_pitch": "13   16   12    -",
    "chord_75": " 9   14   11    -",
    "diameter_pitch + point": " 2    4    6    9",
}
LEVEL, NORMAL = 0.8, 1.2816
"""Level of the interval that is checked, and how many standard deviations it is to either side."""

Score = dict[str, Array]


def predictions(
    propellers: list[Propeller], known: dict[str, Likelihood], kinds: tuple[str, ...]
) -> dict[str, list[Score]]:
    """Scores of every propeller by evidence, each predicted from the other families alone."""
    scores: dict[str, list[Score]] = {kind + more: [] for kind in kinds for more in ("", *BENCH)}
    for family in sorted({p.family for p in propellers}):
        prior = estimate_prior([p for p in propellers if p.family != family], known)
        for p in (p for p in propellers if p.family == family):
            for kind in kinds:
                for evidence, scored in predict(p, kind, prior, BENCH).items():
                    scores[evidence].append(scored)
    return scores


def predict(
    propeller: Propeller, kind: str, prior: BladePrior, bench: dict[str, tuple[bool, bool]]
) -> dict[str, Score]:
    """Scores of one propeller by evidence; none if its geometry was not measured."""
    geometry = propeller.known_as(kind)
    if geometry is None:
        return {}
    found = {kind: prior.given(geometry).centre}
    for more, (only_one, torque) in bench.items():
        found[kind + more] = fit_blade(geometry, propeller.bench(only_one, torque), prior)
    return {name: score(propeller, propeller.predict(geometry, z)) for name, z in found.items()}


def score(propeller: Propeller, predicted: Array) -> Score:
    """Errors: static CT and CP (2,), of the sweep (m, 2) over the static value with how far CT has fallen (m,),
    and of the advance ratio of no thrust."""
    k, rows = propeller.static_rows, propeller.rows
    sweep = propeller.relative_errors(predicted)[k:]
    zero = [zero_thrust(rows[k:, 1], ct) for ct in (predicted[k:, 0], rows[k:, 2])]
    return {
        "family": np.array([propeller.family]),
        "static": (predicted[:k] / rows[:k, 2:] - 1.0).mean(axis=0),
        "sweep": sweep,
        "fallen": np.clip(np.abs(1.0 - predicted[k:, 0] / predicted[k - 1, 0]), 0.0, 1.0),
        "zero": np.array([zero[0] / zero[1] - 1.0]),
    }


def sigmas(scores: list[Score]) -> Array:
    """Standard deviations (4,) whose 80 % interval covers 80 % of these: static CT, CP, sweep CT, CP.

    Over the sweep the two combine as hypot(static (1 - x), sweep x), x = how far CT has fallen from its static
    value. The quantile is that of n + 1, since the next propeller is a new one.
    """
    level = min(1.0, LEVEL * (len(scores) + 1) / len(scores))
    static = np.quantile(np.abs([s["static"] for s in scores]), level, axis=0) / NORMAL
    sweep = []
    for channel in (0, 1):
        candidates = np.linspace(0.01, 0.6, 119)
        covered = [np.mean(_in_sweep(scores, static[channel], b, channel)) for b in candidates]
        sweep.append(candidates[int(np.argmax(np.array(covered) >= LEVEL))])
    return np.concatenate([static, sweep])


def _in_sweep(scores: list[Score], static: float, sweep: float, channel: int) -> Array:
    """Share of each propeller's sweep (n,) that lies inside the interval."""
    inside = []
    for s in scores:
        width = NORMAL * np.hypot(static * (1.0 - s["fallen"]), sweep * s["fallen"])
        inside.append(np.mean(np.abs(s["sweep"][:, channel]) <= width))
    return np.array(inside)


def coverage(scores: list[Score]) -> Array:
    """Share inside the 80 % interval (static CT, static CP, CT over J), widths from the other families' errors."""
    families = {str(s["family"][0]) for s in scores}
    widths = {f: sigmas([o for o in scores if o["family"] != f]) for f in families}
    inside = []
    for s in scores:
        ct, cp, sweep, _ = widths[str(s["family"][0])]
        static = np.abs(s["static"]) <= NORMAL * np.array([ct, cp])
        inside.append([*static, _in_sweep([s], ct, sweep, 0)[0]])
    return np.mean(inside, axis=0)


def speed_errors(propellers: list[Propeller], known: dict[str, Likelihood], at_point: Array) -> Array:
    """Standard deviations (2,) of static CT and CP per unit of ln(speed over that of one bench point), each family left
    out: with those at the point (2,) their 80 % interval covers 80 % of the rows. The point is the lowest, then the
    highest row."""
    errors, distances = [], []
    for family in sorted({p.family for p in propellers}):
        prior = estimate_prior([p for p in propellers if p.family != family], known)
        for p in (p for p in propellers if p.family == family):
            geometry, rest = p.known_as("diameter_pitch"), slice(0, p.static_rows)
            assert geometry is not None
            for row in (0, p.static_rows - 1):
                predicted = p.predict(geometry, fit_blade(geometry, p.bench_at([row], True), prior))
                errors.append(np.abs(predicted[rest] / p.rows[rest, 2:] - 1.0))
                distances.append(np.abs(np.log(p.rows[rest, 0] / p.rows[row, 0])))
    error, distance = np.vstack(errors), np.concatenate(distances)
    candidates = np.linspace(0.0, 0.4, 401)
    covered = [
        (error <= NORMAL * np.hypot(at_point, slope * distance[:, None])).mean(axis=0) for slope in candidates
    ]
    return candidates[np.argmax(np.array(covered) >= LEVEL, axis=0)]


def report(evidence: str, scores: list[Score]) -> None:
    """One line of the table."""
    static = np.abs([s["static"] for s in scores])
    sweep = np.array([np.sqrt((s["sweep"][:, 0] ** 2).mean()) for s in scores])
    zero = np.abs([s["zero"][0] for s in scores])
    columns = np.column_stack([static, sweep, zero])
    median, rms = np.median(columns, axis=0), np.sqrt((columns**2).mean(axis=0))
    cases = sum(len(s["sweep"]) for s in scores)
    print(
        f"{evidence:24s}",
        " ".join(f"{100 * v:4.1f}" for v in median),
        f"  {REQUIRED.get(evidence, ''):19s}",
        " ".join(f"{100 * v:4.1f}" for v in rms),
        "  ",
        " ".join(f"{100 * v:3.0f}" for v in coverage(scores)),
        f"  {len(scores):2d} {cases}",
    )


def written(priors: dict[str, BladePrior], errors: dict[str, Array], by_speed: Array) -> str:
    """The text of typical_blade_data.py."""
    lines = ['"""Numbers of the typical blade, written by tools/fit_typical_blade.py; see blade_prior.', ""]
    lines += ["Data: UIUC Propeller Database, Vols 1 and 2 (AIAA 2011-1255, AIAA 2014-2151).", '"""', ""]
    lines += ["PRIORS: dict[str, tuple[tuple[float, ...], ...]] = {"]
    for name, prior in priors.items():
        lines.append(f'    "{name}": (  # mean, trend with size, trend with pitch ratio, standard deviation')
        rows = np.column_stack([prior.mean, prior.size_trend, prior.pitch_trend, prior.deviation])
        lines += [f"        {_row(row, 4)},  # {one}" for one, row in zip(UNKNOWNS, rows, strict=True)]
        lines.append("    ),")
    lines += [
        "}",
        '"""Normal distribution of the unknowns; rule: of what a rule measures, the chord is one."""',
        "",
    ]
    lines += ["CORRELATIONS: dict[str, tuple[tuple[float, ...], ...]] = {"]
    for name, prior in priors.items():
        lines.append(f'    "{name}": (')
        lines += [f"        {_row(row[: k + 1], 3)}," for k, row in enumerate(prior.correlation)]
        lines.append("    ),")
    lines += [
        "}",
        '"""Lower triangles of their correlations."""',
        "",
        "ERRORS: dict[str, tuple[float, ...]] = {",
    ]
    lines += [f'    "{evidence}": {_row(values, 3)},' for evidence, values in errors.items()]
    lines += [
        "}",
        '"""Standard deviations of left-out families by evidence: static CT and CP, relative; CT and CP',
    ]
    lines += ['where no thrust is left, over their static values."""', ""]
    lines += [f"SPEED_ERRORS = {_row(by_speed, 3)}"]
    lines += [
        '"""Standard deviations of static CT and CP per unit of ln rpm away from a bench\'s speeds, relative."""',
        "",
    ]
    return "\n".join(lines)


def _row(values: Array, digits: int) -> str:
    texts = [f"{round(float(v), digits) + 0.0:.{digits}f}" for v in values]
    return f"({', '.join(texts)}{',' if len(texts) == 1 else ''})"


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    add_arguments(parser)
    parser.add_argument("--write", type=Path)
    given = parser.parse_args()
    propellers = read_propellers(given)
    print(
        "errors in %: static CT, static CP, CT over J, J of no thrust (medians; required; root mean squares),"
    )
    print("share in the 80 % interval (static CT, static CP, CT over J), propellers, rows of sweeps")
    priors, errors = {}, {}
    for name, kinds in PRIORS.items():
        full = name == "full_geometry"
        known = [p for p in propellers if p.geometry.table is not None or not full]
        likelihoods = {p.name: likelihood(p, full) for p in known}
        priors[name] = estimate_prior(known, likelihoods)
        for evidence, scores in predictions(known, likelihoods, kinds).items():
            report(evidence, scores)
            errors[evidence] = sigmas(scores)
        if not full:
            by_speed = speed_errors(known, likelihoods, errors["diameter_pitch + point"][:2])
            print(f"CT, CP per unit of ln rpm away from a bench point: {(100 * by_speed).round(1)}")
    if given.write:
        given.write.write_text(written(priors, errors, by_speed), encoding="utf-8")


if __name__ == "__main__":
    main()
