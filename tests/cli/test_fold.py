"""Lines and tables on a narrow terminal, and untouched where nobody sees one."""

import pytest

from quadsim.cli import fold, out, table
from quadsim.cli.fold import folded, shown_length
from quadsim.cli.table import Cell, Column


@pytest.fixture
def narrow(monkeypatch):
    def to(columns):
        monkeypatch.setattr(out, "room", lambda: columns)
        monkeypatch.setattr(table, "room", lambda: columns)

    return to


def test_a_long_line_goes_on_a_little_further_in():
    text = "  one two three four five"
    assert folded(text, 14) == "  one two\n    three four\n    five"
    assert folded(text, 25) == text
    assert folded("unbreakable-and-long", 10) == "unbreakable-and-long"
    assert folded("a\n\n  b", 40) == "a\n\n  b"


def test_codes_of_looks_take_no_room():
    assert shown_length("\x1b[1mabc\x1b[0m") == 3
    assert folded("\x1b[1mabc\x1b[0m de", 6) == "\x1b[1mabc\x1b[0m de"


def test_nothing_is_folded_where_stdout_is_no_terminal(capsys):
    assert fold.room() is None  # pytest keeps what is printed
    out.say("word " * 60)
    assert capsys.readouterr().out.count("\n") == 1


def test_a_terminal_folds(narrow, capsys):
    narrow(40)
    out.say("  " + "word " * 20)
    lines = capsys.readouterr().out.splitlines()
    assert len(lines) > 2 and max(map(len, lines)) <= 40 and lines[1].startswith("    word")


def test_prose_set_by_hand_is_set_anew_only_where_it_is_too_wide(narrow, capsys):
    lines = ("one two three four five six seven eight nine ten,", "eleven")
    narrow(60)
    out.say_prose(lines)
    assert capsys.readouterr().out == f"  {lines[0]}\n  eleven\n"
    narrow(44)
    out.say_prose(lines)
    assert capsys.readouterr().out == "  one two three four five six seven eight\n  nine ten, eleven\n"


ROWS = [[Cell("ok", "good"), "3", "short"], ["caution", "12", "these words are too many for a line"]]
COLUMNS = (Column("", words=True), Column("value"), Column("meaning", words=True))


def test_the_last_words_of_a_row_go_on_in_their_column(narrow, monkeypatch):
    monkeypatch.setenv("NO_COLOR", "1")
    narrow(48)
    shown = table.table(COLUMNS, ROWS).split("\n")
    assert shown[0].endswith("value  meaning") and shown[1].endswith("3  short")
    assert shown[2] == "  caution     12  these words are too many for a"
    assert shown[3] == " " * 18 + "line"


def test_without_room_in_their_column_they_get_lines_of_their_own(narrow, monkeypatch):
    monkeypatch.setenv("NO_COLOR", "1")
    narrow(40)
    shown = table.table(COLUMNS, ROWS).split("\n")
    assert shown[2:] == ["  caution     12", "      these words are too many for a", "      line"]
    assert max(map(shown_length, shown)) <= 40
