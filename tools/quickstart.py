"""The two commands of the README, with Python alone: `quickstart.py demo` and `quickstart.py test`.

Makes `.venv` beside pyproject.toml, installs the project there, compiles the kernels once, and runs. A stamp in `.venv`
says what is installed, so that a second call skips pip and works without a network.

Rationale: Python 3.6 must be able to read this file to say that it is too old. So there is no `match`, no `:=`, no
`from __future__ import annotations`, and the version is checked before the first definition.
"""

import hashlib
import importlib.util
import json
import os
import shutil
import subprocess
import sys
import time
from collections.abc import Mapping
from pathlib import Path
from xml.etree import ElementTree

if sys.version_info < (3, 11):  # noqa: UP036 - whoever runs this may have an older one
    sys.exit(
        "quadsim needs Python 3.11 or later; this is {} ({}).\n"
        "Install a newer one (from python.org or your system's packages) and call it by its name, for example\n"
        "    python3.12 tools/quickstart.py demo".format(
            ".".join(map(str, sys.version_info[:3])), sys.executable
        )
    )

ROOT = Path(__file__).resolve().parent.parent
VENV = ROOT / ".venv"
STAMP = VENV / "quickstart.json"
LOG = VENV / "quickstart.log"
PROGRESS_S = 10.0

HELP = """\
usage: python3 tools/quickstart.py demo               set up, fly through a gust, plot it, replay it
       python3 tools/quickstart.py test [ARGUMENTS]   set up, run every check and test; ARGUMENTS go to pytest

The first call downloads what is needed into the folder .venv (0.6 GB for the demo, 0.9 GB for the tests); later calls
start at once, without a network. To start afresh, delete that folder."""

UNREACHED = (
    "NewConnectionError",
    "ConnectTimeoutError",
    "ReadTimeoutError",
    "NameResolutionError",
    "ProxyError",
    "SSLError",
    "(from versions: none)",
)
"""What pip's log holds when no package index answers (first and last: seen with pip 23.2 and 24.2; others from memory)."""

Command = list[str | os.PathLike[str]]


class SetupError(Exception):
    """Something the user can put right; its text is all they need to see."""


def say(text: str) -> None:
    print(text, flush=True)


def complain(text: str) -> None:
    print(f"quickstart: {text}", file=sys.stderr, flush=True)


def main(arguments: list[str]) -> int:
    """Run the command that `arguments` name. Exit status: 0 done, 1 failed, 2 not understood, 130 interrupted."""
    commands = {"demo": demo, "test": test}
    if not arguments or arguments[0] in ("-h", "--help", "help"):
        say(HELP)
        return 0
    name, rest = arguments[0], arguments[1:]
    if name not in commands or (rest and name == "demo"):
        complain(f"{' '.join(arguments)!r} is not understood.\n\n{HELP}")
        return 2
    try:
        return commands[name](rest)
    except SetupError as error:
        complain(str(error))
        return 1
    except KeyboardInterrupt:
        complain("stopped. Give the same command again to go on.")
        return 130


def demo(arguments: list[str]) -> int:
    """Fly the gust, plot it, and replay it where there is a display."""
    prepare([])
    run_file = Path("quadsim-runs", "gust.h5")
    try:
        run_file.parent.mkdir(exist_ok=True)
    except OSError as error:
        folder = run_file.parent.resolve()
        raise SetupError(
            f"cannot make {folder} ({error.strerror}). Go to a folder that you may write to."
        ) from None
    quadsim = program("quadsim")
    status = run([quadsim, "fly", "gust", "--out", run_file]) or run([quadsim, "plot", run_file])
    if status:
        return status
    if has_display(os.environ):
        say("\nReplaying the flight. Close the window to end.")
        return run([quadsim, "watch", run_file])
    say(
        "\nThere is no display here. On a machine with one, this replays the flight:\n"
        f"    {quadsim} watch {run_file}\n"
        f"and this draws it into pictures anywhere:\n    {quadsim} watch {run_file} --frames quadsim-runs/frames"
    )
    return 0


