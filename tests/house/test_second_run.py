"""The run without the compiler leaves out what is no kernel; no kernel may be left out with it."""

import ast
from pathlib import Path

ROOT = Path(__file__).parents[2]


def line_by_line() -> tuple[str, ...]:
    """The table of tests/conftest.py."""
    for node in ast.parse((ROOT / "tests" / "conftest.py").read_text(encoding="utf-8")).body:
        if isinstance(node, ast.Assign) and ast.unparse(node.targets[0]) == "LINE_BY_LINE":
            return ast.literal_eval(node.value)
    raise AssertionError("tests/conftest.py has no LINE_BY_LINE")


def has_kernels(path: Path) -> bool:
    """Whether a module asks for the compiler."""
    return any(
        isinstance(node, ast.ImportFrom) and {name.name for name in node.names} & {"kernel", "inner", "block"}
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
    )


def folder_of(path: Path) -> str:
    """The tests that mirror a module: the package inside quadsim, or `controllers`; a module of the top by its name."""
    package, *inner = path.relative_to(ROOT).with_suffix("").parts
    if package == "controllers":
        return package
    return inner[0] if len(inner) > 1 else f"test_{inner[0]}.py"


def test_every_kernel_s_tests_run_without_the_compiler() -> None:
    kept = line_by_line()
    modules = [path for top in ("quadsim", "controllers") for path in sorted((ROOT / top).rglob("*.py"))]
    kernels = [path for path in modules if has_kernels(path)]
    assert len(kernels) > 50
    left_out = [
        str(path.relative_to(ROOT))
        for path in kernels
        if not any(name.split("/")[0] == folder_of(path) for name in kept)
    ]
    assert left_out == []


def test_the_table_names_what_is_there() -> None:
    assert [name for name in line_by_line() if not (ROOT / "tests" / name).exists()] == []
