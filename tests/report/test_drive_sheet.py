"""The sheet on a craft's drive: what is drawn, and where limits bite."""

import matplotlib
import pytest

from quadsim.analysis.inspection import inspect_craft
from quadsim.config import load_craft, parse_craft
from quadsim.environment.atmosphere import Site
from quadsim.report.drive_sheet import SIZE_IN, drive_figure
from quadsim.report.evidence_words import best_sentence, caution
from quadsim.report.palette import SETTINGS


def drawn(*changes: tuple[str, str], craft: str = "siskin"):
    """Sheet and words of a shipped craft with pieces of its text exchanged."""
    text = load_craft(craft).source_text
    for old, new in changes:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    seen = inspect_craft(parse_craft(text), Site())
    with matplotlib.rc_context(SETTINGS):
        sheet = drive_figure(seen)
    panels = [item.get_text() for ax in sheet.axes for item in ax.texts]
    return seen, sheet, panels, [item.get_text() for item in sheet.texts]


def test_a_craft_within_its_limits_shows_none():
    seen, _, panels, side = drawn()
    assert not any("limit" in words or "label" in words for words in panels)
    assert f"hover {100.0 * seen.hover.throttle:.0f} %" in panels
    assert not any("bench" in words for words in panels)
    assert "hover time" in side


def test_limits_are_drawn_where_they_bite():
    changes = (
        ("current_limit_A = 38", "current_limit_A = 20"),
        ("label_C_rating = 100", "label_C_rating = 50"),
    )
    _, _, panels, _ = drawn(*changes)
    assert "a motor's limit 20 A" in panels
    assert "the pack's label 75 A" in panels
    assert "shaded: the current limit holds the motors back" in panels
    assert not any("ESC" in words for words in panels)


def test_bench_rows_are_points():
    _, sheet, panels, _ = drawn(craft="bonxie")
    assert "rows of the bench, as mounted" in panels
    points = [line for line in sheet.axes[0].lines if line.get_marker() == "o"]
    assert len(points[0].get_xdata()) == 8


@pytest.mark.parametrize("craft", ["siskin", "bonxie", "williwaw"])
def test_words_stay_on_the_paper_and_apart(craft):
    """Every text lies within the sheet, and no two of the side run into each other."""
    _, sheet, _, _ = drawn(craft=craft)
    sheet.set_dpi(100)
    sheet.draw_without_rendering()
    boxes = [item.get_window_extent() for item in sheet.texts if item.get_text()]
    paper = [100.0 * side for side in SIZE_IN]
    for box in boxes:
        assert min(box.x0, box.y0) >= 0.0
        assert box.x1 <= paper[0]
        assert box.y1 <= paper[1]
    for k, box in enumerate(boxes):
        for other in boxes[k + 1 :]:
            wide = min(box.x1, other.x1) - max(box.x0, other.x0)
            high = min(box.y1, other.y1) - max(box.y0, other.y0)
            assert wide <= 1.0 or high <= 3.0


def test_a_measurement_with_a_turning_propeller_warns():
    seen, *_ = drawn()
    assert "measure" in best_sentence(seen)
    assert seen.best.measurement.spins
    assert "injures" in caution(seen)


def test_a_craft_that_cannot_hover_is_drawn():
    ballast = '[[parts]]\nname = "ballast"\nshape = "point"\nmass_g = 5000\n\n[motor]'
    _, _, panels, side = drawn(("[motor]", ballast))
    assert "it cannot hover" in side
    assert not any(words.startswith("hover") for words in panels)
