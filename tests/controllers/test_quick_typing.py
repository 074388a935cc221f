"""What quick_typing puts in numba's place answers as numba's own."""

from __future__ import annotations

import math
import operator

import pytest
from numba import njit, types
from numba.core import ir, targetconfig
from numba.core.compiler import Flags
from numba.core.errors import TypingError
from numba.core.registry import cpu_target

from controllers import quick_typing
from controllers.contract import Signals, Vector

pytestmark = pytest.mark.jit  # without the compiler numba types nothing

SCALARS = (types.float64, types.int64, types.boolean, types.IntegerLiteral(3))
OPERATIONS = (operator.add, operator.mul, operator.truediv, operator.lt, operator.getitem, math.hypot, max)


def flags(**given: object) -> Flags:
    made = Flags()
    for name, value in given.items():
        setattr(made, name, value)
    return made


def test_it_acts_with_the_numba_in_use_and_leaves_an_untested_one_alone(monkeypatch) -> None:
    own = quick_typing.types.functions.BaseFunction.get_call_type
    assert quick_typing.hasten()
    assert own is quick_typing.types.functions.BaseFunction.get_call_type, "put in place once"
    monkeypatch.setattr(quick_typing.types.functions.BaseFunction, "get_call_type", own.__wrapped__)
    assert not quick_typing.hasten((0, 0))
    assert quick_typing.types.functions.BaseFunction.get_call_type is own.__wrapped__


def test_flags_are_equal_when_all_their_values_are() -> None:
    plain = flags()
    assert plain.values() == {name: getattr(plain, name) for name in plain.options}
    for name, option in plain.options.items():
        said = flags()
        said._values[name] = option.default  # set to what it is anyway
        assert said == plain and hash(said) == hash(plain)
    for name in ("nrt", "no_cpython_wrapper", "boundscheck", "noalias"):
        assert flags(**{name: True}) != plain
        assert flags(**{name: True}) == flags(**{name: True})
    assert plain != "flags"


@pytest.mark.parametrize("operation", OPERATIONS, ids=lambda one: one.__name__)
def test_a_call_returns_what_numba_finds_for_it(operation) -> None:
    """With scalars, an array and a record, asked twice: signature or refusal as without the memory."""
    context = cpu_target.typing_context
    context.refresh()
    known = context.resolve_value_type(operation)
    remembered = type(known).get_call_type
    for left in (*SCALARS, Vector, Signals):
        for right in SCALARS:
            try:
                wanted = remembered.__wrapped__(known, context, (left, right), {})
            except TypingError:
                for _ in range(2):
                    with pytest.raises(TypingError):
                        known.get_call_type(context, (left, right), {})
                continue
            for _ in range(2):
                seen = known.get_call_type(context, (left, right), {})
                assert (seen.args, seen.return_type) == (wanted.args, wanted.return_type)


def test_other_flags_are_asked_anew() -> None:
    asked = []
    remembered = quick_typing.remembering(lambda self, context, args, kws: asked.append(args) or len(asked))
    function = type("Function", (), {})()
    stack = targetconfig.ConfigStack()
    for given, answer in ((flags(), 1), (flags(), 1), (flags(nrt=True), 2), (flags(nrt=True), 2)):
        with stack.enter(given):
            assert remembered(function, None, [types.int64], {}) == answer
    assert remembered(function, None, [types.int64], {"axis": types.int64}) == 3


def test_the_variables_of_a_statement() -> None:
    here, scope = ir.Loc("file", 1), ir.Scope(None, ir.Loc("file", 1))
    a, b, c = (ir.Var(scope, name, here) for name in "abc")
    call = ir.Expr.call(a, [b, c], (("key", a),), here)
    for held in (
        a,
        call,
        [a, (b, "b", None)],
        {"x": c, "y": [a], "z": 3.0},
        "a",
        None,
        ir.Assign(call, b, here),
    ):
        plain = _plain(held)
        assert [one.name for one in quick_typing.variables_in(None, held)] == [one.name for one in plain]


def _plain(held: object) -> list[ir.Var]:
    """As numba 0.68 words it."""
    if isinstance(held, ir.Var):
        return [held]
    if isinstance(held, ir.Inst):
        return _plain(held.__dict__) if isinstance(held, ir.Stmt) else _plain(held._kws)
    if isinstance(held, dict):
        held = list(held.values())
    return [found for one in held for found in _plain(one)] if isinstance(held, list | tuple) else []


def test_compiled_code_is_none_the_worse() -> None:
    @njit
    def many(x: float, n: int) -> float:
        total = 0.0
        for k in range(n):
            total += max(x, 1.0 * k) * (k % 3) - min(n, k) / 2 + (x < k)
        return total

    assert many(2.5, 9) == many.py_func(2.5, 9)
    assert many(2, 9) == many.py_func(2, 9)
