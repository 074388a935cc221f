"""Comments of a course file stay with what they are about when it is saved again."""

import tomllib
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quadsim.config.find_data import find_file
from quadsim.planning.course_comments import comments_of
from quadsim.planning.course_edits import removed
from quadsim.planning.course_plan import Chosen
from quadsim.planning.course_text import open_course, save_course

TEXT = """# Invented course.
# Two lines at the head.

name = "Yard # 7"  # a hash in a name
closed = false
# how much room we want
clearance_m = 0.3
order = [
  "left",  # first
  "right # 2",
]

# measured with a tape
# on a dry day
[field]  # fenced
forward_m = [-10, 40]
right_m = [-20, 20]  # to the hedge
ceiling_m = 12

[start]
forward_m = 0
right_m = 0
height_m = 0
heading_deg = 0

# beside the oak
[[gate]]
name = "left"
forward_m = 12
right_m = -4
# the middle
height_m = 2
heading_deg = 0
width_m = 3
tall_m = 3

[[gate]]  # new tubes
name = "right # 2"
forward_m = 24
right_m = 4
height_m = 2
heading_deg = 0
width_m = 3  # wide
tall_m = 3

# the end
"""


@pytest.fixture
def yard(tmp_path):
    path = tmp_path / "yard.toml"
    path.write_text(TEXT, encoding="utf-8")
    return open_course(path)


def test_saved_as_it_was_keeps_every_comment(yard, tmp_path):
    save_course(yard.plan, yard, tmp_path)
    text = yard.path.read_text(encoding="utf-8")
    for remark in (
        "# Two lines at the head.",
        "# how much room we want",
        "# first",
        "# the end",
        "# beside the oak",
    ):
        assert text.count(remark) == 1, remark
    lines = text.splitlines()
    assert 'name = "Yard # 7"  # a hash in a name' in lines and "right_m = [-20, 20]  # to the hedge" in lines
    assert lines[lines.index("[field]  # fenced") - 1 :][:2] == ["# on a dry day", "[field]  # fenced"]
    assert lines[lines.index("height_m = 2") - 1] == "# the middle"
    assert tomllib.loads(text) == tomllib.loads(TEXT) | {"laps": 1}
    again = open_course(yard.path)
    save_course(again.plan, again, tmp_path)
    assert again.path.read_text(encoding="utf-8") == text  # nothing drifts


def test_comments_go_with_their_gate(yard, tmp_path):
    """A gate that is renamed keeps its comments, one that is removed takes them along, and no other gets them."""
    first, second = yard.plan.gates
    renamed = replace(yard.plan, gates=(first, replace(second, name="far")), order=("left", "far"))
    source = save_course(renamed, yard, tmp_path)
    text = source.path.read_text(encoding="utf-8")
    assert '[[gate]]  # new tubes\nname = "far"' in text and "width_m = 3  # wide" in text
    source = save_course(removed(source.plan, Chosen("gate", 0)), source, tmp_path)
    text = source.path.read_text(encoding="utf-8")
    assert "beside the oak" not in text and '[[gate]]  # new tubes\nname = "far"' in text


QUOTES = "'''", '"' * 3
PIECES = st.sampled_from([
    *QUOTES, "# note", 'name = "a # b"', "width_m = 3 # wide", "[field]", "[[gate]] # g", "", "order = [", '"x", # y', "]",
    "x = 'it # s'",
])  # fmt: skip


@given(st.lists(PIECES, max_size=25))
def test_any_lines_are_read_and_every_comment_is_one(lines):
    """However broken a text is, nothing but comments comes out, and none twice."""
    found = comments_of("\n".join(lines))
    kept = list(found.foot)
    for notes in found.tables:
        kept += [*notes.before, notes.behind_head, *notes.behind.values()]
        kept += [line for above in notes.above.values() for line in above]
    kept = [line for line in kept if line]
    assert all(line.startswith("#") for line in kept)
    assert len(kept) <= sum(line.count("#") for line in lines)


def test_shipped_courses_lose_none(tmp_path):
    for name in ("hall", "meadow_slalom", "hill_and_valley"):
        source = open_course(name)
        text = find_file(name, "courses").read_text(encoding="utf-8")
        saved = save_course(source.plan, source, tmp_path).path.read_text(encoding="utf-8")
        assert sorted(_remarks(saved)) == sorted(_remarks(text))


def _remarks(text):
    return [line.strip() for line in text.splitlines() if line.lstrip().startswith("#")]
