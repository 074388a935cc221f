"""The set-out sheet as a page: one sheet, nothing beside it, every number of the tables, the plan the right way round."""

import re

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
from quadsim.planning.setout import setout, way_through
from quadsim.report import palette
from quadsim.report.page import A4_MM, MARGIN_MM
from quadsim.report.setout_html import sheet_html
from quadsim.report.setout_plan import ROUGH, draw_people, draw_plan
from quadsim.report.setout_sheet import sheet_page, write_sheet
from quadsim.report.setout_words import CAUTIONS, Sheet, gate_grid, material_grid, peg_grid

THROW = Throw(12.0, 18.0, 5.0, 35.0, 40.3, 18.0, 22.0, 147.0)


@pytest.fixture(scope="module", params=shipped("courses"))
def sheet(request) -> Sheet:
    return Sheet(setout(load_course(request.param)), THROW, "Siskin", "as given")


def test_one_a4_page_with_every_number_and_caution_and_nothing_beside_it(sheet):
    with matplotlib.rc_context(palette.SETTINGS):
        page, end = sheet_page(sheet)
        canvas = FigureCanvasAgg(page.figure)
        canvas.draw()
        boxes = {
            one.get_text(): one.get_window_extent() for one in page.figure.findobj(Text) if one.get_text()
        }
    assert end <= A4_MM[1] - MARGIN_MM + 0.01
    assert page.scale > 0.9  # letters stay legible
    width, height = canvas.get_width_height()
    for words, box in boxes.items():
        assert box.x0 >= 0.0 and box.x1 <= width and box.y0 >= 0.0 and box.y1 <= height, words
    for grid in (gate_grid(sheet.setout), peg_grid(sheet.setout), material_grid(sheet.setout)):
        for row in grid.rows:
            assert set(row) - {""} <= set(boxes)
    assert set(CAUTIONS) <= set(boxes)


def test_the_plan_has_the_base_line_to_the_right_and_its_right_side_down(sheet):
    """Seen from above, so never mirrored: from along to right is a turn clockwise on the paper."""
    figure = Figure(figsize=(7.0, 5.0))
    axes = figure.add_axes((0.0, 0.0, 1.0, 1.0))
    draw_plan(axes, sheet.setout)
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
    assert len(circles) == len(way_through(sheet.setout.course, ROUGH))
    assert sheet.crowd_m == 59.0  # 40.3 m and 18 m, up to a whole metre
    for circle in circles[::5]:
        assert circle.radius == THROW.distance_m
        ends = np.array(line)
        sides = ends[1:] - ends[:-1]
        off = np.array(circle.center) - ends[:-1]
        inward = (sides[:, 0] * off[:, 1] - sides[:, 1] * off[:, 0]) / np.linalg.norm(sides, axis=1)
        assert np.min(np.abs(inward)) >= circle.radius - 1e-9
        assert np.all(inward > 0.0) or np.all(inward < 0.0)


def test_files(tmp_path):
    """Hall alone, to be quick. The same sheet is the same page, and its two drawings share no name."""
    sheet = Sheet(setout(load_course("hall")), THROW, "Siskin", "as given")
    pdf = write_sheet(sheet, tmp_path / "sheet.pdf").read_bytes()
    assert len(re.findall(rb"/Type /Page\b", pdf)) == 1
    page = write_sheet(sheet, tmp_path / "sheet.html").read_text(encoding="utf-8")
    assert page == sheet_html(sheet)
    assert page.startswith("<!DOCTYPE html>")
    plan, people = (set(re.findall(r'clipPath id="(\w+)"', one)) for one in page.split("<svg")[1:])
    assert plan and not plan & people
    assert not re.search(r"(src|href)=\"http", page)
    for row in gate_grid(sheet.setout).rows:
        assert f"<tr><td>{row[0]}</td><td>{row[1]}</td>" in page
