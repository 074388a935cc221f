"""The picture of practice over sessions."""

import pytest

from quadsim.practice.lap_book import LapLine
from quadsim.report.progress_sheet import draw_progress, progress_figure
from tests.planning.course_cases import a_course, a_gate


def course(closed):
    gates = [a_gate(str(k), 5.0 * k) for k in (1, 2, 3)]
    return a_course(*gates, closed=closed, name="Invented row")


def lap(splits, session="a", aids=(), misses=0):
    return LapLine(
        session, "2001-09-09T01:46:40Z", splits[-1], tuple(splits), misses, "rate_command", aids, "picture"
    )


def words(figure):
    return " ".join(text.get_text() for axes in figure.axes for text in axes.texts) + " ".join(
        t.get_text() for t in figure.texts
    )


def test_the_leg_that_loses_most_is_named():
    laps = [
        lap((0.0, 2.0, 4.0, 6.0)),
        lap((0.0, 2.1, 5.0, 7.1), "b"),
        lap((0.0, 2.1, 5.0, 7.1), "b", ("slow",)),
    ]
    figure = progress_figure(course(True), "Tern", laps)
    bars = [patch.get_height() for patch in figure.axes[1].patches]
    # by hand: legs 2.0, 2.0, 2.0 and 2.1, 2.9, 2.1; median less best; the lap with an aid is left out
    assert bars == pytest.approx([0.05, 0.45, 0.05])
    assert [tick.get_text() for tick in figure.axes[1].get_xticklabels()] == ["1-2", "2-3", "3-1"]
    assert "most is lost here: 0.45 s" in words(figure) and "best 6.00 s" in words(figure)
    assert "3 laps in 2 sessions" in words(figure)


def test_hundredths_are_not_made_much_of():
    figure = progress_figure(course(False), "Tern", [lap((2.0, 4.0, 6.00)), lap((2.0, 4.0, 6.01))])
    low, high = figure.axes[0].get_ylim()
    assert high - low >= 1.0 and "most is lost" not in words(figure)


@pytest.mark.parametrize("laps", [[lap((2.0, 4.0, 6.0))], [lap((2.0, 4.0, 6.0), aids=("slow",))]])
def test_a_single_lap_is_drawn(laps, tmp_path):
    path = draw_progress(course(False), "Tern", laps, tmp_path / "p.png")
    assert path.stat().st_size > 10_000
