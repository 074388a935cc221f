"""The README's two commands, tried on a made-up project that needs no network: it brings its own build backend."""

import ast
import importlib.util
import json
import os
import shutil
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from types import ModuleType

import pytest

QUICKSTART = Path(__file__).parents[2] / "tools" / "quickstart.py"

BACKEND = """
import pathlib, zipfile

def build_editable(folder, config_settings=None, metadata_directory=None):
    info = "quadsim-0.1.dist-info/"
    here = str(pathlib.Path(__file__).parent)
    files = {
        "quadsim.pth": here,
        info + "METADATA": "Metadata-Version: 2.1\\nName: quadsim\\nVersion: 0.1\\nProvides-Extra: test\\n",
        info + "WHEEL": "Wheel-Version: 1.0\\nGenerator: here\\nRoot-Is-Purelib: true\\nTag: py3-none-any\\n",
        info + "entry_points.txt": "[console_scripts]\\nquadsim = quadsim.cli:main\\n",
    }
    files[info + "RECORD"] = "".join(name + ",,\\n" for name in [*files, info + "RECORD"])
    with zipfile.ZipFile(pathlib.Path(folder, "quadsim-0.1-py3-none-any.whl"), "w") as wheel:
        for name, text in files.items():
            wheel.writestr(name, text)
    return "quadsim-0.1-py3-none-any.whl"
"""

PROJECT = """
[build-system]
requires = []
build-backend = "backend"
backend-path = ["."]
"""

CLI = """
import sys
def main():
    print("CALLED", *sys.argv[1:])
    sys.exit(int(sys.argv[1] == "plot" and "broken" in open(__file__).readline()))
"""


def load(path: Path) -> ModuleType:
    spec = importlib.util.spec_from_file_location("quickstart", path)
    assert spec is not None and spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="module")
def quickstart() -> ModuleType:
    return load(QUICKSTART)


def write_project(root: Path) -> Path:
    """A checkout with nothing in it but what quickstart touches."""
    files = {
        "pyproject.toml": PROJECT,
        "backend.py": BACKEND,
        "quadsim/__init__.py": "",
        "quadsim/warm.py": "print('WARM')",
        "quadsim/cli.py": CLI,
    }
    for name, text in files.items():
        (root / name).parent.mkdir(parents=True, exist_ok=True)
        (root / name).write_text(text, encoding="utf-8")
    (root / "tools").mkdir()
    shutil.copy(QUICKSTART, root / "tools")
    return root


