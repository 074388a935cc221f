"""Line numbers of keys, and files that cannot be read."""

import pytest

from quadsim.config.toml_reader import key_lines, parse_toml, read_toml
from quadsim.errors import InputError

TEXT = '''# a comment = 1
name = "a [bracket] and a # sign"
sizes = [
  1, 2,   # x = 3
  3,
]
a.b = 1
[frame]
"odd key" = 2
spin = { left = "cw", right = "ccw" }
[[parts]]
name = "one"
[parts.more]
deep = 1
[[parts]]
name = "two"
text = """
[not.a.table]
fake = 1
"""
last = 1
grid = [
  [1, 2],
  [3, 4]
]
after = 2
'''


def test_every_key_is_found_on_its_line():
    assert key_lines(TEXT) == {
        ("name",): 2, ("sizes",): 3, ("a", "b"): 7, ("frame",): 8, ("frame", "odd key"): 9, ("frame", "spin"): 10,
        ("parts", 0): 11, ("parts", 0, "name"): 12, ("parts", 0, "more"): 13, ("parts", 0, "more", "deep"): 14,
        ("parts", 1): 15, ("parts", 1, "name"): 16, ("parts", 1, "text"): 17, ("parts", 1, "last"): 21,
        ("parts", 1, "grid"): 22, ("parts", 1, "after"): 26,
    }  # fmt: skip


def test_a_key_inside_an_inline_table_has_the_line_around_it():
    document = parse_toml(TEXT, "x")
    assert document.line_of(("frame", "spin", "left")) == 10
    assert document.line_of(("nowhere", "at", "all")) is None


def test_broken_toml_says_where():
    with pytest.raises(InputError, match=r"bad\.toml: 1 problem\n.*line 2.*not valid TOML"):
        parse_toml("a = 1\nb = = 2\n", "bad.toml")


def test_a_file_that_is_not_text(tmp_path):
    path = tmp_path / "pack.toml"
    path.write_bytes(b"name = '\xff\xfe'")
    with pytest.raises(InputError, match="byte 8 is not UTF-8 text"):
        read_toml(path)


def test_a_file_that_may_not_be_read(tmp_path):
    with pytest.raises(InputError, match="cannot be read"):
        read_toml(tmp_path)