def test(arguments: list[str]) -> int:
    """Run the checks and the tests, quick ones first, all of them whatever fails, then a summary."""
    prepare(["test"])
    python, report = program("python"), VENV / "quickstart-tests.xml"
    # a worker per core; a file stays with one worker, so that what its tests share is made once
    spread = ["-n", "auto", "--dist", "loadfile"]
    pytest: Command = [python, "-m", "pytest", *spread, *arguments, f"--junit-xml={report}"]
    pieces: list[tuple[str, Command, dict[str, str]]] = [
        ("ruff check", [python, "-m", "ruff", "check", "."], {}),
        ("ruff format", [python, "-m", "ruff", "format", "--check", "."], {}),
        ("mypy", [python, "-m", "mypy"], {}),
        ("tests", pytest, {}),
        ("kernels without JIT", pytest, {"NUMBA_DISABLE_JIT": "1"}),
    ]
    lines, total = [], (0, 0, 0)
    for name, command, settings in pieces:
        say(f"\n--- {name}")
        started = time.monotonic()
        report.unlink(missing_ok=True)
        status = run(command, cwd=ROOT, **settings)
        counts = (
            counted(report, status, bool(arguments)) if command is pytest else (status == 0, status != 0, 0)
        )
        total = (total[0] + counts[0], total[1] + counts[1], total[2] + counts[2])
        lines.append(f"{name:<24}{time.monotonic() - started:6.0f} s   {closing_line(counts)}")
    say("\n--- all together, each check counted as one\n" + "\n".join(lines))
    say(closing_line(total))
    return int(total[1] > 0)


def counted(report: Path, status: int, chosen: bool) -> tuple[int, int, int]:
    """Tests passed, failed and skipped, from pytest's report; `chosen` tests may be none in one of the runs."""
    if chosen and status == 5:
        return 0, 0, 0
    if not report.exists():
        return 0, 1, 0
    suite = ElementTree.parse(report).getroot().find("testsuite")
    numbers = {} if suite is None else suite.attrib
    failed = int(numbers.get("failures", 0)) + int(numbers.get("errors", 0))
    skipped = int(numbers.get("skipped", 0))
    passed = int(numbers.get("tests", 0)) - failed - skipped
    return passed, max(failed, int(status != 0)), skipped


def closing_line(counts: tuple[int, int, int]) -> str:
    passed, failed, skipped = map(int, counts)
    return f"{passed} passed, {failed} failed" + (f", {skipped} skipped" if skipped else "")


def has_display(environment: Mapping[str, str], platform: str = sys.platform) -> bool:
    """Whether a window can be expected to open."""
    if environment.get("SDL_VIDEODRIVER") in ("dummy", "offscreen"):
        return False
    if platform in ("win32", "darwin"):
        return True
    return bool(environment.get("DISPLAY") or environment.get("WAYLAND_DISPLAY"))


def prepare(extras: list[str]) -> None:
    """See to it that `.venv` holds the project with `extras` and that the kernels are compiled."""
    stamp = read_stamp()
    maker = {"python": sys.version.split()[0], "base": sys.base_prefix, "place": str(VENV)}
    if stamp.get("maker") != maker or not program("python").exists():
        make_venv()
        stamp = {}
    project = hashlib.sha256((ROOT / "pyproject.toml").read_bytes()).hexdigest()
    extras = sorted({*stamp.get("extras", []), *extras})
    wanted = {"maker": maker, "project": project, "extras": extras}
    if stamp != wanted:
        install(extras, stamp)
        STAMP.write_text(json.dumps(wanted), encoding="utf-8")
    if run([program("python"), "-m", "quadsim.warm"], cwd=ROOT) != 0:
        raise SetupError("the kernels did not compile; the lines above say why.")


