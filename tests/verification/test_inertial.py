"""The inertial sensor: every check passes on the shipped kernels and fails on a copy with one thing wrong; published figures."""

from __future__ import annotations

import math
from collections.abc import Callable
from importlib import import_module

import pytest
from checks_inertial import CHECKS
from mutants import Mutant, plain_modules
from mutants_inertial import INERTIAL_MUTANTS

from quadsim.config.resolve_sensors import walk_step, white_noise
from quadsim.sensors.inertial_bias import WALK_EVERY


@pytest.mark.jit
@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.__name__)
def test_check_passes_on_the_shipped_kernels_and_on_the_plain_source(check: Callable) -> None:
    check(import_module)
    check(plain_modules())


@pytest.mark.jit
@pytest.mark.parametrize("mutant", INERTIAL_MUTANTS, ids=lambda mutant: mutant.wrong)
def test_mutant_is_noticed(mutant: Mutant) -> None:
    with pytest.raises(AssertionError, match="Not equal to tolerance"):
        mutant.check(plain_modules("quadsim." + mutant.module, mutant.old, mutant.new))


def test_parameters_of_an_open_data_set() -> None:
    """M. Burri et al., The EuRoC micro aerial vehicle datasets, IJRR 35(10), 2016, sensor.yaml: two-sided densities at 200 Hz.

    Per sample 2.39964e-3 rad/s and 2.82843e-2 m/s2; bias in one sample 1.37129e-6 rad/s and 2.12132e-4 m/s2. Ours is one-sided,
    sqrt 2 times as much, and steps the bias every WALK_EVERY samples.
    """
    for density, sample in ((1.6968e-4, 2.39964e-3), (2.0e-3, 2.82843e-2)):
        assert white_noise(math.sqrt(2.0) * density, 200.0) == pytest.approx(sample, rel=1e-5)
    for walk, step in ((1.9393e-5, 1.37129e-6), (3.0e-3, 2.12132e-4)):
        assert walk_step(walk, 200.0) == pytest.approx(step * math.sqrt(WALK_EVERY), rel=1e-5)


def test_both_conventions_of_a_density() -> None:
    """0.0028 deg/s/rtHz at 1 and 8 kHz: one-sided n sqrt(fs/2) = 0.0626099, 0.177088; two-sided N sqrt(fs) = 0.0885438, 0.250440
    (Wiener-Khinchin; the two-sided discrete form in P. Furgale et al., IROS 2013, from memory)."""
    for rate, one_sided, two_sided in ((1000.0, 0.0626099, 0.0885438), (8000.0, 0.177088, 0.250440)):
        assert white_noise(0.0028, rate) == pytest.approx(one_sided, rel=1e-5)
        assert math.sqrt(2.0) * white_noise(0.0028, rate) == pytest.approx(two_sided, rel=1e-5)
