"""Imports go downward only, and each library has its place. The tables here ARE the layers of the project.

All imports count: those inside functions, those under TYPE_CHECKING, and `import_module` with a literal name.
"""

import ast
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]

LAYERS: tuple[tuple[str, ...], ...] = (
    ("errors", "constants", "units", "whole_file", "kernel_sources", "jit"),
    ("kinematics", "integrators", "noise"),
    ("environment", "dynamics"),
    ("sensors", "config"),
    ("simulation",),
    (
        "analysis",
        "tuning",
        "contest",
        "contest_day",
        "planning",
        "practice",
        "parts",
        "identification",
        "sweep",
        "measure",
        "logs",
        "warm",
    ),
    ("viewer", "report"),
    ("cli",),
    ("__main__",),
)
"""Parts of quadsim from the bottom up. A part imports itself, lower layers, and its neighbours as listed below."""

NEIGHBOURS = {
    ("units", "constants"),  # a unit may be a constant of nature
    ("whole_file", "errors"),  # it says why a file could not be written
    ("jit", "kernel_sources"),  # they key the cache of compiled kernels
    ("dynamics", "environment"),  # a rotor needs the air
    ("config", "sensors"),  # resolve fills the sensors' records
    ("tuning", "analysis"),  # gains are judged by margins and steps
    ("contest", "analysis"),  # lift, dash and hover ask for trim
    ("logs", "analysis"),  # a log's thrust is held against how sure the craft file is of it
    ("contest", "planning"),  # a lap is flown along a planned line
    ("contest_day", "contest"),  # the day's sheet is what the craft would achieve, in today's weather
    ("contest_day", "parts"),  # a lap is estimated as for a choice of parts
    ("contest_day", "planning"),  # speeds and room in the gates of a planned lap count in today's gust
    ("practice", "planning"),  # gates are crossed, and a planned line is chased
    ("parts", "contest"),  # a choice of parts is ranked by what the craft would achieve
    ("parts", "analysis"),  # a frame's mode is held against the crossover of the loops
    ("parts", "tuning"),  # winners are also flown with gains of their own
    ("sweep", "contest"),  # no drawn rotor beats momentum theory there either
    ("sweep", "analysis"),  # what is uncertain in a craft is drawn, and laws go by their names
    ("measure", "analysis"),  # Allan deviation of a sensor at rest, the formula of a pendulum on two wires
    ("identification", "analysis"),  # a fit is judged by step metrics
}
"""(importer, imported) within one layer."""

CONTROLLERS_FROM_LAYER = 3
CONTROLLERS_BELOW = {
    "quadsim.jit": "re-exports the kernel decorator and the compile cache",
    "quadsim.dynamics.records": "the form of a record's table (Signal, rows) is declared once, in controllers.signals",
    "quadsim.dynamics.rotor_map_cache": "maps are kept beside the kernels, in the folder that controllers.cache names",
}
"""Modules below that layer that may import controllers all the same, and why."""

LIBRARIES: dict[str, tuple[str, ...]] = {
    "numpy": ("quadsim", "controllers"),
    "numba": (
        "quadsim.jit",
        "controllers.contract",
        "controllers.inlined",
        "controllers.python_block",
        "controllers.quick_asides",
        "controllers.quick_typing",
        "controllers.registry",
        "controllers.two_faces",
    ),
    "scipy": ("quadsim",),
    "pydantic": ("quadsim.config", "quadsim.parts", "quadsim.sweep"),
    "pydantic_core": ("quadsim.config", "quadsim.parts", "quadsim.sweep"),
    "h5py": ("quadsim.simulation",),
    "platformdirs": ("quadsim",),
    "pygame": ("quadsim.viewer",),
    "matplotlib": ("quadsim.report",),
    "typer": ("quadsim.cli",),
    "rich": ("quadsim.cli",),
}
"""Where a library may be imported. One that is not in the table may not be imported at all."""


def layer_of(part: str) -> int | None:
    return next((k for k, parts in enumerate(LAYERS) if part in parts), None)


