"""What a measured chord says of the blade's other unknowns."""

import numpy as np
import pytest

from quadsim.dynamics.blade_prior import CHORD, CHORDS, blade_prior
from quadsim.dynamics.typical_blade import UNKNOWNS, Geometry

pytestmark = pytest.mark.jit  # no kernel in it

RULE = blade_prior("chord_75")


def test_a_measured_chord_is_conditioning() -> None:
    """The likelihood of a measured logarithm, multiplied in by precisions: the other way to write the same (Bishop 2006,
    sec. 2.3)."""
    bare = RULE.given(Geometry(0.2, 0.6, 2))
    seen = RULE.given(Geometry(0.2, 0.6, 2, chord_75=0.15))
    precision = np.linalg.inv(bare.covariance)
    information = precision @ bare.centre
    precision[CHORD, CHORD] += 1.0 / 0.03**2
    information[CHORD] += np.log(0.15) / 0.03**2
    assert seen.covariance == pytest.approx(np.linalg.inv(precision), abs=1e-9)
    assert seen.centre == pytest.approx(np.linalg.solve(precision, information), abs=1e-9)
    assert np.all(seen.deviation <= bare.deviation + 1e-12)


def test_wide_blades_have_less_drag_with_incidence() -> None:
    wide, narrow = (RULE.given(Geometry(0.2, 0.6, 2, chord_75=c)).centre for c in CHORDS[::-1])
    assert wide[UNKNOWNS.index("drag_angle")] < narrow[UNKNOWNS.index("drag_angle")]


def test_nothing_is_made_of_a_chord_beyond_the_data() -> None:
    edge, beyond = (RULE.given(Geometry(0.2, 0.6, 2, chord_75=c)).centre for c in (CHORDS[1], 0.4))
    assert np.array_equal(edge, beyond)


def test_a_table_of_the_geometry_is_not_a_chord() -> None:
    full, table = (
        blade_prior("full_geometry"),
        ((0.2, 0.15, 20.0), (0.5, 0.15, 15.0), (0.75, 0.15, 12.0), (1.0, 0.05, 8.0)),
    )
    bare = full.given(Geometry(0.2, 0.6, 2)).centre
    assert np.array_equal(full.given(Geometry(0.2, 0.6, 2, chord_75=0.15, table=table)).centre, bare)