@pytest.fixture(scope="module")
def project(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The made-up checkout, set up once by the demo."""
    root = write_project(tmp_path_factory.mktemp("checkout"))
    assert call(root, "demo").returncode == 0
    return root


def call(root: Path, *arguments: str, **settings: str) -> subprocess.CompletedProcess[str]:
    """Call the project's quickstart in its folder, without display, network and the user's pip settings."""
    environment = {
        k: v
        for k, v in os.environ.items()
        if not k.startswith("PIP_") and k not in ("DISPLAY", "WAYLAND_DISPLAY")
    }
    environment |= {"PIP_CONFIG_FILE": os.devnull, "PIP_INDEX_URL": "http://127.0.0.1:9/", "PIP_RETRIES": "0"}
    command = [sys.executable, str(root / "tools" / "quickstart.py"), *arguments]
    return subprocess.run(
        command, cwd=root, env=environment | settings, capture_output=True, text=True, timeout=300
    )


@contextmanager
def changed(path: Path, text: str) -> Iterator[None]:
    """A file with another text for a while."""
    kept = path.read_text(encoding="utf-8")
    path.write_text(text, encoding="utf-8")
    try:
        yield
    finally:
        path.write_text(kept, encoding="utf-8")


def test_an_old_python_can_read_the_file_and_says_it_is_too_old():
    ast.parse(QUICKSTART.read_text(encoding="utf-8"), feature_version=(3, 7))
    code = f"import runpy, sys; sys.version_info = (3, 8, 18); runpy.run_path({str(QUICKSTART)!r})"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True)
    assert done.returncode == 1
    assert "needs Python 3.11 or later; this is 3.8.18" in done.stderr
    assert "Traceback" not in done.stderr


@pytest.mark.parametrize("arguments", [[], ["--help"], ["-h"]])
def test_help(quickstart, capsys, arguments):
    assert quickstart.main(arguments) == 0
    assert "quickstart.py demo" in capsys.readouterr().out


@pytest.mark.parametrize("arguments", [["dmo"], ["demo", "gust"]])
def test_what_is_not_understood_is_said_with_the_help(quickstart, capsys, arguments):
    assert quickstart.main(arguments) == 2
    said = capsys.readouterr().err
    assert " ".join(arguments) in said and "quickstart.py test" in said


def test_a_missing_ensurepip_names_the_package_to_install(quickstart, capsys, monkeypatch, tmp_path):
    monkeypatch.setattr(quickstart, "VENV", tmp_path / ".venv")
    monkeypatch.setattr(quickstart, "STAMP", tmp_path / ".venv" / "stamp")
    monkeypatch.setattr(importlib.util, "find_spec", lambda name: None if name == "ensurepip" else object())
    assert quickstart.main(["demo"]) == 1
    assert "python3-venv" in capsys.readouterr().err
    assert not (tmp_path / ".venv").exists()


@pytest.mark.parametrize(
    ("platform", "environment", "expected"),
    [
        ("linux", {}, False),
        ("linux", {"DISPLAY": ":0"}, True),
        ("linux", {"WAYLAND_DISPLAY": "wayland-0"}, True),
        ("linux", {"DISPLAY": ":0", "SDL_VIDEODRIVER": "dummy"}, False),
        ("darwin", {}, True),
        ("win32", {}, True),
        ("win32", {"SDL_VIDEODRIVER": "dummy"}, False),
    ],
)
def test_where_a_window_can_open(quickstart, platform, environment, expected):
    assert quickstart.has_display(environment, platform) is expected


@pytest.mark.parametrize(
    ("suite", "status", "chosen", "expected"),
    [
        ('tests="9" failures="0" errors="0" skipped="1"', 0, False, "8 passed, 0 failed, 1 skipped"),
        ('tests="9" failures="2" errors="1" skipped="0"', 1, False, "6 passed, 3 failed"),
        ('tests="9" failures="0" errors="0" skipped="0"', 3, False, "9 passed, 1 failed"),
        ('tests="0" failures="0" errors="0" skipped="0"', 5, False, "0 passed, 1 failed"),
        ('tests="0" failures="0" errors="0" skipped="0"', 5, True, "0 passed, 0 failed"),
        (None, 4, True, "0 passed, 1 failed"),
    ],
)
def test_counts_come_from_the_report_and_a_bad_exit_is_never_lost(
    quickstart, tmp_path, suite, status, chosen, expected
):
    report = tmp_path / "report.xml"
    if suite is not None:
        report.write_text(f"<testsuites><testsuite {suite}/></testsuites>")
    assert quickstart.closing_line(quickstart.counted(report, status, chosen)) == expected


class Recorder:
    """Stands in for `prepare` and `run`: notes what would run; each command ends well, unless it is named in `failing`."""

    def __init__(self, report: Path) -> None:
        self.prepared: list[list[str]] = []
        self.ran: list[tuple[list[str], dict[str, str]]] = []
        self.failing: set[str] = set()
        self.report = report

    def run(self, command: list, cwd: Path | None = None, **settings: str) -> int:
        words = [str(word) for word in command]
        self.ran.append((words, settings))
        self.report.write_text('<t><testsuite tests="3" failures="0"/></t>')
        return int(bool(self.failing & set(words)))


@pytest.fixture
def recorder(quickstart, monkeypatch, tmp_path) -> Recorder:
    made = Recorder(tmp_path / "quickstart-tests.xml")
    monkeypatch.setattr(quickstart, "VENV", tmp_path)
    monkeypatch.setattr(quickstart, "prepare", made.prepared.append)
    monkeypatch.setattr(quickstart, "run", made.run)
    return made


def test_every_check_runs_and_the_suite_runs_both_ways(quickstart, recorder, capsys):
    assert quickstart.main(["test", "-k", "wind"]) == 0
    assert recorder.prepared == [["test"]]
    assert [words[2] for words, _ in recorder.ran] == ["ruff", "ruff", "mypy", "pytest", "pytest"]
    assert [settings for _, settings in recorder.ran] == [{}, {}, {}, {}, {"NUMBA_DISABLE_JIT": "1"}]
    assert all(
        words[3:9] == ["-n", "auto", "--dist", "loadfile", "-k", "wind"] for words, _ in recorder.ran[3:]
    )
    assert capsys.readouterr().out.splitlines()[-1] == "9 passed, 0 failed"


def test_a_failed_check_fails_the_whole_and_hides_nothing(quickstart, recorder, capsys):
    recorder.failing.add("mypy")
    assert quickstart.main(["test"]) == 1
    assert len(recorder.ran) == 5
    assert capsys.readouterr().out.splitlines()[-1] == "8 passed, 1 failed"


def test_the_first_demo_sets_up_and_the_second_skips_pip(project):
    again = call(project, "demo")
    assert again.returncode == 0, again.stderr
    assert "Installing" not in again.stdout
    lines = [line for line in again.stdout.splitlines() if line.startswith(("WARM", "CALLED"))]
    run_file = str(Path("quadsim-runs", "gust.h5"))
    assert lines == ["WARM", f"CALLED fly gust --out {run_file}", f"CALLED plot {run_file}"]
    assert "There is no display here" in again.stdout and "--frames" in again.stdout
    assert (project / "quadsim-runs").is_dir()


def test_the_demo_replays_where_there_is_a_display(project):
    done = call(project, "demo", DISPLAY=":0", SDL_VIDEODRIVER="")
    assert done.stdout.splitlines()[-1] == f"CALLED watch {Path('quadsim-runs', 'gust.h5')}"


def test_a_step_that_fails_ends_the_demo_with_its_status(project):
    with changed(project / "quadsim" / "cli.py", "# broken\n" + CLI):
        done = call(project, "demo", DISPLAY=":0", SDL_VIDEODRIVER="")
    assert done.returncode == 1
    assert "watch" not in done.stdout


def test_the_users_own_paths_stay_outside(project, tmp_path):
    (tmp_path / "quadsim").mkdir()
    (tmp_path / "quadsim" / "__init__.py").write_text("raise SystemExit(7)")
    assert call(project, "demo", PYTHONPATH=str(tmp_path), PIP_USER="1").returncode == 0


def test_a_failed_change_leaves_the_old_stamp_and_says_what_to_do(project):
    stamp = project / ".venv" / "quickstart.json"
    before = json.loads(stamp.read_text())
    with changed(project / "pyproject.toml", PROJECT.replace("[]", '["no-such-backend"]', 1)):
        done = call(project, "demo")
    assert done.returncode == 1
    assert "no package index could be reached" in done.stderr and "Traceback" not in done.stderr
    assert json.loads(stamp.read_text()) == before
    assert "Installing" not in call(project, "demo").stdout


def test_pips_own_last_words_are_shown_when_it_fails_for_another_reason(project):
    with changed(project / "pyproject.toml", "[build-system]\nrequires = 3\n"):
        done = call(project, "demo")
    assert done.returncode == 1
    assert "pip failed; its last lines" in done.stderr and "requires" in done.stderr


def test_extras_are_remembered(project, monkeypatch):
    own = load(project / "tools" / "quickstart.py")
    installed: list[list[str]] = []
    monkeypatch.setattr(own, "install", lambda extras, stamp: installed.append(extras))
    monkeypatch.setattr(own, "run", lambda *command, **settings: 0)
    with changed(own.STAMP, own.STAMP.read_text()):
        own.prepare(["test"])
        own.prepare([])
        with changed(own.ROOT / "pyproject.toml", PROJECT + "# newer\n"):
            own.prepare([])
    assert installed == [["test"], ["test"]]


def test_an_interrupted_setup_is_made_anew(project):
    (project / ".venv" / "quickstart.json").unlink()
    (project / ".venv" / "half.txt").write_text("")
    done = call(project, "demo")
    assert done.returncode == 0, done.stderr
    assert "Removing" in done.stdout and not (project / ".venv" / "half.txt").exists()


@pytest.fixture
def checkout(quickstart, monkeypatch, tmp_path) -> Path:
    """An empty checkout that quickstart takes for its own."""
    for name, place in {"ROOT": "", "VENV": ".venv", "LOG": ".venv/quickstart.log"}.items():
        monkeypatch.setattr(quickstart, name, tmp_path / place)
    return tmp_path


def test_somebody_elses_environment_is_set_aside_and_never_lost(quickstart, checkout):
    theirs = checkout / ".venv" / "theirs.txt"
    theirs.parent.mkdir()
    theirs.write_text("keep")
    quickstart.clear_away()
    assert not theirs.exists()
    assert (checkout / ".venv-set-aside" / "theirs.txt").read_text() == "keep"
    theirs.parent.mkdir()
    theirs.write_text("keep too")
    with pytest.raises(quickstart.SetupError, match="in the way"):
        quickstart.clear_away()
    assert theirs.read_text() == "keep too"


def test_ctrl_c_is_no_traceback(quickstart, monkeypatch, capsys):
    def interrupted(extras):
        raise KeyboardInterrupt

    monkeypatch.setattr(quickstart, "prepare", interrupted)
    assert quickstart.main(["demo"]) == 130
    assert "stopped" in capsys.readouterr().err
