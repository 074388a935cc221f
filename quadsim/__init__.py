"""quadsim: a bench for quadrotors that have not been built yet. Names load on first use, so `import quadsim` is light."""

from importlib import import_module
from typing import TYPE_CHECKING, Any

__version__ = "0.1.0"

_HOMES = {
    "load_craft": "quadsim.config",
    "load_flight": "quadsim.config.flight_loader",
    "fly": "quadsim.simulation.fly",
    "load_run": "quadsim.simulation.run",
    "save_run": "quadsim.simulation.run",
    "Run": "quadsim.simulation.run",
    "rotor_map": "quadsim.dynamics.rotor_map",
}

if TYPE_CHECKING:
    from quadsim.config import load_craft
    from quadsim.config.flight_loader import load_flight
    from quadsim.dynamics.rotor_map import rotor_map
    from quadsim.simulation.fly import fly
    from quadsim.simulation.run import Run, load_run, save_run

__all__ = ["Run", "fly", "load_craft", "load_flight", "load_run", "rotor_map", "save_run"]


def __getattr__(name: str) -> Any:
    if name not in _HOMES:
        raise AttributeError(
            f"module 'quadsim' has no attribute {name!r}; it has: {', '.join(sorted(_HOMES))}"
        )
    return getattr(import_module(_HOMES[name]), name)


def __dir__() -> list[str]:
    return sorted([*globals(), *_HOMES])
