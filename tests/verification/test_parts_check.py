"""Figures behind the parts check, against outside values."""

import pytest

from quadsim.parts.supply_findings import gauge_area_mm2


@pytest.mark.parametrize(
    ("gauge", "area_mm2"), [(8, 8.37), (10, 5.26), (12, 3.31), (14, 2.08), (16, 1.31), (18, 0.823), (20, 0.518), (24, 0.205)]
)  # fmt: skip
def test_gauge_areas(gauge, area_mm2):
    """Conductor areas by ASTM B258-02, table of nominal diameters and areas (from memory), to three figures; the definition
    (0.005 in for number 36, 0.46 in for 0000, 39 equal ratios between) as quoted in public copies of the standard's text."""
    assert gauge_area_mm2(gauge) == pytest.approx(area_mm2, rel=3e-3)


def test_gauge_definition():
    """Number 36 is 0.0050 in and 0000 (that is -3) is 0.4600 in across, ASTM B258-02."""
    for gauge, inches in ((36, 0.0050), (-3, 0.4600)):
        assert gauge_area_mm2(gauge) == pytest.approx(3.14159265 / 4 * (25.4 * inches) ** 2, rel=1e-8)
