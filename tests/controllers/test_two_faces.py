"""A kernel's two faces: inlined code for kernels, a door for Python, and what is kept of each on disk."""

from __future__ import annotations

import pickle
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from numba import config
from numba.core import compiler
from numba.core.errors import NumbaError

from controllers import contract
from controllers.contract import inner, kernel
from controllers.inlined import FOR_NO_KERNEL, InlinedLibrary
from controllers.rotation import multiply
from controllers.two_faces import Kernel

pytestmark = pytest.mark.jit  # without the compiler a kernel is its plain function


@kernel(cache=False)
def area(x, y):
    """An area."""
    return x * y + 1.0


@inner(cache=False)
def twice(x):
    return 2.0 * x


@kernel(cache=False)
def volume(x, y, z):
    return twice(area(x, y)) * z


def library_of(dispatcher):
    (one,) = dispatcher.overloads.values()
    return one.library


def test_python_and_kernels_compute_the_same_and_kernels_get_no_machine_code() -> None:
    assert isinstance(area, Kernel) and (area.__name__, area.__doc__) == ("area", "An area.")
    assert volume(2.0, 3.0, 5.0) == 2.0 * (2.0 * 3.0 + 1.0) * 5.0
    assert area(2.0, 3.0) == area.py_func(2.0, 3.0) == 7.0
    for one in (area, twice):
        library = library_of(one._inlined)
        assert isinstance(library, InlinedLibrary)
        assert not library._codegen._engine.is_symbol_defined(_name_of(one._inlined)), (
            "not handed to the engine"
        )
        with pytest.raises(RuntimeError, match="has no address"):
            library.get_pointer_to_function("area")
    assert not isinstance(library_of(volume._door), InlinedLibrary)


def _name_of(dispatcher) -> str:
    (one,) = dispatcher.overloads.values()
    return one.fndesc.llvm_func_name


def test_an_inner_kernel_says_who_may_call_it() -> None:
    with pytest.raises(TypeError, match="twice is called by kernels alone; make it a @kernel"):
        twice(1.0)


def test_every_pass_left_out_is_one_of_numbas() -> None:
    """One renamed in numba would stay in; one that is new would be run: both only cost time."""
    state = compiler.StateDict()
    state.func_ir, state.flags = None, compiler.Flags()
    known = {one for one, _ in compiler.DefaultPassBuilder.define_nopython_pipeline(state).passes}
    assert known >= FOR_NO_KERNEL


def test_a_kernel_may_hold_a_small_function_of_its_own() -> None:
    @inner(cache=False)
    def summed(n):
        add = lambda a, b: a + b  # noqa: E731 (a closure is what it is about)
        total = 0.0
        for k in range(n):
            total = add(total, 1.0 * k)
        return total

    @kernel(cache=False)
    def outer(n):
        return summed(n)

    assert outer(4) == 6.0


def test_a_mistake_in_a_formula_is_told_as_numba_tells_it() -> None:
    @inner(cache=False)
    def wrong(x):
        return x.no_such_thing

    @kernel(cache=False)
    def outer(x):
        return wrong(x)

    with pytest.raises(NumbaError, match="no_such_thing"):
        outer(1.0)


def test_a_kernel_that_makes_arrays_counts_references() -> None:
    @kernel(cache=False)
    def summed(x):
        return (np.ones(3) * x).sum()

    @kernel(cache=False)
    def outer(x):
        return summed(x) + 1.0

    assert outer(2.0) == 7.0


def test_another_numba_gets_its_own_dispatchers(monkeypatch) -> None:
    monkeypatch.setattr(contract, "QUICK", False)
    plain = kernel(area.__wrapped__, cache=False)
    assert not isinstance(plain, Kernel) and plain(2.0, 3.0) == 7.0

    @kernel(cache=False)
    def outer(x):
        return plain(x, x)

    assert outer(2.0) == 5.0


def test_a_kernel_is_told_by_its_name() -> None:
    assert pickle.loads(pickle.dumps(multiply)) is multiply


PROGRAM = """
import sys
from controllers import contract
from formula import outer, product
print(outer(3.0), product(2.0, 2.0), sum(product._inlined.stats.cache_hits.values()), sum(outer._door.stats.cache_hits.values()))
"""
FORMULA = """
from controllers.contract import inner, kernel

@kernel
def product(x, y):
    return x * y

@kernel
def outer(x):
    return product(x, x)
"""


def test_each_face_is_found_again_in_the_cache(tmp_path: Path) -> None:
    (tmp_path / "formula.py").write_text(FORMULA, encoding="utf-8")

    def run() -> str:
        here = Path(contract.__file__).parent.parent
        told = subprocess.run(
            [sys.executable, "-c", PROGRAM], capture_output=True, text=True, check=True, cwd=tmp_path,
            env={"PYTHONPATH": f"{here}:{tmp_path}", "QUADSIM_CACHE_DIR": str(tmp_path / "cache")},
        )  # fmt: skip
        return told.stdout.strip()

    assert run() == "9.0 4.0 0 0"
    assert len(list((tmp_path / "cache").rglob("formula.product*.nbi"))) == 2, "code and door"
    (next((tmp_path / "cache").rglob("formula.outer*.nbi"))).unlink()
    assert run() == "9.0 4.0 1 0", "`outer` compiles anew, from the code of `product` that was kept"


def test_the_cache_folder_is_that_of_the_decoration(tmp_path: Path, monkeypatch) -> None:
    monkeypatch.setattr(config, "CACHE_DIR", str(tmp_path))
    with contract.cache_of_its_own("mine"):
        made = kernel(area.__wrapped__)
    assert str(tmp_path) == config.CACHE_DIR
    assert made(1.0, 2.0) == 3.0
    assert list((tmp_path / "mine").rglob("test_two_faces.area*.nbi"))
