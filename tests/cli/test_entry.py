"""The command itself: version, help, unexpected errors, pipes that close early."""

import subprocess
import sys
from pathlib import Path

import pytest

import quadsim as package
from quadsim.cli import main
from quadsim.cli.summaries import GREATEST, SUMMARIES
from quadsim.config import flight_loader

ROOT = Path(__file__).parents[2]
COMMANDS = (
    "fly", "watch", "plot", "export", "inspect", "choose", "lift", "dash", "hover", "measure", "report", "lap",
    "sticks", "margins", "tune", "responses", "card", "laws", "blocks", "setout", "pilot", "sweep", "compare",
)  # fmt: skip


def test_version(quadsim):
    assert quadsim("--version") == (0, f"quadsim {package.__version__}\n", "")


def test_help_opens_with_the_job_and_a_caution(quadsim):
    status, out, _ = quadsim("--help")
    words = " ".join(out.split())
    assert status == 0
    assert "from a craft file and a flight file to a verdict" in words
    assert "a simulated pass is not a clearance to fly" in words
    for name in COMMANDS:
        assert f"\n  {name} " in out


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_explains_itself(quadsim, name):
    status, out, _ = quadsim(name, "--help")
    assert status == 0
    assert "--json" in out
    assert out.startswith(f"Usage: quadsim {name}")


def test_summaries_are_whole_at_80_columns(quadsim, monkeypatch):
    monkeypatch.setenv("COLUMNS", "80")
    out = quadsim("--help").out
    assert set(SUMMARIES) <= set(COMMANDS) and max(map(len, SUMMARIES.values())) <= GREATEST
    assert all(words in out for words in SUMMARIES.values())


def test_help_is_a_word_too(quadsim):
    assert quadsim("help", "plot") == quadsim("plot", "--help")
    assert quadsim("help") == quadsim("--help")


def breaks(path):
    raise ZeroDivisionError("by nothing")


def test_every_promised_command_is_there_and_a_missing_key_is_noticed(lacking):
    promised = ("fly", "watch", "inspect", "pilot", "lift", "dash", "hover", "lap", "margins", "tune", "setout", "sticks",
              "choose", "report", "blocks", "plot", "export")  # fmt: skip
    assert set(promised) <= set(COMMANDS)
    whole = {"hover_time_min": 1, "interval_min": [1, 2], "limited_by": "x", "sensitivities": [{}]}
    assert lacking("hover", whole) == []
    assert lacking("hover", whole | {"sensitivities": []}) == ["sensitivities[]"]
    assert lacking("fly", {"expectations": [{"metric": 1}, {}]})[7:9] == [
        "expectations[].metric",
        "expectations[].value",
    ]


def test_an_error_of_our_own_is_a_sentence(quadsim, monkeypatch):
    monkeypatch.setattr(flight_loader, "load_flight", breaks)
    status, out, err = quadsim("fly", "hover")
    assert (status, out) == (3, "")
    assert "an error of quadsim itself: ZeroDivisionError: by nothing (test_entry.py, line" in err
    assert "QUADSIM_DEBUG=1" in err
    assert "Traceback" not in err


def test_ctrl_c_before_an_answer_is_said(quadsim, monkeypatch):
    def interrupted(path):
        raise KeyboardInterrupt

    monkeypatch.setattr(flight_loader, "load_flight", interrupted)
    assert quadsim("fly", "hover") == (130, "", "quadsim: stopped before there was an answer\n")


def test_the_traceback_comes_when_asked_for(monkeypatch):
    monkeypatch.setattr(flight_loader, "load_flight", breaks)
    monkeypatch.setenv("QUADSIM_DEBUG", "1")
    with pytest.raises(ZeroDivisionError):
        main(["fly", "hover"])


def test_a_pipe_that_closes_early_is_no_error():
    command = [sys.executable, "-m", "quadsim", "inspect", "siskin", "--json"]
    with subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as process:
        assert process.stdout is not None and process.stderr is not None
        process.stdout.close()
        said = process.stderr.read().decode()
        process.wait(timeout=60)
    assert "Traceback" not in said
    assert "BrokenPipe" not in said
