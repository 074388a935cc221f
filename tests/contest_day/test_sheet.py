"""The whole sheet: what it computes together, on the page, in the terminal and as JSON."""

import json
import re
from dataclasses import replace
from pathlib import Path

import matplotlib
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.text import Text

from quadsim.cli.out import print_json
from quadsim.cli.report_text import print_sheet, sheet_document
from quadsim.config import load_craft, mass_properties
from quadsim.config.contest_schema import load_contest
from quadsim.contest.lift_prediction import rated_payloads
from quadsim.contest_day.bound import CAUTION, GO, NEVER, NO_GO, Bound
from quadsim.contest_day.lift import lift_rule
from quadsim.contest_day.packs import EVENTS, shared_out
from quadsim.contest_day.sheet import DaySheet, day_sheet
from quadsim.contest_day.today import Pack, Today, file_mohm
from quadsim.contest_day.words import CAUTIONS, NO_CLEARANCE, after_words, before_words, range_words
from quadsim.environment.atmosphere import Site
from quadsim.report import palette
from quadsim.report.day_page import day_page, draw_day
from quadsim.report.page import A4_MM, MARGIN_MM
from quadsim.report.picture import DPI

pytestmark = pytest.mark.jit  # nothing here is compiled but the lap; once is enough for what it costs
PACKS = (Pack("tired", 6.6), Pack("fresh", 3.9), Pack("gone", 13.0))


@pytest.fixture(scope="module")
def sheet() -> DaySheet:
    """A cool day with a breeze, three packs, the craft 15 g heavier than its file; few draws, as only sense is asked."""
    craft = load_craft("siskin")
    heavier = 1000.0 * mass_properties(craft).mass_kg + 15.0
    today = Today(Site(temperature_C=8.0), 4.0, 7.0, PACKS, 20.0, heavier)
    return day_sheet(craft, load_contest("three_events"), today, samples=40)


def test_every_number_of_the_morning_counts(sheet):
    # colder air carries better; heavier laps slower; a fresher pack pulls harder
    standard, cool, heavy, fresh = sheet.steps
    assert cool.payload > standard.payload
    assert heavy.payload < cool.payload and heavy.lap_s > cool.lap_s
    assert fresh.payload >= heavy.payload and fresh.lap_s < heavy.lap_s
    assert mass_properties(sheet.lift.craft).mass_kg * 1e3 == pytest.approx(sheet.today.weighed_g)


def test_the_rated_payload_is_that_of_quadsim_lift(sheet):
    rule = lift_rule(sheet.contest, sheet.today)
    rated = rated_payloads([sheet.lift.craft], sheet.today.site, rule)[0]
    assert sheet.lift.able.payload == pytest.approx(rated, abs=1e-4)
    assert sheet.lift.able.payload < sheet.lift.able.failure


def test_packs_stand_in_order_and_the_worn_one_rests(sheet):
    assert [row.pack.name for row in sheet.packs] == ["fresh", "tired", "gone"]
    assert [row.worn for row in sheet.packs] == [False, False, True]
    assert sorted(event for row in sheet.packs for event in row.use) == sorted(EVENTS)
    assert sheet.packs[2].use == ()
    laps = [row.lap_s for row in sheet.packs]
    assert laps == sorted(laps)
    used = {event: row.pack.cell_mohm for row in sheet.packs for event in row.use}
    for event, day in sheet.days.items():
        assert file_mohm(day.craft) == pytest.approx(used[event])


def test_the_best_pack_goes_where_the_points_feel_it():
    points = {"slalom": [40.0, 39.0, 30.0], "lift": [30.0, 29.9, 29.9], "dash": [22.0, 15.0, 10.0]}
    assert shared_out(points, [True, True, True]) == [("dash",), ("slalom",), ("lift",)]
    assert shared_out(points, [True, True, False]) == [("dash", "lift"), ("slalom",), ()]
    assert shared_out(points, [False, False, False]) == [(), (), ()]


def test_stronger_winds_and_heavier_weights_hold_less(sheet):
    chances = sheet.lift.chances
    assert chances.shape[0] == len(sheet.lift.attempts)
    assert (chances[:, 1:] <= chances[:, :-1]).all()
    assert (chances[1:] <= chances[:-1]).all()
    assert [one.chance for one in sheet.lift.attempts] == sorted(
        (one.chance for one in sheet.lift.attempts), reverse=True
    )


def test_what_is_drawn_from_a_pack_is_what_its_charge_says(sheet):
    # coulomb counting: mean current times time, between the hover's current and that of the run
    for day in sheet.days.values():
        end = day.end
        capacity = float(day.craft.battery.capacity_mAh)
        assert 0.0 < end.back_mAh < capacity
        assert 3.3 < end.loaded_cell_V < end.rest_cell_V < float(day.craft.battery.full_cell_V)
        assert end.case_C < end.winding_C and end.case_C > 8.0


