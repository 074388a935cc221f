"""The set-out sheet as a page: one sheet, nothing beside it, every number of the tables, the plan the right way round."""

import re
from html import escape

import matplotlib
import numpy as np
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.patches import Circle, Polygon
from matplotlib.text import Text

from quadsim.analysis.throw import Throw
from quadsim.config.course_schema import load_course
from quadsim.config.find_data import shipped
from quadsim.contest.people import ROUGH, People
from quadsim.planning.setout import setout, way_through
from quadsim.report import palette
from quadsim.report.labels import label_places
from quadsim.report.page import A4_MM, MARGIN_MM, mm, width_of
from quadsim.report.setout_html import sheet_html
from quadsim.report.setout_plan import draw_people, draw_plan
from quadsim.report.setout_sheet import sheet_page, write_sheet
from quadsim.report.setout_words import (
    CAUTIONS,
    FIRST,
    Sheet,
    crowd_words,
    gate_grid,
    material_grid,
    peg_grid,
    work_words,
)

THROW = Throw(12.0, 18.0, 5.0, 35.0, 40.3, 18.0, 22.0, 147.0)
FAR = Throw(12.0, 30.0, 5.0, 35.0, 80.2, 30.0, 31.0, 290.0)


def made(name: str, **more) -> Sheet:
    """A layout with the way of its picture, half as fast at its ends as in its middle."""
    course = load_course(name)
    way = way_through(course, ROUGH)
    share = 1.0 - np.abs(np.linspace(-0.5, 0.5, len(way)))
    people = People("Siskin", THROW, "as given", way, THROW.distance_m * share, way[len(way) // 2], **more)
    return Sheet(setout(course), people)


@pytest.fixture(scope="module", params=shipped("courses"))
def sheet(request) -> Sheet:
    return made(request.param)


def test_one_a4_page_with_every_number_and_caution_and_nothing_beside_it(sheet):
    with matplotlib.rc_context(palette.SETTINGS):
        page, end = sheet_page(sheet)
        canvas = FigureCanvasAgg(page.figure)
        canvas.draw()
        boxes = {
            one.get_text(): one.get_window_extent() for one in page.figure.findobj(Text) if one.get_text()
        }
    assert end <= A4_MM[1] - MARGIN_MM + 0.01
    assert page.scale > 0.98  # letters stay legible
    width, height = canvas.get_width_height()
    for words, box in boxes.items():
        assert box.x0 >= 0.0 and box.x1 <= width and box.y0 >= 0.0 and box.y1 <= height, words
    for grid in (gate_grid(sheet.setout), peg_grid(sheet.setout), material_grid(sheet.setout)):
        for row in grid.rows:
            assert set(row) - {""} <= set(boxes)
    assert {FIRST, *CAUTIONS} <= set(boxes)


def test_the_plan_has_the_base_line_to_the_right_and_its_right_side_down(sheet):
    """Seen from above, so never mirrored: from along to right is a turn clockwise on the paper."""
    figure = Figure(figsize=(7.0, 5.0))
    axes = figure.add_axes((0.0, 0.0, 1.0, 1.0))
    draw_plan(axes, sheet)
    FigureCanvasAgg(figure).draw()
    origin, along, right = (axes.transData.transform(at) for at in ((0.0, 0.0), (1.0, 0.0), (0.0, 1.0)))
    assert along[0] > origin[0] and along[1] == pytest.approx(origin[1])
    assert right[1] < origin[1] and right[0] == pytest.approx(origin[0])
    assert along[0] - origin[0] == pytest.approx(origin[1] - right[1], rel=1e-6)  # a metre is a metre
    said = {text.get_text() for text in figure.findobj(Text)}
    assert {"O", "E", "start", "field 1", "field 4"} <= said
    for frame in sheet.setout.frames:
        assert any(frame.name in one for one in said)


def test_where_a_craft_may_come_down_lies_within_the_line_of_people(sheet):
    figure = Figure()
    axes = figure.add_axes((0.0, 0.0, 1.0, 1.0))
    draw_people(axes, sheet)
    circles = [one for one in axes.patches if isinstance(one, Circle)]
    (line,) = (one.get_xy() for one in axes.patches if isinstance(one, Polygon))
    radii = [one.radius for one in circles]
    assert max(radii) == pytest.approx(THROW.distance_m, rel=0.02) and min(radii) == 0.5 * THROW.distance_m
    assert sheet.crowd_m == 59.0  # 40.3 m and 18 m, up to a whole metre
    for circle in circles[::5]:
        ends = np.array(line)
        sides = ends[1:] - ends[:-1]
        off = np.array(circle.center) - ends[:-1]
        inward = (sides[:, 0] * off[:, 1] - sides[:, 1] * off[:, 0]) / np.linalg.norm(sides, axis=1)
        assert np.min(np.abs(inward)) >= THROW.distance_m - 1e-9
        assert np.all(inward > 0.0) or np.all(inward < 0.0)


def test_files(tmp_path):
    """Hall alone, to be quick. The same sheet is the same page, and its two drawings share no name."""
    sheet = made("hall", runaway=FAR, note="No craft was named.")
    pdf = write_sheet(sheet, tmp_path / "sheet.pdf").read_bytes()
    assert len(re.findall(rb"/Type /Page\b", pdf)) == 1
    page = write_sheet(sheet, tmp_path / "sheet.html").read_text(encoding="utf-8")
    assert page == sheet_html(sheet)
    assert page.startswith("<!DOCTYPE html>")
    plan, people = (set(re.findall(r'clipPath id="(\w+)"', one)) for one in page.split("<svg")[1:])
    assert plan and not plan & people
    assert not re.search(r"(src|href)=\"http", page)
    for grid in (gate_grid(sheet.setout), peg_grid(sheet.setout), material_grid(sheet.setout)):
        for row in grid.rows:
            assert f"<tr>{''.join(f'<td>{escape(cell)}</td>' for cell in row)}</tr>" in page
    for line in (*work_words(sheet), *CAUTIONS, FIRST, *crowd_words(sheet)):
        assert escape(line) in page
    assert '<p class="alarm">No craft was named.</p>' in page
    assert "@page { size: A4" in page and page.count("<li>") == len(work_words(sheet))
    assert page.count("<table>") == page.count("</table>") == 3 and page.count("<div") == page.count("</div>")


def test_names_beside_gates_touch_neither_each_other_nor_a_gate():
    """Two gates side by side, with a way to the right of both: names go elsewhere."""
    middles = np.array([[0.0, 0.0], [3.0, 0.0]])
    way = np.stack([np.linspace(-8.0, 12.0, 400), np.full(400, 1.5)], axis=1)
    places = label_places(
        ["first gate", "second gate"], middles, 0.5, np.concatenate([way, middles]), 0.25, 6.6
    )
    halves = [
        0.125 * np.array([width_of(name, 6.6, True), 1.5 * mm(6.6)]) for name in ("first gate", "second gate")
    ]
    (a, b), (p, q) = places, halves
    assert np.any(np.abs(a - b) >= p + q)
    for at, half in zip(places, halves, strict=True):
        assert not np.any(np.all(np.abs(middles - at) < half, axis=1))
        assert not np.any(np.all(np.abs(way - at) < half, axis=1))


def test_the_order_of_work_and_who_must_be_told():
    """Numbers of a hand's work: base line, 3-4-5, diagonal; the runaway's distance up to a whole metre."""
    sheet = made("hall", runaway=FAR)
    words = " ".join(work_words(sheet))
    for part in (
        "E 20 m from it",
        "mark 8 m along",
        "6 m to its right",
        "10 m apart",
        "30.53 m",
        "59 m from",
    ):
        assert part in words
    assert "may reach 30 m/s and come 111 m" in crowd_words(sheet)[-1]  # 80.2 m and 30 m
    assert gate_grid(sheet.setout).rows[0][-1] == "1.98"  # 1.4 m square: 1.4 sqrt(2)
    assert [row[0] for row in gate_grid(sheet.setout).rows] == list("123456")
