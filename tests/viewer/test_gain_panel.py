"""The panel of gains: its slider, keys and mouse, and that every text fits; nothing is flown."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from controllers.contract import SLOTS
from quadsim.analysis.response_figures import Step, Trace, figures_of_step
from quadsim.simulation.live_gains import LiveGain
from quadsim.viewer.app import App
from quadsim.viewer.canvas import new_canvas
from quadsim.viewer.gain_panel import PanelState, panel_places, share_of, value_at
from quadsim.viewer.gain_tuning import GainTuning
from quadsim.viewer.layout import LEAST, make_layout
from quadsim.viewer.track import Track
from quadsim.viewer.view import Outlook, View
from quadsim.viewer.window import Happening

SIZES = [(1280, 720), (1920, 1080), LEAST, (1366, 768), (2560, 1080)]
NAMES = (
    "ROLL_P",
    "PITCH_P",
    "YAW_P",
    "DERIVATIVE_CUTOFF",
    "FEED_FORWARD_LIMIT",
    "THROTTLE_EXPONENTIAL",
    "BATTERY_SMOOTHING",
)
"""The longest names among them."""


def gain(name="ROLL_P", row=3, index=0, low=0.0, high=100.0, craft=22.0, unit="rad/s2"):
    return LiveGain(row, index, name, unit, low, high, craft)


class InventedGains:
    """Gains of no flight."""

    def __init__(self, count=30):
        named = [NAMES[k] if k < len(NAMES) else f"GAIN_{k}" for k in range(count)]
        self.by_slot = {
            slot: tuple(
                gain(name, row, k, craft=123.4 if k else 22.0, high=1000.0 if k else 100.0)
                for k, name in enumerate(named)
            )
            for row, slot in enumerate(SLOTS)
        }
        self.values = np.zeros((5, 64))
        for found in self.by_slot.values():
            for one in found:
                self.values[one.row, one.index] = one.craft
        self.notes = []

    def block(self, slot):
        return SimpleNamespace(name="invented")

    def value(self, one):
        return float(self.values[one.row, one.index])

    def set(self, one, value):
        self.values[one.row, one.index] = min(max(value, one.low), one.high)

    def reset(self):
        for one in self.changed:
            self.values[one.row, one.index] = one.craft

    def note(self, one, before):
        self.notes.append((one.name, before, self.value(one)))

    @property
    def changed(self):
        return [one for found in self.by_slot.values() for one in found if self.value(one) != one.craft]


class InventedPredictor:
    """Notes what it is asked."""

    def __init__(self):
        self.asked, self.answer, self.trouble = [], None, ""

    def ask(self, kind, gains):
        self.asked.append((kind, gains.copy()))


def answer(kind="roll rate", lag_s=0.05, trouble=""):
    """A first-order answer to a step of 100 deg/s."""
    t = np.linspace(0.0, 0.8, 801)

    def step(lag):
        flown = 100.0 * (1.0 - np.exp(-t / lag))
        trace = Trace(t, np.full_like(t, 100.0), flown, "deg/s")
        return Step(kind, "roll", 100.0, trace, figures_of_step(t, flown, 100.0), 1.5, trouble)

    return SimpleNamespace(kind=kind, craft=step(0.08), asked=step(lag_s))


@pytest.fixture
def tuning():
    made = GainTuning(InventedGains(), InventedPredictor(), make_layout((1280, 720)))
    made.toggle()
    return made


def key(tuning, *names):
    return [tuning.hear(Happening("key", key=name)) for name in names]


@pytest.mark.parametrize(
    "one", [gain(), gain(low=-2.0, high=5.0, craft=0.0), gain(low=1.0, high=1000.0, craft=60.0)]
)
def test_slider_and_value_go_there_and_back(one):
    assert (share_of(one, one.low), share_of(one, one.high)) == (0.0, 1.0)
    assert (value_at(one, -1.0), value_at(one, 2.0)) == (one.low, one.high)
    shares = np.linspace(0.02, 1.0, 50)
    values = [value_at(one, share) for share in shares]
    assert np.all(np.diff(values) >= 0.0)
    assert [share_of(one, value) for value in values] == pytest.approx(shares, abs=0.02)


@pytest.mark.parametrize("size", SIZES, ids=str)
def test_nothing_overlaps_and_all_lies_in_the_column(size):
    layout = make_layout(size)
    places = panel_places(layout, 5)
    parts = [places.plot, places.figures, *places.tabs, *places.rows, places.reset]
    assert all(places.box.encloses(part) for part in parts)
    assert not [1 for k, part in enumerate(parts) for other in parts[k + 1 :] if part.meets(other)]
    assert all(
        row.encloses(slider) and slider.w > layout.px(60)
        for row, slider in zip(places.rows, places.sliders, strict=True)
    )
    assert not places.box.meets(layout.panels["scene"])
    assert len(places.rows) >= 10


@pytest.mark.parametrize("size", SIZES, ids=str)
@pytest.mark.parametrize(
    "seen",
    [
        answer(),
        answer(lag_s=3.0),
        answer(trouble="cannot hover with these gains: tilted by 57 deg after 2 s"),
        None,
    ],
)
def test_texts_of_the_panel_fit(run, size, seen):
    view = View(Track(run), size)
    gains = InventedGains()
    gains.set(gains.by_slot["rate"][1], 99.95)
    state = replace(GainTuning(gains, InventedPredictor(), view.layout).state, answer=seen, changed=12)
    placed: list = []
    view.draw(new_canvas(size, view.layout.scale, placed), 2.0, Outlook(gains=state))
    box = panel_places(view.layout, len(state.slots)).box
    own = [text for text in placed if text.rect.meets(box)]
    assert [text.string for text in own if text.cut] == []
    assert [text.string for text in own if not box.encloses(text.rect)] == []
    pairs = [
        (a.string, b.string)
        for k, a in enumerate(own)
        for b in own[k + 1 :]
        if a.rect.inset(1, 2).meets(b.rect.inset(1, 2))
    ]
    assert pairs == []
    words = {text.string for text in own}
    assert {"roll p", "throttle exponential", "12 differ from the craft file", "Reset"} <= words


def test_arrows_choose_and_change(tuning):
    assert key(tuning, "down", "right", "right") == [True] * 3
    assert tuning.gains.value(tuning.chosen) == 135.0  # in steps of 5
    assert tuning.predictor.asked[-1][0] == "pitch rate"
    assert tuning.predictor.asked[-1][1] == pytest.approx(tuning.gains.values)
    key(tuning, "up")  # another gain: the change is done, and noted once
    assert tuning.gains.notes == [("PITCH_P", 123.4, 135.0)]
    key(tuning, "backspace")
    assert tuning.gains.changed == []


def test_a_gain_of_zero_leaves_it(tuning):
    tuning.gains.set(tuning.chosen, 0.0)
    key(tuning, "right")
    assert tuning.gains.value(tuning.chosen) > 0.0


@pytest.mark.parametrize(
    ("value", "after"), [(22.0, 22.5), (0.3, 0.305), (60.0, 60.5), (99.9, 100.0), (100.0, 100.0), (9.9, 9.95)]
)
def test_a_stroke_goes_to_a_round_number(tuning, value, after):
    tuning.gains.set(tuning.chosen, value)
    key(tuning, "right")
    assert tuning.gains.value(tuning.chosen) == after


def test_tab_goes_round_the_slots_and_asks_what_tells(tuning):
    assert tuning.slot == "rate"
    key(tuning, "tab", "tab")
    assert tuning.slot == "estimate"
    key(tuning, *["tab"] * 2)
    assert (tuning.slot, tuning.predictor.asked[-1][0]) == ("attitude", "roll")


def test_the_list_follows_the_choice_and_the_wheel(tuning):
    key(tuning, *["down"] * 20)
    state, rows = tuning.state, len(tuning.places.rows)
    assert state.chosen == 20
    assert state.first == 21 - rows
    box = tuning.places.box
    tuning.hear(Happening("move", at=(box.x + 50, box.y + 50)))
    assert tuning.hear(Happening("wheel", notches=100))
    assert tuning.state.first == 0
    tuning.hear(Happening("move", at=(100, 100)))
    assert not tuning.hear(Happening("wheel", notches=1))  # over the scene it zooms


def test_a_slider_is_dragged_and_snaps_to_the_craft_file(tuning):
    slider = tuning.places.sliders[0]
    middle = slider.y + slider.h // 2
    half = (slider.x + slider.w // 2, middle)
    assert tuning.hear(Happening("press", at=half))
    assert tuning.gains.value(tuning.chosen) == pytest.approx(12.5, rel=0.1)  # an eighth of 100
    tuning.hear(Happening("drag", at=(slider.right + 400, middle), moved=(9, 0)))
    assert tuning.gains.value(tuning.chosen) == 100.0
    stood = round(slider.x + share_of(tuning.chosen, 22.0) * slider.w)
    tuning.hear(Happening("drag", at=(stood + 1, middle), moved=(1, 0)))
    assert tuning.gains.changed == []
    tuning.hear(Happening("drag", at=(slider.x, middle), moved=(1, 0)))
    tuning.hear(Happening("release", at=(slider.x, middle)))
    assert tuning.gains.notes[-1] == ("ROLL_P", 22.0, 0.0)
    assert not tuning.hear(Happening("drag", at=half, moved=(1, 0)))


def test_tabs_and_reset_by_mouse(tuning):
    tab = tuning.places.tabs[1]
    tuning.hear(Happening("press", at=(tab.x + 5, tab.y + 5)))
    assert tuning.slot == "guide"
    key(tuning, "right")
    reset = tuning.places.reset
    tuning.hear(Happening("press", at=(reset.x + 5, reset.y + 5)))
    assert tuning.gains.changed == []


def test_closed_it_hears_nothing_and_open_it_leaves_the_rest_to_the_viewer(tuning):
    assert key(tuning, "space", "1", "home") == [False] * 3
    assert not tuning.hear(Happening("press", at=(200, 200)))
    key(tuning, "escape")
    assert not tuning.open
    assert key(tuning, "up", "right") == [False] * 2


def test_the_viewer_opens_it_by_key_and_by_mouse(run):
    app = App(run, (1280, 720), "chase", wall=lambda: 0.0)
    app.hear(Happening("key", key="g"))  # a replay has no gains to change
    app.tuning = GainTuning(InventedGains(), InventedPredictor(), app.view.layout)
    app.hear(Happening("key", key="g"))
    assert app.tuning.open
    app.hear(Happening("key", key="up"))
    assert app.playback.t_s == 0.0  # the arrows belong to the panel
    app.hear(Happening("key", key="g"))
    assert not app.tuning.open
    title = app.view.layout.panels["title"]
    app.hear(Happening("press", at=(title.right - 90, title.y + 20)))
    assert app.tuning.open
    app.hear(Happening("press", at=(title.right - 30, title.y + 20)))
    assert app.outlook.help


def test_the_plot_is_painted_once_for_an_answer(run):
    view = View(Track(run), (1280, 720))
    canvas, tuning = new_canvas((1280, 720)), GainTuning(InventedGains(), InventedPredictor(), view.layout)
    state: PanelState = replace(tuning.state, answer=answer())
    view.gain_panel.draw(canvas, state)
    painted = view.gain_panel._painted
    view.gain_panel.draw(canvas, replace(state, chosen=2))
    assert view.gain_panel._painted is painted
    view.gain_panel.draw(canvas, replace(state, answer=answer(lag_s=0.02)))
    assert view.gain_panel._painted is not painted
