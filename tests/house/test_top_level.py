"""The top level as agreed, and nothing in the repository that belongs to somebody's machine or was left lying."""

import fnmatch
import re
import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
TOP_LEVEL = {
    "README.md", "DEVELOPERS.md", "pyproject.toml", ".gitignore", ".pictures", ".ci",
    "quadsim", "controllers", "scenarios", "tests", "tools",
}  # fmt: skip

LEFT_LYING = (
    "*.orig",
    "*.rej",
    "*.bak",
    "*.tmp",
    "*.log",
    "*.swp",
    "*~",
    ".DS_Store",
    "*.py[cod]",
    "*.nb[ic]",
)

# Written so that none of these patterns matches this file.
MACHINE = re.compile(
    r"(?<![\w.])/(?:tmp|root|work|home|Users|opt)/"
    r"|[A-Z]:\\+Users"
    r"|\.\./(?:shared)"
    r"|https?://\S+/(?:simple)\b"
)
UNFINISHED = re.compile(
    r"\b(?:TO)DO\b|\b(?:FIX)ME\b|\bX{3}\b|NotImplemented(?:Error)|\bassert (?:True)\b"
    r"|pytest\.(?:skip|xfail|importorskip)|mark\.(?:skip|skipif|xfail)\b"
)


def listed_by_git(root: Path) -> list[str]:
    """Files of the checkout that are tracked, or new and not ignored; empty where git does not answer."""
    command = ["git", "-C", str(root), "ls-files", "-z", "--cached", "--others", "--exclude-standard"]
    try:
        answer = subprocess.run(command, capture_output=True, check=True).stdout.decode()
    except (OSError, subprocess.CalledProcessError):
        return []
    return [name for name in answer.split("\0") if name and (root / name).exists()]


def walked(root: Path) -> list[str]:
    """The same from the folder itself, by the names that .gitignore holds."""
    lines = (root / ".gitignore").read_text(encoding="utf-8").splitlines()
    ignored = [line.strip().strip("/") for line in lines if line.strip() and not line.startswith("#")] + [
        ".git"
    ]
    names = (path.relative_to(root) for path in root.rglob("*") if path.is_file())
    return [
        name.as_posix()
        for name in names
        if not any(fnmatch.fnmatch(part, pattern) for part in name.parts for pattern in ignored)
    ]


def repository_files(root: Path) -> list[str]:
    return listed_by_git(root) or walked(root)


def strays(names: list[str]) -> list[str]:
    """Files that should not be in a repository, by their names."""
    return [
        name
        for name in names
        if any(fnmatch.fnmatch(name.split("/")[-1], pattern) for pattern in LEFT_LYING)
        or (
            name.startswith("tests/") and name.endswith("/__init__.py")
        )  # tests/controllers would shadow the real one
    ]


def faults(name: str, text: str) -> list[str]:
    """Machine paths in any file, unfinished work and skipped tests in Python, one sentence each."""
    found = []
    for number, line in enumerate(text.splitlines(), 1):
        if match := MACHINE.search(line):
            found.append(f"{name}:{number} names a place on one machine: {match.group()}")
        if name.endswith(".py") and (match := UNFINISHED.search(line)):
            found.append(f"{name}:{number} is unfinished or skipped: {match.group()}")
    return found


def text_of(path: Path) -> str:
    """The text of a file; empty for pictures and other binary files."""
    try:
        return path.read_text(encoding="utf-8")
    except UnicodeDecodeError:
        return ""


def test_top_level_is_as_agreed():
    assert {name.split("/")[0] for name in repository_files(ROOT)} == TOP_LEVEL


def test_nothing_was_left_lying():
    names = repository_files(ROOT)
    assert len(names) > 20
    assert not strays(names)


def test_no_machine_paths_and_nothing_unfinished():
    found = [fault for name in repository_files(ROOT) for fault in faults(name, text_of(ROOT / name))]
    assert not found, "\n".join(found)


def test_the_ci_script_can_be_run():
    script = ROOT / ".ci" / "run"
    assert script.stat().st_mode & 0o111
    assert "tools/quickstart.py test" in script.read_text(encoding="utf-8")


def test_git_and_the_walk_find_the_same(tmp_path):
    for name in ("a/one.py", "a/__pycache__/one.pyc", ".venv/lib/x.py", "two.py"):
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_text("x = 1\n")
    (tmp_path / ".gitignore").write_text((ROOT / ".gitignore").read_text(encoding="utf-8"))
    expected = {"a/one.py", "two.py", ".gitignore"}
    assert set(walked(tmp_path)) == expected
    subprocess.run(["git", "init", "-q", str(tmp_path)], check=True)
    assert set(listed_by_git(tmp_path)) == expected


def test_strays_are_found():
    assert strays(["quadsim/a.py", "quadsim/__init__.py"]) == []
    names = ["quadsim/a.py.orig", "notes.bak", "tests/dynamics/__init__.py", "a/__pycache__/b.pyc"]
    assert strays(names) == names


@pytest.mark.parametrize(
    "line",
    [
        "open('/" + "tmp/x')", "cd /" + "root/y", "see ../" + "shared", "C:" + "\\Users\\me", "http://index/" + "simple/",
        "# TO" + "DO later", "raise NotImplemented" + "Error", "assert " + "True", "pytest." + "skip('no')",
        "@pytest.mark." + "xfail",
    ],
)  # fmt: skip
def test_a_bad_line_is_found(line):
    assert len(faults("quadsim/a.py", f"x = 1\n{line}\n")) == 1


def test_good_lines_pass():
    text = "path = root / 'scenarios/' + 'work/x'\nurl = 'https://doi.org/10.1/x'\n# a list of things to do\nlive_session = 1\n"
    assert faults("quadsim/a.py", text) == []
