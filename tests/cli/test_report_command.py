"""`quadsim report --contest`: what it hands on, and what it refuses before any work is done."""

import pytest

from quadsim.config.contest_schema import load_contest


class AskedError(Exception):
    """Raised in place of the work."""


@pytest.fixture
def asked(quadsim, monkeypatch):
    """The command up to the work: what `day_sheet` would be given."""
    import quadsim.contest_day.sheet as module

    def call(*arguments):
        caught = {}

        def instead(craft, contest, today, others, **how):
            caught.update(craft=craft, contest=contest, today=today, others=others, how=how)
            raise AskedError

        monkeypatch.setattr(module, "day_sheet", instead)
        answer = quadsim("report", *arguments)
        return answer, caught

    return call


def test_today_is_handed_on(asked):
    _, found = asked(
        "bonxie", "--contest", "three_events", "--wind-m-s", 4, "--temperature-C", 8, "--pack", "A=4.5", "--pack", "B=6",
        "--measured-at-C", 12, "--weighed-g", 1620, "--event-craft", "dash=williwaw", "--step-g", 25, "--seed", 3,
    )  # fmt: skip
    today = found["today"]
    assert (today.wind_m_s, today.gust_m_s) == (4.0, pytest.approx(6.4))
    assert (today.site.temperature_C, today.site.pack_temperature_C, today.measured_at_C) == (8.0, 8.0, 12.0)
    assert [(one.name, one.cell_mohm) for one in today.packs] == [("A", 4.5), ("B", 6.0)]
    assert today.weighed_g == 1620.0
    assert found["others"]["dash"].name == "Williwaw" and found["craft"].name == "Bonxie"
    assert found["how"]["step_g"] == 25.0 and found["how"]["seed"] == 3


def test_what_is_left_out_is_the_contest_files(asked):
    _, found = asked("siskin")
    air = load_contest("three_events").air
    site = found["today"].site
    assert (site.temperature_C, site.pressure_hPa) == (air.temperature_C, air.pressure_hPa)
    assert found["today"].wind_m_s == air.wind_m_s
    assert found["today"].packs == () and found["today"].weighed_g is None


def test_an_elevation_brings_its_own_pressure(asked):
    _, found = asked("siskin", "--elevation-m", 1000)
    assert found["today"].site.pressure_hPa == pytest.approx(898.7, abs=0.2)  # ICAO Doc 7488, table at 1000 m


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("--pack", "A"), "'A' has no value"),
        (("--pack", "A=4", "--pack", "A=5"), "'A' is given twice"),
        (("--pack", "A=x", "--pack", "B=900"), "must be 0.1 to 200 mohm per cell"),
        (("--wind-m-s", 6, "--gust-m-s", 3), "a gust is no weaker than the wind"),
        (("--event-craft", "race=siskin"), "must be one of slalom, lift, dash"),
        (("--out", "sheet.doc"), "must end in .png, .pdf, .svg"),
        (("--weighed-g", 3000), "the file of Siskin comes to"),
        (("--contest", "nowhere"), "nowhere"),
    ],
)
def test_bad_input_is_said(quadsim, arguments, words):
    answer = quadsim("report", "siskin", *arguments)
    assert answer.status == 2
    assert words in answer.err
    assert answer.out == ""


@pytest.mark.parametrize(("missing", "status"), [([], 1), (["dash"], 130)], ids=["whole", "stopped"])
def test_a_stopped_day_is_no_verdict_and_no_page(quadsim, monkeypatch, missing, status):
    from types import SimpleNamespace

    import quadsim.cli.report_text as text
    import quadsim.contest_day.sheet as module
    import quadsim.report.day_page as page

    drawn = []
    sheet = SimpleNamespace(missing=missing, verdicts={"slalom": "no-go"})
    monkeypatch.setattr(module, "day_sheet", lambda *_, **__: sheet)
    monkeypatch.setattr(text, "print_sheet", lambda sheet: None)
    monkeypatch.setattr(page, "draw_day", lambda sheet, place: drawn.append(place))
    answer = quadsim("report", "siskin", "--out", "sheet.pdf")
    assert answer.status == status
    assert bool(drawn) is not bool(missing)
    assert ("stopped; the page was not written" in answer.err) is bool(missing)
    assert ("written to sheet.pdf" in answer.out) is not bool(missing)
