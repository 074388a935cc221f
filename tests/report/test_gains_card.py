"""The gains card as files: one page, nothing beside it, everything said, gains that fly."""

import csv
import io
import re
from dataclasses import replace
from pathlib import Path

import matplotlib
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.text import Text

from quadsim.analysis.craft_loops import Condition
from quadsim.analysis.gains_card import GainsCard, gains_card
from quadsim.analysis.gains_card_words import CAUTIONS, NO_CLEARANCE, steps_of
from quadsim.config import load_craft
from quadsim.config.craft_loader import parse_craft
from quadsim.config.gains_file import craft_with_gains
from quadsim.report import palette
from quadsim.report.gains_card import card_figure, card_page, draw_card
from quadsim.report.gains_card_files import CSV_HEAD, csv_text, toml_text
from quadsim.report.gains_card_html import card_html
from quadsim.report.page import A4_MM, MARGIN_MM, width_of, wrapped
from quadsim.report.picture import DPI
from quadsim.simulation.fly import start

pytestmark = pytest.mark.jit
LOOKED_AT = [Condition(), Condition(duty=0.95)]


@pytest.fixture(scope="module")
def card() -> GainsCard:
    """With its flight controller's conventions."""
    return gains_card(load_craft("siskin"), wanted=LOOKED_AT)


@pytest.fixture(scope="module")
def bare(card) -> GainsCard:
    """The same without them."""
    craft = card.craft
    board = craft.flight_controller.model_copy(update={"conventions": None})
    return gains_card(craft.model_copy(update={"flight_controller": board}), wanted=LOOKED_AT[:1])


@pytest.fixture(params=["card", "bare"])
def either(request) -> GainsCard:
    return request.getfixturevalue(request.param)


def test_one_a4_page(either, tmp_path: Path):
    path = draw_card(either, tmp_path / "card.pdf")
    data = path.read_bytes()
    assert len(re.findall(rb"/Type /Page\b", data)) == 1
    box = re.search(rb"/MediaBox \[ 0 0 ([\d.]+) ([\d.]+) \]", data)
    assert box is not None
    assert [float(edge) * 25.4 / 72.0 for edge in box.groups()] == pytest.approx(A4_MM, abs=0.01)
    page, end = card_page(either)
    assert end < A4_MM[1] - MARGIN_MM
    assert page.scale == 1.0


def test_a_fuller_card_is_drawn_smaller(card):
    """With ten notes more it still ends within the page."""
    page, end = card_page(
        replace(card, notes=("A note that takes more than one line of its column, as notes do. " * 2,) * 10)
    )
    assert 0.7 < page.scale < 1.0
    assert end == pytest.approx(A4_MM[1] - MARGIN_MM, abs=0.01)


def test_nothing_hangs_over_the_margin_or_over_another(either):
    """Every text lies within the printable page, and no two cover each other; of text it is the extent as drawn."""
    with matplotlib.rc_context(palette.SETTINGS):
        figure = card_figure(either)
        figure.set_dpi(DPI)
        renderer = FigureCanvasAgg(figure).get_renderer()
        boxes = [
            (one.get_text(), one.get_window_extent(renderer))
            for one in figure.findobj(Text)
            if one.get_text().strip()
        ]
    per_mm = figure.dpi / 25.4
    for words, box in boxes:
        assert box.x0 / per_mm >= MARGIN_MM - 0.5, words
        assert box.x1 / per_mm <= A4_MM[0] - MARGIN_MM + 0.5, words
        assert box.y0 / per_mm >= MARGIN_MM - 1.0, words
    for k, (words, box) in enumerate(boxes):
        for other, beside in boxes[k + 1 :]:
            wide = min(box.x1, beside.x1) - max(box.x0, beside.x0)
            high = min(box.y1, beside.y1) - max(box.y0, beside.y0)
            assert wide < 1.0 or high < 0.4 * min(box.height, beside.height), f"{words!r} covers {other!r}"


def test_a_webpage_of_its_own(either):
    page = card_html(either)
    assert not re.findall(r"https?:|src=|<link|@import|url\(", page)
    assert "@page { size: A4" in page
    for words in (
        NO_CLEARANCE,
        "never within reach of a propeller",
        "Hover 30 s",
        "feel the motors",
        "keep to the local rules",
    ):
        assert words in page
    assert page.count("<svg") == len(either.rungs) * 4
    assert ("Not converted" in page) == (either.converter is None)
    for tag in ("table", "tr", "td", "div", "p", "ol", "li", "aside"):
        assert len(re.findall(rf"<{tag}[ >]", page)) == page.count(f"</{tag}>"), tag


