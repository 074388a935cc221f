"""Nothing overlaps and every text fits, on real frames with the longest strings."""

from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest

from quadsim.errors import InputError
from quadsim.simulation.run import Event, Verdict
from quadsim.viewer.canvas import new_canvas
from quadsim.viewer.layout import LEAST, Rect, make_layout
from quadsim.viewer.panels import Pace
from quadsim.viewer.track import Track
from quadsim.viewer.view import Outlook, View

SIZES = [(1280, 720), (1920, 1080), LEAST, (1366, 768), (2560, 1080)]
LOOKS = {
    "chase": Outlook(pace=Pace(1 / 16, 0.03, "looking back")),
    "fixed": Outlook(camera="fixed", live=True, by_hand=True, pace=Pace(16.0, 12.4, "looking back")),
    "onboard": Outlook(camera="onboard", pace=Pace(0.5, 0.0, "paused")),
    "top with verdict": Outlook(camera="top", verdict=True),
    "help": Outlook(help=True, live=True),
}


@pytest.fixture
def longest(make_run):
    """A run with the widest figures that can be met: hundreds of metres, kilometres per hour, thousands of deg/s."""
    run = make_run(12.0)
    run.data["position_m"][:, 2] -= 488.8
    run.data["signals/target_height_m"] += 478.8
    run.data["velocity_m_s"][:, 0] = -188.8
    run.data["rates_rad_s"][:, 0] = -50.0
    run.data["battery_current_A"][:] = 188.8
    run.data["battery_voltage_V"][:] = 48.88
    run.data["wind_m_s"][:, 1] = -38.8
    run.data["duty"][:] = run.data["signals/motor"][:] = 1.0
    run.data["attitude"][:] = [0.0, 1.0, 0.0, 0.0]
    run.meta["capacity_mAh"] = 28888.0
    run.events[2:2] = [
        Event(2.0 + 0.1 * k, "timeline", f"many events in a short time, number {k}") for k in range(12)
    ]
    bound = "above 1234.5 and below 2345.6 from 100.5 s"
    run.expectations += [Verdict("estimate_error_deg", -1234.5678, bound, False)] * 24
    return run


@pytest.mark.parametrize("size", SIZES, ids=str)
def test_rectangles_do_not_overlap(size):
    layout = make_layout(size)
    frame = Rect(0, 0, *size)
    assert all(frame.encloses(rect) and min(rect.w, rect.h) > 0 for rect in layout.panels.values())
    assert [p for p in combinations(layout.panels, 2) if layout.panels[p[0]].meets(layout.panels[p[1]])] == []
    assert [p for p in combinations(layout.insets, 2) if layout.insets[p[0]].meets(layout.insets[p[1]])] == []
    assert all(layout.panels["scene"].encloses(r) for r in (*layout.insets.values(), layout.help))


def test_panels_cover_the_whole_frame():
    layout = make_layout((1280, 720))
    covered = sum(r.w * r.h for r in layout.panels.values())
    assert covered > 0.97 * 1280 * 720


@pytest.mark.parametrize("size", SIZES, ids=str)
@pytest.mark.parametrize("look", LOOKS)
@pytest.mark.parametrize("t_s", [0.0, 2.9, 12.0])
def test_texts_neither_overlap_nor_are_cut(longest, size, look, t_s):
    view = View(Track(longest), size)
    placed: list = []
    outlook = replace(LOOKS[look], verdict=LOOKS[look].verdict or False)
    view.draw(new_canvas(size, view.layout.scale, placed), t_s, outlook)
    scene, card = view.layout.panels["scene"], view.layout.help
    if outlook.help:  # what the card hides does not count
        placed = [p for p in placed if not p.rect.meets(card)] + [p for p in placed if card.encloses(p.rect)]
        last = max(k for k, p in enumerate(placed) if p.string == "Keys, mouse and gamepad")
        placed = [p for k, p in enumerate(placed) if k >= last or not p.rect.meets(card)]
    frame = Rect(0, 0, *size)
    assert [p.string for p in placed if not frame.encloses(p.rect)] == []
    # Sentences of flight files may be of any length and end in an ellipsis; nothing of ours may be cut.
    free = {e.text for e in longest.events} | {v.bound for v in longest.expectations}
    assert [p.string for p in placed if p.cut and p.string not in free and not scene.encloses(p.rect)] == []
    # Letters leave room above and below within their box: boxes may share two rows of pixels.
    crossing = [
        (a.string, b.string)
        for a, b in combinations(placed, 2)
        if a.rect.inset(0, 2).meets(b.rect.inset(0, 2))
    ]
    assert crossing == []


@pytest.mark.parametrize("size", [(1280, 720), (1920, 1080)], ids=str)
def test_every_text_stays_in_its_panel(longest, size):
    view = View(Track(longest), size)
    placed: list = []
    view.draw(
        new_canvas(size, view.layout.scale, placed), 6.0, Outlook(pace=Pace(1 / 16, 1 / 16, "looking back"))
    )
    rects = view.layout.panels.values()
    outside = [p.string for p in placed if not any(r.encloses(p.rect.inset(0, 2)) for r in rects)]
    assert outside == []


@pytest.mark.parametrize("size", [(320, 200), (1280, 100), (20000, 20000)], ids=str)
def test_a_size_that_cannot_be_read_is_refused(size):
    with pytest.raises(InputError, match=r"must be from 960 x 540"):
        make_layout(size)


def test_larger_frame_has_larger_letters(run):
    small, large = [], []
    for size, placed in (((1280, 720), small), ((1920, 1080), large)):
        view = View(Track(run), size)
        view.draw(new_canvas(size, view.layout.scale, placed), 5.0, Outlook())
    heights = [next(p.rect.h for p in placed if p.string == "Speed") for placed in (small, large)]
    assert heights[1] == pytest.approx(1.5 * heights[0], abs=2)
    assert np.all(np.array(heights) > 8)
