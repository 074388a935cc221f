"""The sheet of a flight: it holds what it should, nothing lies over something else, and files are whole."""

import numpy as np
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg

from quadsim.errors import FlightError, InputError
from quadsim.report.flight_sheet import _spread, draw_flight, flight_figure
from quadsim.report.sidebar import X, kept_together, numbered
from quadsim.simulation.run import Verdict


def texts(figure):
    """Every text of a figure with its box in pixels."""
    FigureCanvasAgg(figure)
    figure.canvas.draw()
    owners = [figure, *figure.axes]
    found = [text for owner in owners for text in owner.texts if text.get_text()]
    return [(text.get_text(), text.get_window_extent()) for text in found]


def everything(run):
    return np.ones(len(run), bool)


def test_the_sheet_says_what_happened_and_how_it_was_judged(make_run):
    run = make_run()
    said = [text for text, _ in texts(flight_figure(run, everything(run)))]
    for wanted in (
        "An invented flight",
        "PASS",
        "max_tilt_deg",
        "1.00, below 3",
        "a mark",
        "something broke",
        "0.50 s",
    ):
        assert wanted in said
    assert "A simulated pass is not a clearance to fly." in said


def test_a_long_bound_stays_within_the_side(make_run):
    run = make_run()
    run.expectations[0] = Verdict(
        "status", None, "battery_empty; must be battery_empty or crashed or propeller_strike", True
    )
    figure = flight_figure(run, everything(run))
    left = (X - 0.005) * figure.bbox.width
    side = [box for text, box in texts(figure) if "propeller_strike" in text or "must be" in text]
    assert side
    assert all(left <= box.x0 and box.x1 <= figure.bbox.width for box in side)


def test_a_failed_flight_says_so(make_run):
    run = make_run(status="crashed")
    said = [text for text, _ in texts(flight_figure(run, everything(run)))]
    assert "FAIL" in said
    assert "PASS" not in said


def test_no_text_lies_over_another(make_run):
    def change(data):
        data["wind_m_s"][:] = [1.0, 1.01, 0.99]
        data["signals/motor"][50:60, 2] = 1.0

    run = make_run(change)
    boxes = texts(flight_figure(run, everything(run)))
    tight = [(text, box.shrunk(0.9, 0.8)) for text, box in boxes]
    overlaps = [
        (a, b) for k, (a, one) in enumerate(tight) for b, other in tight[k + 1 :] if one.overlaps(other)
    ]
    assert not overlaps


def test_every_axis_has_a_unit_and_the_last_one_the_time(make_run):
    run = make_run()
    figure = flight_figure(run, everything(run))
    units = {"m", "deg", "%", "A", "V", "m/s"}
    assert all(units & {text.get_text() for text in ax.texts} for ax in figure.axes)
    assert figure.axes[-1].get_xlabel() == "time, s"


def test_text_of_a_user_is_no_formula(make_run, tmp_path):
    path = draw_flight(make_run(title="costs 5$ or 10$ \\frac"), tmp_path / "sheet.svg")
    assert "costs 5$ or 10$ \\frac" in path.read_text(encoding="utf-8")


def test_marks_are_numbered_in_order_and_a_good_end_is_none(make_run):
    run = make_run()
    assert [(m.number, m.text, m.alarm) for m in numbered(run, 0.0, 2.0)] == [
        (1, "a mark", False),
        (2, "something broke", True),
    ]
    assert [m.text for m in numbered(run, 0.8, 2.0)] == ["something broke"]
    assert [m.text for m in numbered(make_run(status="crashed"), 1.5, 2.0)] == ["over"]


@pytest.mark.parametrize(
    ("at", "apart"), [([0.5, 0.5, 0.5], 0.1), ([0.0, 0.01], 0.2), ([0.98, 1.0], 0.2), ([0.1, 0.9], 0.1)]
)
def test_names_of_lines_move_apart_and_stay_inside(at, apart):
    places = _spread(at, apart)
    assert places == sorted(places)
    assert min(np.diff(places)) >= apart - 1e-5
    assert places[0] >= -1e-5 and places[-1] <= 1.0 + 1e-5


def test_numbers_stay_with_their_units():
    assert kept_together("struck after 3.99 s, at 12 m/s") == "struck after 3.99\u00a0s, at 12\u00a0m/s"


def test_a_part_of_the_flight(make_run, tmp_path):
    run = make_run()
    with pytest.raises(InputError, match=r"nothing to draw from 2\.5 to 2 s; the flight ends at 2 s"):
        draw_flight(run, tmp_path / "sheet.png", from_s=2.5)
    draw_flight(run, tmp_path / "sheet.png", from_s=0.5, to_s=1.5)
    assert (tmp_path / "sheet.png").stat().st_size > 10_000


def test_a_sheet_that_cannot_be_written_leaves_the_old_one(make_run, tmp_path, monkeypatch):
    path = tmp_path / "sheet.svg"
    path.write_text("old", encoding="utf-8")

    def full(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.replace", full)
    with pytest.raises(FlightError, match="No space left on device"):
        draw_flight(make_run(), path)
    assert path.read_text(encoding="utf-8") == "old"
    assert [p.name for p in tmp_path.iterdir()] == ["sheet.svg"]
