"""What a command does not need is not loaded: `quadsim --help` and the bare imports stay light."""

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
HEAVY = {"numba", "llvmlite", "scipy", "pygame", "matplotlib"}
HELP = "sys.argv = ['quadsim', '--help']; from quadsim.cli import main; sys.exit(main())"


def loaded_after(statement: str) -> tuple[set[str], str]:
    """Top-level modules loaded by a fresh interpreter after a statement, and what it printed."""
    code = (
        f"import sys\ntry:\n    {statement}\nexcept SystemExit as end:\n    assert not end.code, end.code\n"
    )
    code += "print('LOADED', *{name.split('.')[0] for name in sys.modules})"
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, timeout=60)
    assert done.returncode == 0, done.stderr
    printed, _, names = done.stdout.rpartition("LOADED")
    return set(names.split()), printed


def test_help_is_light():
    names, printed = loaded_after(HELP)
    assert "fly" in printed
    assert "quadsim" in names
    assert not names & HEAVY


@pytest.mark.parametrize("package", ["quadsim", "controllers"])
def test_a_bare_import_is_light(package):
    names, _ = loaded_after(f"import {package}")
    assert package in names
    assert not names & HEAVY


@pytest.mark.parametrize("module", sorted(HEAVY))
def test_a_heavy_module_would_be_noticed(module):
    names, _ = loaded_after(f"import {module}")
    assert module in names & HEAVY
