"""From a name to a block, and what a user is told when that fails."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from controllers import REGISTRY, SIGNALS, BlockError, example_craft, load_block, rows

LAW = """
from enum import IntEnum
from controllers import Gains, block

class Gain(Gains):
    P = 0, "1/s", 10.0, 0.0, 50.0

class Memory(IntEnum):
    INTEGRAL = 0

@block("rate", gains=Gain, memory=3)
def my_rate(s, craft, gains, memory):
    '''My law.'''
    for axis in range(3):
        error = s.rates_wanted[axis] - s.rates[axis]
        memory[Memory.INTEGRAL + axis] += error * s.dt
        s.angular_acceleration_wanted[axis] = gains[Gain.P] * error + memory[Memory.INTEGRAL + axis]

def plain(s, craft, gains, memory):
    '''Plain law.'''
    s.angular_acceleration_wanted[0] = 3.0

def three(s, craft, gains):
    pass

number = 3
"""
HEAD = "from controllers import Gains, Mode, block; helper = lambda x: x\n"


def write(folder: Path, text: str, name: str = "law.py") -> Path:
    path = folder / name
    path.write_text(text)
    return path


def test_stock_name() -> None:
    loaded = load_block("pid", "rate")
    assert (loaded.block.name, loaded.block.slot, loaded.slow, loaded.warning) == ("pid", "rate", False, "")


def test_users_block_runs(tmp_path: Path) -> None:
    block = load_block(f"{write(tmp_path, LAW)}:my_rate", "rate").block
    s, memory = rows(SIGNALS)[0], np.zeros(512)
    s.dt, s.rates_wanted[1] = 0.5, 2.0
    block(s, example_craft(), block.default_gains(), memory)
    assert s.angular_acceleration_wanted[1] == pytest.approx(10.0 * 2.0 + 0.5 * 2.0, abs=1e-12)
    assert (block.slot, block.memory, block.about) == ("rate", 3, "My law.")
    assert REGISTRY["rate", "my_rate"] is block


def test_same_file_is_loaded_once_and_again_when_it_changes(tmp_path: Path) -> None:
    path = write(tmp_path, LAW)
    first = load_block(f"{path}:my_rate", "rate").block
    assert load_block(f"{path}:my_rate", "rate").block is first
    write(tmp_path, LAW.replace("10.0", "12.0"))
    assert load_block(f"{path}:my_rate", "rate").block.default_gains()[0] == 12.0


def test_nothing_is_left_beside_the_users_file(tmp_path: Path) -> None:
    path = write(tmp_path, LAW)
    load_block(f"{path}:my_rate", "rate")
    assert list(tmp_path.iterdir()) == [path]


def test_a_user_cannot_replace_a_stock_name(tmp_path: Path) -> None:
    stock = load_block("pid", "rate").block
    load_block(f"{write(tmp_path, LAW.replace('my_rate', 'pid'))}:pid", "rate")
    assert load_block("pid", "rate").block is stock


def test_plain_function_is_slow_and_says_so(tmp_path: Path) -> None:
    loaded = load_block(f"{write(tmp_path, LAW)}:plain", "rate")
    assert loaded.slow
    assert "plain Python function and runs slowly" in loaded.warning
    assert '@block("rate")' in loaded.warning


@pytest.mark.parametrize(
    ("spec", "slot", "words"),
    [
        ("pdi", "rate", ["no rate block is named 'pdi'", "hold, ", "nearest: pid"]),
        ("pid", "attitude", ["known: ", "hold, ", "quaternion_p", "pid is a block for slot rate"]),
        ("pid", "rates", ["no slot 'rates'", "estimate, guide, attitude, rate, allocate"]),
        ("law.py", "rate", ["names no function", "FILE.py:FUNCTION"]),
        ("missing.py:f", "rate", ["missing.py cannot be read", "give the path"]),
        ("law.py:nope", "rate", ["has no function 'nope'", "my_rate, plain, three"]),
        ("law.py:my_rate", "attitude", ["is a block for slot 'rate', not 'attitude'"]),
        ("law.py:three", "rate", ["takes 3 arguments", "exactly four: (s, craft, gains, memory)"]),
        ("law.py:number", "rate", ["is of type int", "must be a function"]),
    ],
)
def test_wrong_names(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, spec: str, slot: str, words: list[str]
) -> None:
    write(tmp_path, LAW)
    monkeypatch.chdir(tmp_path)
    with pytest.raises(BlockError) as caught:
        load_block(spec, slot)
    assert all(word in str(caught.value) for word in words), str(caught.value)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("@block('rate')\ndef f(s, craft, gains, memory)\n    pass\n", ["line 3", "expected ':'"]),
        (
            "@block('rate', memory=999)\ndef f(s, craft, gains, memory):\n    pass\n",
            ["line 2", "memory is 999", "0 to 512"],
        ),
        (
            "@block('rate')\ndef f(s, craft, gains):\n    pass\n",
            ["line 2", "takes 3 arguments", "exactly four"],
        ),
        ("@block('rat')\ndef f(s, craft, gains, memory):\n    pass\n", ["line 2", "slot is 'rat'"]),
        (
            "class G(Gains):\n    X = 70, '-', 1.0, 0.0, 2.0\n@block('rate', gains=G)\ndef f(s, craft, gains, memory):\n"
            "    pass\n",
            ["gain beyond index 63"],
        ),
        ("import nosuchmodule\n", ["line 2", "No module named 'nosuchmodule'"]),
        ("import beside\n", ["line 2", "imports 'beside' from beside it", "one file"]),
        ("from . import beside\n", ["line 2", "one file"]),
        ("1 / 0\n", ["line 2", "ZeroDivisionError"]),
        ("\0", ["is not a Python file"]),
    ],
)
def test_broken_files(tmp_path: Path, text: str, words: list[str]) -> None:
    write(tmp_path, "", "beside.py")
    path = write(tmp_path, HEAD + text)
    with pytest.raises(BlockError) as caught:
        load_block(f"{path}:f", "rate")
    assert all(word in str(caught.value) for word in [str(path), *words]), str(caught.value)
    assert "\n" not in str(caught.value)


COMPILED = "@block('rate')\ndef f(s, craft, gains, memory):\n    s.angular_acceleration_wanted[0] = 1.0\n"


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (
            "import scipy.linalg\n",
            ["line 2", "'scipy.linalg'", "would not notice a new version", "without @block"],
        ),
        ("from importlib import import_module\n", ["line 2", "'importlib'", "one file"]),
        ("helper = __import__('beside')\n", ["line 2", "calls '__import__'"]),
        ("exec('x = 1')\n", ["line 2", "calls 'exec'"]),
        (
            "import numpy as np\nK = np.loadtxt('gains.csv')\n",
            ["line 3", "'loadtxt'", "frozen", "make them gains"],
        ),
        ("def read():\n    return open('gains.csv').read()\n", ["line 3", "calls 'open'"]),
    ],
)
def test_what_compiled_code_would_not_notice_is_refused(tmp_path: Path, text: str, words: list[str]) -> None:
    path = write(tmp_path, HEAD + text + COMPILED)
    with pytest.raises(BlockError) as caught:
        load_block(f"{path}:f", "rate")
    assert all(word in str(caught.value) for word in words), str(caught.value)


def test_plain_python_may_lean_on_other_packages(tmp_path: Path) -> None:
    path = write(tmp_path, "import scipy\n\n\ndef f(s, craft, gains, memory):\n    open('x').close()\n")
    assert load_block(f"{path}:f", "rate").slow


@pytest.mark.jit
def test_a_changed_text_is_never_served_from_the_cache(tmp_path: Path) -> None:
    """Same place, same size, same time stamp: only the content differs."""
    text = "from controllers import block\n" + COMPILED
    path = write(tmp_path, text)
    stamp = path.stat()
    results = []
    for version in (text, text.replace("= 1.0", "= 2.0")):
        write(tmp_path, version)
        os.utime(path, ns=(stamp.st_atime_ns, stamp.st_mtime_ns))
        made, s = load_block(f"{path}:f", "rate").block, rows(SIGNALS)[0]
        made(s, example_craft(), made.default_gains(), np.zeros(512))
        results.append(s.angular_acceleration_wanted[0])
    assert results == [1.0, 2.0]


@pytest.mark.jit
@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("s.ratess[0] = 1.0", ["line 4", "no signal or craft value 'ratess'", "nearest: rates"]),
        ("s.motor[0] = 1.0 if s.mode == Mode.SETPOINT else 0.0", ["line 4", "write int(s.mode)"]),
        ("s.motor[0] = foo(1)", ["line 4", "the name 'foo' is not defined"]),
        ("s.motor[0] = 'a' + 1", ["line 4", "'add' does not work"]),
        ("with open('x') as h: pass", ["not supported", "functions under @kernel"]),
        ("s.motor[0] = helper(1.0)", ["line 4", "'helper' is not compiled", "put @kernel"]),
    ],
)
def test_what_does_not_compile(tmp_path: Path, line: str, words: list[str]) -> None:
    path = write(tmp_path, f"{HEAD}@block('rate')\ndef f(s, craft, gains, memory):\n    {line}\n")
    with pytest.raises(BlockError) as caught:
        load_block(f"{path}:f", "rate")
    assert all(word in str(caught.value) for word in [str(path), *words]), str(caught.value)
    assert "\n" not in str(caught.value)


@pytest.mark.jit
def test_numbas_own_decorator_is_refused(tmp_path: Path) -> None:
    path = write(tmp_path, "import numba\n@numba.njit\ndef f(s, craft, gains, memory):\n    pass\n")
    with pytest.raises(BlockError, match="use @block"):
        load_block(f"{path}:f", "rate")


@pytest.mark.jit
def test_compiled_code_is_found_again_in_a_new_process(tmp_path: Path) -> None:
    """The second process takes the user's block from the cache: no compilation at all."""
    path = write(tmp_path, LAW)
    code = (
        "from controllers import load_block\n"
        f"block = load_block({str(path) + ':my_rate'!r}, 'rate').block\n"
        "print(sum(block.compiled.stats.cache_hits.values()), sum(block.compiled.stats.cache_misses.values()))\n"
    )
    root = Path(__file__).parents[2]
    runs = [
        subprocess.run(
            [sys.executable, "-c", code], cwd=root, capture_output=True, text=True, check=True
        ).stdout.split()
        for _ in range(2)
    ]
    assert runs == [["0", "1"], ["1", "0"]]


@pytest.mark.jit
def test_a_block_that_makes_arrays_is_compiled_with_reference_counting(tmp_path):
    """Without it the memory of its arrays would never be given back."""
    law = tmp_path / "arrays.py"
    law.write_text(
        "import numpy as np\nfrom controllers.contract import block\n\n\n"
        '@block("rate")\ndef arrays(s, craft, gains, memory):\n'
        "    error = np.zeros(3)\n    for k in range(3):\n        error[k] = s.rates_wanted[k] - s.rates[k]\n"
        "        s.angular_acceleration_wanted[k] = 15.0 * error[k]\n"
    )
    made, stock = load_block(f"{law}:arrays", "rate").block, load_block("pid", "rate").block
    assert made.compiled.targetoptions.get("_nrt", True)
    assert not stock.compiled.targetoptions.get("_nrt", True)
    s = rows(SIGNALS)[0]
    s.rates_wanted[:] = 0.1, 0.2, 0.3
    made(s, example_craft(), made.default_gains(), np.zeros(512))
    assert np.asarray(s.angular_acceleration_wanted) == pytest.approx([1.5, 3.0, 4.5])