def test_a_refusal_names_what_is_missing(bare):
    page = card_html(bare)
    for key in ("mixer_scale", "command_idle", "thrust_curve_inverted", "derivative_cutoff_Hz"):
        assert key in page
    assert not any(row.converted for row in bare.rows)
    assert bare.checks == ()
    assert "throttle per deg/s" not in csv_text(bare)


def test_the_cautions_that_must_not_be_left_out(card):
    said = " ".join((NO_CLEARANCE, *CAUTIONS, *steps_of(card)))
    for words in ("not a clearance to fly", "checks signs only", "run away", "slack line from below the centre of mass",
                  "taut tether can flip", "local rules", "people", "Hover 30 s", "disconnect the pack"):  # fmt: skip
        assert words in said


def test_the_set_to_begin_with_is_named(card):
    assert card.begin is card.rungs[0]
    assert "begin with, 50 %" in steps_of(card)[1]
    assert "begin here" in card_html(card)


@pytest.mark.parametrize("percent", [50, 70, 85, 100])
def test_gains_fly_as_written(card, tmp_path: Path, percent: int):
    """The TOML laid over the craft, and pasted behind its file, gives a session exactly the gains of the set."""
    rung = next(one for one in card.rungs if one.share == percent / 100.0)
    text = toml_text(card, rung)
    assert NO_CLEARANCE in text
    path = tmp_path / "gains.toml"
    path.write_text(text, encoding="utf-8")
    for craft in (craft_with_gains(card.craft, path), parse_craft(f"{card.craft.source_text}\n{text}")):
        assert start("hover", craft=craft).gains == pytest.approx(rung.gains, rel=1e-5)


def test_what_the_craft_states_beside_the_ladder_is_kept(card):
    """A file of one set replaces the craft's own sections, so a stated gain that is not scaled must be in it."""
    assert "climb_max" not in toml_text(card, card.rungs[0])
    craft = card.craft.model_copy(update={"gains": {"guide": {"climb_max": 2.5}}})
    stated = replace(card, craft=craft)
    assert "climb_max = 2.5 # m/s" in toml_text(stated, stated.rungs[0])


def test_csv_holds_every_number_once(card):
    rows = list(csv.DictReader(io.StringIO(csv_text(card))))
    assert tuple(rows[0]) == CSV_HEAD
    keys = [(row["set_pct"], row["kind"], row["name"], row["quantity"]) for row in rows]
    assert len(keys) == len(set(keys))
    found = {key: float(row["value"]) for key, row in zip(keys, rows, strict=True)}
    assert found["70", "gain", "rate.roll_p", "value"] == pytest.approx(0.7 * 22.0)
    assert found["50", "loop", "roll", "least_gain_down"] == pytest.approx(
        card.rungs[0].loops["roll"].gain_down_dB[0], rel=1e-6
    )
    assert found["100", "check", "roll", "motor_difference"] == pytest.approx(
        card.checks[-1][0].difference_pct, rel=1e-6
    )
    assert all(row["unit"] for row in rows)


def test_the_controller_s_own_derivative_filter_counts(card):
    board = card.craft.flight_controller
    assert board.conventions is not None
    slow = board.conventions.model_copy(update={"derivative_cutoff_Hz": 20.0})
    craft = card.craft.model_copy(
        update={"flight_controller": board.model_copy(update={"conventions": slow})}
    )
    other = gains_card(craft, wanted=LOOKED_AT[:1])
    assert any("20 Hz" in note and "60 Hz" in note for note in other.notes)
    assert "derivative_cutoff = 20 # Hz" in toml_text(other, other.rungs[-1])
    fast, late = (one.rungs[-1].loops["roll"].buzz for one in (card, other))
    assert fast is not None
    assert late is not None
    assert late.frequency_Hz < 0.95 * fast.frequency_Hz  # a slower filter brings the oscillation down


def test_lines_are_no_wider_than_asked():
    words = "one set a flight at 10 m or more and then some longer words for the end of it"
    lines = wrapped(words, 40.0, 7.0)
    assert " ".join(lines) == words
    assert all(width_of(line, 7.0, False) <= 40.0 for line in lines)
    assert not any(line.endswith(" 10") for line in lines)  # a number stays with its unit
