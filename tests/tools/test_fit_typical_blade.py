"""The fit of the typical blade: files read, a known spread between makes recovered, errors and coverage as defined."""

import sys
from pathlib import Path

import numpy as np
import pytest

from quadsim.dynamics.blade_prior import BladePrior, blade_prior
from quadsim.dynamics.typical_blade import UNKNOWNS, Geometry

sys.path.insert(0, str(Path(__file__).parents[2] / "tools"))
from empirical_bayes import WIDTH, Likelihood, estimate_prior
from fit_typical_blade import LEVEL, coverage, sigmas, written
from propeller_data import Propeller, read_propeller, zero_thrust


def test_a_folder_is_read(tmp_path: Path) -> None:
    folder = tmp_path / "mine-3b_5x3"
    folder.mkdir()
    static = "".join(f"{rpm} 0.1 0.05\n" for rpm in range(1000, 6001, 500))
    (folder / "mine_static_1.txt").write_text("RPM CT CP\n" + static)
    (folder / "mine_run_5000.txt").write_text(
        "J CT CP eta\n0.1 0.09 0.05 0.2\n0.5 0.02 0.03 0.3\n0.9 -0.1 0.0 0.0\n"
    )
    found = read_propeller(folder, {folder.name: "4.9"}, {})
    assert found.geometry == Geometry(4.9 * 0.0254, 0.6, 3)
    assert found.rows[found.static_rows :, :2].tolist() == [[5000.0, 0.1], [5000.0, 0.5]], (
        "windmilling rows are left out"
    )
    assert found.rows[0, 0] == 2500.0, "speeds under 40 % of the top one are left out"


def test_the_spread_between_makes_is_recovered() -> None:
    """Likelihoods about unknowns drawn from a known distribution, 60 families: mean and deviation come back."""
    rng = np.random.default_rng(5)
    truth = blade_prior("diameter_pitch")
    propellers, known = [], {}
    for k in range(60):
        geometry = Geometry(0.0254 * rng.uniform(4.0, 11.0), rng.uniform(0.4, 0.9), 2)
        known_of_it = truth.given(geometry)
        drawn = known_of_it.centre + np.linalg.inv(known_of_it.whitening()) @ rng.normal(size=9)
        precision = np.diag((5.0 / WIDTH) ** 2)
        propellers.append(Propeller(f"p{k}", f"f{k}", geometry, np.zeros((2, 4)), 1))
        known[f"p{k}"] = Likelihood(precision, precision @ drawn)
    found = estimate_prior(propellers, known)
    assert np.all(np.abs(found.mean - truth.mean) < 0.5 * WIDTH)
    assert found.deviation == pytest.approx(truth.deviation, rel=0.35)
    k = UNKNOWNS.index("drag_angle")
    assert found.size_trend[k] == pytest.approx(truth.size_trend[k], abs=0.35)
    assert found.size_trend[UNKNOWNS.index("cl_max")] == 0.0, "no trend was allowed there"


def test_interval_covers_what_it_says() -> None:
    """Normal errors of 10 % in CT and 20 % in CP, constant over the sweep: sigmas and coverage come back."""
    rng = np.random.default_rng(6)
    scores = []
    for k in range(200):
        error = rng.normal(size=2) * [0.1, 0.2]
        scores.append(
            {
                "family": np.array([str(k % 4)]),
                "static": error,
                "sweep": np.tile(rng.normal(size=2) * [0.1, 0.2], (3, 1)),
                "fallen": np.array([0.5, 0.8, 1.0]),
            }
        )
    assert sigmas(scores)[:2] == pytest.approx([0.1, 0.2], rel=0.15)
    assert np.all(np.abs(coverage(scores) - LEVEL) < 0.08)


def test_zero_thrust_is_the_root_of_the_sweep() -> None:
    j = np.linspace(0.2, 0.6, 9)
    assert zero_thrust(j, 0.1 * (1.0 - (j / 0.7) ** 2)) == pytest.approx(0.7)


def test_written_numbers_are_read_back() -> None:
    prior = blade_prior("chord_75")
    space: dict = {}
    exec(written({"rule": prior}, {"chord_75": np.array([0.1, 0.2, 0.3, 0.4])}, np.array([0.1, 0.2])), space)
    rows = np.array(space["PRIORS"]["rule"])
    assert rows[:, 0] == pytest.approx(prior.mean)
    assert isinstance(prior, BladePrior)
    assert space["CORRELATIONS"]["rule"][8] == pytest.approx(prior.correlation[8])
    assert space["ERRORS"]["chord_75"] == (0.1, 0.2, 0.3, 0.4) and space["SPEED_ERRORS"] == (0.1, 0.2)