def read_stamp() -> dict:
    """What `.venv` holds; empty when there is none or when making it was interrupted."""
    try:
        stamp = json.loads(STAMP.read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return {}
    return stamp if isinstance(stamp, dict) else {}


def make_venv() -> None:
    """Make `.venv` anew, with pip in it."""
    for module in ("venv", "ensurepip"):
        if importlib.util.find_spec(module) is None:
            raise SetupError(
                f"this Python ({sys.executable}) lacks its module {module!r}, which makes virtual environments. "
                "On Debian, Ubuntu and their like, install the package python3-venv (sudo apt install python3-venv) "
                "and give the same command again."
            )
    clear_away()
    try:
        VENV.mkdir()
        LOG.touch()  # from here on the folder is known as ours
    except OSError as error:
        raise SetupError(f"cannot make {VENV} ({error.strerror}). Put quadsim where you may write.") from None
    say("Making a virtual environment in .venv ...")
    base_python = (
        getattr(sys, "_base_executable", None) or sys.executable
    )  # not one that lived in the old .venv
    if logged([base_python, "-m", "venv", VENV]) != 0:
        raise SetupError(f"the virtual environment could not be made:\n{last_lines()}")


def clear_away() -> None:
    """Remove a `.venv` that is half made, or made by another Python or in another place; set aside one that is not ours."""
    if not VENV.exists():
        return
    aside = ROOT / ".venv-set-aside"
    try:
        if LOG.exists() or not any(VENV.iterdir()):
            say("Removing a .venv that is incomplete or was made elsewhere ...")
            shutil.rmtree(VENV)
        else:
            say(f"There is a .venv that quickstart did not make; setting it aside as {aside.name} ...")
            VENV.rename(aside)
    except OSError as error:
        raise SetupError(
            f"{VENV} is in the way ({error.strerror}). Close what uses it and delete it."
        ) from None


def install(extras: list[str], stamp: dict) -> None:
    """Install the project into `.venv`, editable; put `stamp` back if pip failed before it changed anything."""
    what = f".[{','.join(extras)}]" if extras else "."
    say(f"Installing quadsim and what it needs; the first time takes a minute or two. Details: {LOG}")
    STAMP.unlink(missing_ok=True)
    pip: Command = [program("python"), "-m", "pip", "install", "--disable-pip-version-check", "--no-input"]
    done = False
    try:
        done = logged([*pip, "--progress-bar=off", "--editable", what]) == 0
    finally:
        log = LOG.read_text(encoding="utf-8", errors="replace")
        if not done and stamp and "Installing collected packages" not in log:
            STAMP.write_text(json.dumps(stamp), encoding="utf-8")
    if not done and any(sign in log for sign in UNREACHED):
        raise SetupError(
            "no package index could be reached, so nothing was installed. Connect this machine to the network "
            f"(or name a proxy or an index in pip's settings) and give the same command again. Details: {LOG}"
        )
    if not done:
        raise SetupError(f"pip failed; its last lines are\n{last_lines()}")


def program(name: str) -> Path:
    """A program of the virtual environment."""
    return VENV / "Scripts" / f"{name}.exe" if os.name == "nt" else VENV / "bin" / name


def surroundings(**settings: str) -> dict[str, str]:
    """The environment of what we start: nothing that points to other packages, and pip's `user = true` set aside."""
    other = ("PYTHONPATH", "PYTHONHOME", "NUMBA_DISABLE_JIT")
    return {**{k: v for k, v in os.environ.items() if k not in other}, "PIP_USER": "0", **settings}


def run(command: Command, cwd: Path | None = None, **settings: str) -> int:
    """Run a command in sight of the user. Returns its exit status."""
    return subprocess.call(command, cwd=cwd, env=surroundings(**settings))


def logged(command: Command) -> int:
    """Run a command with its words in the log, and say every few seconds how it goes. Returns its exit status."""
    started = time.monotonic()
    with LOG.open("wb") as log:
        process = subprocess.Popen(
            command,
            cwd=ROOT,
            env=surroundings(),
            stdin=subprocess.DEVNULL,
            stdout=log,
            stderr=subprocess.STDOUT,
        )
        try:
            while True:
                try:
                    return process.wait(timeout=PROGRESS_S)
                except subprocess.TimeoutExpired:
                    doing = last_lines(1).strip()
                    doing = (
                        "no answer from the network yet, trying again" if "Retrying" in doing else doing[:90]
                    )
                    say(f"  {time.monotonic() - started:4.0f} s  {doing or 'working'}")
        finally:
            process.terminate()  # does nothing to one that has ended
            process.wait()


def last_lines(count: int = 12) -> str:
    """The end of the log."""
    lines = LOG.read_text(encoding="utf-8", errors="replace").strip().splitlines()
    return "\n".join(f"    {line}" for line in lines[-count:])


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