def within(module: str, places: tuple[str, ...]) -> bool:
    return any(module == place or module.startswith(place + ".") for place in places)


def imports(module: str, source: str, is_package: bool) -> Iterator[tuple[int, str, bool]]:
    """(line, full name of what is imported, only for type checkers) of every import in a module's text."""
    tree = ast.parse(source)
    guarded = {
        id(inner)
        for node in ast.walk(tree)
        if isinstance(node, ast.If) and ast.unparse(node.test).endswith("TYPE_CHECKING")
        for statement in node.body
        for inner in ast.walk(statement)
    }
    for node in ast.walk(tree):
        for name in named_by(node, module, is_package):
            yield getattr(node, "lineno", 0), name, id(node) in guarded


def named_by(node: ast.AST, module: str, is_package: bool) -> list[str]:
    """Full names that one node of the syntax tree imports."""
    if isinstance(node, ast.Import):
        return [alias.name for alias in node.names]
    if isinstance(node, ast.ImportFrom):
        above = module.split(".")[: len(module.split(".")) - node.level + is_package] if node.level else []
        home = ".".join([*above, *([node.module] if node.module else [])])
        return [f"{home}.{alias.name}" for alias in node.names]
    if isinstance(node, ast.Call) and ast.unparse(node.func).split(".")[-1] in (
        "import_module",
        "__import__",
    ):
        first = node.args[0] if node.args else None
        return [first.value] if isinstance(first, ast.Constant) and isinstance(first.value, str) else []
    return []


def faults(module: str, source: str, is_package: bool = False) -> list[str]:
    """What is wrong with a module's imports, one sentence each."""
    found = []
    for line, target, for_types in imports(module, source, is_package):
        top = target.split(".")[0]
        if top in sys.stdlib_module_names:
            continue
        if (
            module == "quadsim" and for_types
        ):  # the facade loads names on first use and tells type checkers of them
            continue
        if top == "quadsim":
            fault = fault_inside(module, target)
        elif top == "controllers":
            fault = fault_of_controllers(module)
        elif top not in LIBRARIES:
            fault = "this library has no place in the table LIBRARIES"
        else:
            fault = (
                "" if within(module, LIBRARIES[top]) else f"only {', '.join(LIBRARIES[top])} may import it"
            )
        if fault:
            found.append(f"{module}, line {line}, imports {target}: {fault}")
    return found


def fault_inside(module: str, target: str) -> str:
    """What is wrong with an import of something of quadsim; empty if nothing."""
    if not module.startswith("quadsim."):
        return (
            "controllers know nothing of quadsim"
            if module != "quadsim"
            else "the facade imports on first use only"
        )
    part, other = module.split(".")[1], target.split(".")[1] if "." in target else ""
    own, its = layer_of(part), layer_of(other)
    if own is None:
        return f"{part} has no layer"
    if other == "__version__":
        return ""
    if its is None:
        return "not a part with a layer; names of the facade are for users"
    if part == other or its < own or (part, other) in NEIGHBOURS:
        return ""
    return f"{part} is in layer {own}, {other} in layer {its}; imports go downward only"


def fault_of_controllers(module: str) -> str:
    """What is wrong with importing controllers; empty if nothing."""
    if within(module, ("controllers",)) or module in CONTROLLERS_BELOW:
        return ""
    own = layer_of(module.split(".")[1]) if "." in module else None
    if own is None or own < CONTROLLERS_FROM_LAYER:
        return f"only layers from {CONTROLLERS_FROM_LAYER} up may import controllers"
    return ""


def modules(package: str) -> dict[str, Path]:
    """Every module of a package with its file."""
    found = {}
    for path in sorted((ROOT / package).rglob("*.py")):
        parts = path.relative_to(ROOT).with_suffix("").parts
        found[".".join(parts[:-1] if parts[-1] == "__init__" else parts)] = path
    return found


