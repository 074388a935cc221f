"""One idea to a file, one thought to a function: what grows too long has to be taken apart."""

import ast
from pathlib import Path

ROOT = Path(__file__).parents[2]
FOLDERS = ("quadsim", "controllers", "tests", "tools")
FILE_LINES, FUNCTION_LINES = 400, 60

LONGER: dict[str, tuple[int, str]] = {
    "quadsim/simulation/loop.py:fly_ticks": (
        80,
        "the stages of one tick in their order: blocks, gains and memory are looked up once before the first tick, since "
        "doing it in every tick costs a third more, and handing them all on would hide the order behind long calls",
    ),
}
"""Functions that may be longer: "path.py:name" -> (lines, why it cannot be taken apart). Stale entries fail."""


def functions(source: str) -> dict[str, int]:
    """Name of every function (methods as Class.name) with its lines, the docstring not counted."""
    found: dict[str, int] = {}

    def visit(node: ast.AST, prefix: str) -> None:
        for child in ast.iter_child_nodes(node):
            inside = prefix
            if isinstance(child, ast.ClassDef | ast.FunctionDef | ast.AsyncFunctionDef):
                inside = f"{prefix}{child.name}."
            if isinstance(child, ast.FunctionDef | ast.AsyncFunctionDef):
                found[inside[:-1]] = max(lines_of(child), found.get(inside[:-1], 0))
            visit(child, inside)

    visit(ast.parse(source), "")
    return found


def lines_of(function: ast.FunctionDef | ast.AsyncFunctionDef) -> int:
    """Lines from `def` to the end without the docstring."""
    lines = (function.end_lineno or function.lineno) - function.lineno + 1
    if ast.get_docstring(function) is not None:
        text = function.body[0]
        lines -= (text.end_lineno or text.lineno) - text.lineno + 1
    return lines


def faults(name: str, source: str, longer: dict[str, tuple[int, str]]) -> list[str]:
    """What is too long in a file, one sentence each."""
    found = []
    lines = len(source.splitlines())
    if lines > FILE_LINES:
        found.append(f"{name} has {lines} lines; a file has at most {FILE_LINES}")
    for function, length in functions(source).items():
        limit, _ = longer.get(f"{name}:{function}", (FUNCTION_LINES, ""))
        if length > limit:
            found.append(f"{name}: {function} has {length} lines; it may have {limit}")
    return found


def stale(sources: dict[str, str], longer: dict[str, tuple[int, str]]) -> list[str]:
    """Allowances that nothing needs any more, or that give no reason."""
    found = []
    for key, (_, reason) in longer.items():
        name, function = key.split(":")
        if functions(sources.get(name, "")).get(function, 0) <= FUNCTION_LINES or len(reason.split()) < 4:
            found.append(key)
    return found


def all_sources() -> dict[str, str]:
    return {
        path.relative_to(ROOT).as_posix(): path.read_text(encoding="utf-8")
        for folder in FOLDERS
        for path in sorted((ROOT / folder).rglob("*.py"))
    }


def test_files_and_functions_are_short():
    sources = all_sources()
    for folder in FOLDERS:
        assert any(name.startswith(f"{folder}/") for name in sources), f"no file found in {folder}"
    found = [fault for name, source in sources.items() for fault in faults(name, source, LONGER)]
    assert not found, "\n".join(found)


def test_allowances_are_needed_and_explained():
    assert not stale(all_sources(), LONGER)


def function_of(lines: int) -> str:
    return "def f():\n" + "    x = 1\n" * (lines - 1)


def test_what_is_too_long_is_found():
    assert faults("a.py", "x = 1\n" * FILE_LINES, {}) == []
    assert len(faults("a.py", "x = 1\n" * (FILE_LINES + 1), {})) == 1
    assert faults("a.py", function_of(FUNCTION_LINES), {}) == []
    assert "f has 61 lines" in faults("a.py", function_of(FUNCTION_LINES + 1), {})[0]
    method = "class C:\n" + "".join(f"    {line}\n" for line in function_of(70).splitlines())
    assert "C.f has 70 lines" in faults("a.py", method, {})[0]


def test_a_docstring_does_not_count():
    text = '    """One.\n' + "\n" * 50 + '    """\n'
    assert functions(function_of(10).replace("def f():\n", "def f():\n" + text)) == {"f": 10}


def test_an_allowance_allows_no_more_than_it_says():
    allowed = {"a.py:f": (70, "stages of one derivation in order")}
    assert faults("a.py", function_of(70), allowed) == []
    assert len(faults("a.py", function_of(71), allowed)) == 1
    assert stale({"a.py": function_of(70)}, allowed) == []


def test_a_stale_or_unexplained_allowance_is_found():
    assert stale({"a.py": function_of(20)}, {"a.py:f": (70, "stages of one derivation in order")})
    assert stale({}, {"gone.py:f": (70, "stages of one derivation in order")})
    assert stale({"a.py": function_of(70)}, {"a.py:f": (70, "long")})
