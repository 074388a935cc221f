"""Contrast and colour-blind safety of the palette, by published formulas."""

from itertools import combinations

import numpy as np
import pytest

from quadsim.viewer import palette
from quadsim.viewer.world import GROUND, SKY

# G. Machado, M. Oliveira, L. Fernandes, IEEE Trans. Visualization and Computer Graphics 15(6), 2009, table of severity
# 1.0, on linear RGB; first two compared with public copies of the table, the third from memory.
VISION = {
    "usual": np.eye(3),
    "protanopia": np.array([[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998]]),
    "deuteranopia": np.array([[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.011820, 0.042940, 0.968881]]),
    "tritanopia": np.array([[1.255528, -0.076749, -0.178779], [-0.078411, 0.930809, 0.147602], [0.004733, 0.691367, 0.303900]]),
}  # fmt: skip


def linear(colour):
    """sRGB to linear light, WCAG 2.1 definition of relative luminance (threshold 0.03928 as printed there)."""
    c = np.asarray(colour) / 255.0
    return np.where(c <= 0.03928, c / 12.92, ((c + 0.055) / 1.055) ** 2.4)


def contrast(a, b):
    """Contrast ratio, WCAG 2.1."""
    la, lb = (float(linear(c) @ [0.2126, 0.7152, 0.0722]) for c in (a, b))
    return (max(la, lb) + 0.05) / (min(la, lb) + 0.05)


def lab(light):
    """Linear sRGB to CIE L*a*b*, D65 (IEC 61966-2-1 matrix, CIE 15)."""
    to_xyz = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]])
    xyz = to_xyz @ np.clip(light, 0.0, 1.0) / [0.9505, 1.0, 1.089]
    f = np.where(xyz > (6 / 29) ** 3, np.cbrt(xyz), xyz * (29 / 6) ** 2 / 3 + 4 / 29)
    return np.array([116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])])


def test_formula_gives_the_ratios_that_wcag_quotes():
    # Black on white is 21:1, and #777777 on white just misses 4.5 (4.48), both from the WCAG explanatory documents.
    assert contrast((0, 0, 0), (255, 255, 255)) == pytest.approx(21.0)
    assert contrast((119, 119, 119), (255, 255, 255)) == pytest.approx(4.48, abs=0.005)


@pytest.mark.parametrize("name", ["INK", "INK_SOFT", "ALARM", "WIND", "FLOWN"])
@pytest.mark.parametrize("ground", ["PAPER", "CARD"])
def test_text_reads(name, ground):
    # WCAG 2.1, success criterion 1.4.3 level AA: 4.5:1.
    assert contrast(getattr(palette, name), getattr(palette, ground)) >= 4.5


@pytest.mark.parametrize("name", ["FLOWN", "WANTED", "ALARM"])
def test_chart_lines_show(name):
    # WCAG 2.1, success criterion 1.4.11: 3:1 for what carries meaning in a graphic.
    assert contrast(getattr(palette, name), palette.CARD) >= 3.0


@pytest.mark.parametrize("name", ["FLOWN", "ALARM", "WIND", "DROP_LINE"])
def test_marks_show_on_ground_and_sky(name):
    for backdrop in (*GROUND, *SKY):
        assert contrast(getattr(palette, name), backdrop) >= 3.0


def test_scene_labels_read_on_every_ground():
    assert min(contrast(palette.INK_SOFT, g) for g in GROUND) >= 4.0


@pytest.mark.parametrize("eye", VISION)
@pytest.mark.parametrize("pair", list(combinations(["FLOWN", "WANTED", "ALARM", "WIND"], 2)), ids="-".join)
def test_hues_stay_apart(eye, pair):
    # A CIE 1976 difference of 10 is plainly seen side by side (about four just noticeable ones; common practice).
    # Teal is never in one panel with blue or ochre lines, so tritanopia, where blue and teal near each other, may go lower.
    a, b = (lab(VISION[eye] @ linear(getattr(palette, n))) for n in pair)
    least = 10.0 if set(pair) != {"FLOWN", "WIND"} else 5.0
    assert np.linalg.norm(a - b) >= least