def test_one_a4_page_that_keeps_its_margins(sheet, tmp_path: Path):
    data = draw_day(sheet, tmp_path / "day.pdf").read_bytes()
    assert len(re.findall(rb"/Type /Page\b", data)) == 1
    page, end = day_page(sheet)
    assert end < A4_MM[1] - MARGIN_MM + 0.1
    assert page.scale > 0.9
    with matplotlib.rc_context(palette.SETTINGS):
        figure = day_page(sheet)[0].figure
        figure.set_dpi(DPI)
        canvas = FigureCanvasAgg(figure)
        width, _ = canvas.get_width_height()
        edge = MARGIN_MM / A4_MM[0] * width
        for text in figure.findobj(Text):
            if text.get_text():
                box = text.get_window_extent(canvas.get_renderer())
                assert box.x0 > edge - 2.0 and box.x1 < width - edge + 2.0, text.get_text()


def test_a_sheet_full_of_no_go_still_fits(sheet):
    never = [
        Bound(one.quantity, one.unit, one.today, NEVER, NEVER, 12 * "long ") for one in sheet.lift.bounds
    ]
    full = replace(
        sheet, days=sheet.days | {"lift": replace(sheet.lift, bounds=never)}, packs=sheet.packs * 4
    )
    assert full.verdicts["lift"] == NO_GO
    assert day_page(full)[1] <= A4_MM[1] - MARGIN_MM + 0.1


def test_the_terminal_says_it_all(sheet, capsys):
    print_sheet(sheet)
    out = capsys.readouterr().out
    for words in (
        NO_CLEARANCE,
        *CAUTIONS,
        *before_words(sheet),
        *after_words(sheet),
        "worn out: retire it",
        "Slalom: ",
    ):
        assert words in out
    for one in sheet.lift.attempts:
        assert f"{1e3 * one.payload:.0f}" in out


def test_the_document_is_the_same_sheet(sheet, capsys):
    print_json(sheet_document(sheet))
    found = json.loads(capsys.readouterr().out)
    assert {event: one["verdict"] for event, one in found["events"].items()} == sheet.verdicts
    lift = found["events"]["lift"]
    assert [one["payload_g"] for one in lift["attempts"]] == pytest.approx(
        [1e3 * one.payload for one in sheet.lift.attempts]
    )
    assert len(lift["attempts"][0]["success_pct_in_gusts"]) == len(lift["gusts_m_s"])
    assert {one["quantity"] for one in lift["bounds"]} == {"gust", "air", "pack"}
    assert found["packs"][2]["worn"] is True


def test_verdicts_are_the_worst_bound(sheet):
    bounds = [replace(sheet.dash.bounds[0], today=0.0, go=(0.0, 5.0), stop=(0.0, 9.0))]
    for wind, word in ((1.0, GO), (7.0, CAUTION), (9.5, NO_GO)):
        windy = replace(sheet.dash, bounds=[*bounds, replace(bounds[0], today=wind)])
        assert replace(sheet, days=sheet.days | {"dash": windy}).verdicts["dash"] == word


def test_a_bag_of_worn_packs_is_no_go_ahead(sheet):
    warm = [replace(one, go=(-99.0, 99.0)) for one in sheet.lift.bounds]
    good = replace(sheet, days=sheet.days | {"lift": replace(sheet.lift, bounds=warm)})
    assert good.verdicts["lift"] == GO
    assert replace(good, packs=sheet.packs[2:]).verdicts["lift"] == CAUTION


def test_ranges_in_words():
    inf = float("inf")
    assert range_words((0.0, 6.04), "m/s") == "up to 6.0 m/s"
    assert range_words((0.0, inf), "m/s") == "at all that was looked at"
    assert range_words((-inf, 31.0), "deg C") == "up to 31 deg C"
    assert range_words((-4.0, inf), "deg C") == "from -4 deg C"
    assert range_words((-4.0, 31.0), "deg C") == "-4 to 31 deg C"
    assert range_words(NEVER, "m/s") == "never"


def test_ctrl_c_leaves_the_events_that_are_known(monkeypatch, capsys):
    import quadsim.contest_day.sheet as module

    def stopped(*_, **__):
        raise KeyboardInterrupt

    monkeypatch.setattr(module, "lift_day", stopped)
    craft, contest, today = load_craft("siskin"), load_contest("three_events"), Today(Site(), 4.0, 7.0)
    part = day_sheet(craft, contest, today, samples=40)
    assert list(part.days) == ["slalom"] and part.missing == ["lift", "dash"]
    print_sheet(part)
    shown = capsys.readouterr().out
    assert "Stopped: lift and dash not worked out. This is not the whole sheet." in shown
    assert "Slalom: " in shown and "\nDash: " not in shown and "Before each run" in shown
    print_json(sheet_document(part))
    seen = json.loads(capsys.readouterr().out)
    assert seen["stopped"] and seen["missing"] == ["lift", "dash"] and list(seen["events"]) == ["slalom"]
    monkeypatch.setattr(module, "slalom_day", stopped)
    with pytest.raises(KeyboardInterrupt):
        day_sheet(craft, contest, today, samples=40)