@pytest.mark.parametrize("package", ["quadsim", "controllers"])
def test_imports_go_downward_and_libraries_keep_to_their_places(package):
    known = modules(package)
    assert len(known) > 5, f"found only {sorted(known)}"
    found = [
        fault
        for module, path in known.items()
        for fault in faults(module, path.read_text(encoding="utf-8"), path.name == "__init__.py")
    ]
    assert not found, "\n".join(found)


def test_every_part_has_a_layer():
    parts = {module.split(".")[1] for module in modules("quadsim") if "." in module}
    assert parts
    assert not [part for part in sorted(parts) if layer_of(part) is None]


def test_the_tables_hold_no_circle_and_nothing_stale():
    known = modules("quadsim") | modules("controllers")
    assert set(CONTROLLERS_BELOW) <= set(known)
    for own, other in NEIGHBOURS:
        assert layer_of(own) == layer_of(other) is not None
    reach = set(NEIGHBOURS)
    for _ in LAYERS:
        reach |= {(a, d) for a, b in reach for c, d in reach if b == c}
    assert not [pair for pair in reach if pair[0] == pair[1]]


BAD = [
    ("quadsim.dynamics.rotor", "from quadsim.simulation.loop import fly_ticks", "downward"),
    ("quadsim.kinematics.rotation", "def f():\n    import quadsim.integrators.rk4", "downward"),
    ("quadsim.kinematics.rotation", "from ..dynamics import rotor", "downward"),
    ("quadsim.kinematics", "from .. import dynamics", "downward"),
    ("quadsim.environment.wind", "from quadsim.dynamics import state", "downward"),
    (
        "quadsim.kinematics.frames",
        "from typing import TYPE_CHECKING\nif TYPE_CHECKING:\n    import quadsim.cli",
        "downward",
    ),
    ("quadsim.simulation.loop", "from quadsim import load_craft", "names of the facade"),
    ("quadsim.gadgets.thing", "from quadsim.units import DEG", "gadgets has no layer"),
    ("quadsim", "from quadsim.simulation.fly import fly", "first use only"),
    ("controllers.rate", "from quadsim.jit import kernel", "know nothing of quadsim"),
    ("controllers.rate", "import numba", "only quadsim.jit"),
    ("controllers.rate", "import scipy.linalg", "only quadsim may"),
    ("quadsim.environment.wind", "from controllers.signals import Mode", "layers from 3 up"),
    ("quadsim.simulation.live", "import pygame.display", "only quadsim.viewer"),
    (
        "quadsim.simulation.live",
        "from importlib import import_module\nimport_module('pygame')",
        "only quadsim.viewer",
    ),
    ("quadsim.viewer.scene", "from matplotlib import pyplot", "only quadsim.report"),
    ("quadsim.analysis.margins", "from rich.table import Table", "only quadsim.cli"),
    ("quadsim.dynamics.rotor", "from numba import njit", "only quadsim.jit"),
    ("quadsim.config.loader", "import yaml", "no place in the table"),
]


@pytest.mark.parametrize(("module", "source", "said"), BAD)
def test_a_bad_import_is_found(module, source, said):
    found = faults(module, source, is_package=module == "quadsim.kinematics")
    assert len(found) == 1, found
    assert said in found[0]


GOOD = [
    (
        "quadsim.dynamics.rotor",
        "import math\nimport numpy as np\nfrom quadsim.environment.atmosphere import Site",
    ),
    (
        "quadsim.simulation.run",
        "from quadsim import __version__\nfrom . import loop\nfrom .columns import TRUTH",
    ),
    (
        "quadsim.cli.fly",
        "import typer\nfrom quadsim.viewer import window\nfrom controllers import stock_blocks",
    ),
    (
        "quadsim",
        "from typing import TYPE_CHECKING\nif TYPE_CHECKING:\n    from quadsim.simulation.fly import fly",
    ),
    ("controllers.rate", "import numpy as np\nfrom controllers.contract import block"),
]


@pytest.mark.parametrize(("module", "source"), GOOD)
def test_a_good_import_passes(module, source):
    assert faults(module, source) == []
