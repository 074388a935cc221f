"""What quick_asides spares changes nothing that numba answers."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from numba import njit
from numba.core import codegen, cpu, types
from numba.core.registry import cpu_target

import controllers
from controllers import quick_asides
from controllers.contract import Builder, Signals

pytestmark = pytest.mark.jit

WITHOUT_SCIPY = """
import sys
import controllers.contract
from numba.core.registry import cpu_target
cpu_target.target_context.refresh()
loaded = [name for name in sys.modules if name.startswith("scipy.linalg")]
assert not loaded, loaded
from numba.np import arraymath, linalg
assert arraymath._HAVE_BLAS
assert linalg.ensure_blas.__module__ == "numba.np.linalg"
"""


def test_scipy_is_loaded_when_a_kernel_needs_it() -> None:
    here = Path(controllers.__file__).parent.parent
    subprocess.run([sys.executable, "-c", WITHOUT_SCIPY], check=True, cwd=here)

    @njit
    def product(a, b):
        return np.dot(a, b)

    a = np.arange(4.0).reshape(2, 2)
    assert np.array_equal(product(a, a), a @ a)


def test_without_scipy_numba_is_told_so(monkeypatch) -> None:
    monkeypatch.setattr(quick_asides.importlib.util, "find_spec", lambda name: None)
    with pytest.raises(ImportError, match="scipy is not installed"):
        quick_asides.look_for_blas()


def test_it_is_put_in_place_once() -> None:
    own = cpu.CPUContext.load_additional_registries
    assert quick_asides.spare() and cpu.CPUContext.load_additional_registries is own


def test_the_words_of_a_type_are_numbas() -> None:
    plain = types.Record.__repr__.__wrapped__
    assert repr(Signals) == plain(Signals) == repr(Signals)
    assert repr(Builder) == plain(Builder) != repr(Signals)


def test_the_same_registries_are_looked_through_again() -> None:
    found: list[list[object]] = []

    class Context:
        def install_registry(self, registry: object) -> None:
            found[-1].append(registry)

    @quick_asides.loading_once
    def load(self) -> None:
        found[-1].append("imports")
        for registry in "ab":
            self.install_registry(registry)

    one = Context()
    for _ in range(3):
        found.append([])
        load(one)
    assert found == [["imports", "a", "b"], ["a", "b"], ["a", "b"]]
    found.append([])
    load(Context())
    assert found[-1] == ["imports", "a", "b"], "another context loads for itself"


def test_functions_without_a_body_are_passed_over() -> None:
    """And those with one are simplified as by numba's own loop, to the letter."""
    text = """
    declare double @other(double)
    define double @twice(double %x) {
      %place = alloca double
      store double %x, ptr %place
      %y = load double, ptr %place
      %z = call double @other(double %y)
      ret double %z
    }
    """
    own = cpu_target.target_context.codegen()
    library = own.create_library("text")
    modules = [codegen.ll.parse_assembly(text) for _ in range(2)]
    quick_asides.optimise_defined(library, modules[0])
    passes, builder = own._function_pass_manager()
    modules[1].data_layout = own._data_layout
    for function in modules[1].functions:
        passes.run(function, builder)
    assert str(modules[0]) == str(modules[1])
    assert "alloca" not in str(modules[0])
