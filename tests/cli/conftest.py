"""The command line called in this process, flights of a twentieth of a second, and the keys that `--json` promises."""

from collections.abc import Callable
from pathlib import Path
from typing import Any, NamedTuple

import pytest

from quadsim.cli import main

SHORT = """
title = "A moment of hover"
about = "Two hundred steps of 0.25 ms."
craft = "siskin"
duration_s = 0.05
[start]
height_m = 2
[[at]]
t_s = 0.01
text = "a mark"
[[expect]]
metric = "max_tilt_deg"
below = 5
"""


class Answer(NamedTuple):
    status: int
    out: str
    err: str


@pytest.fixture
def quadsim(capsys, monkeypatch, tmp_path) -> Callable[..., Answer]:
    """`quadsim("fly", "hover")` in an empty folder: exit status and what was printed."""
    monkeypatch.chdir(tmp_path)

    def call(*arguments: object) -> Answer:
        capsys.readouterr()
        status = main([str(argument) for argument in arguments])
        printed = capsys.readouterr()
        return Answer(status, printed.out, printed.err)

    return call


@pytest.fixture
def make_flight(tmp_path) -> Callable[..., Path]:
    """A short flight file with (old, new) pieces of its text exchanged."""

    def make(*changes: tuple[str, str], name: str = "moment") -> Path:
        text = SHORT
        for old, new in changes:
            assert text.count(old) == 1, old
            text = text.replace(old, new)
        path = tmp_path / f"{name}.toml"
        path.write_text(text, encoding="utf-8")
        return path

    return make


_LOOP = ("gain_margin_dB", "phase_margin_deg", "delay_margin_ms", "disk_margin", "crossover_Hz")
_LOOPS = tuple(f"loops.{axis}.{key}" for axis in ("roll", "pitch", "yaw") for key in _LOOP)
PRESCRIBED: dict[str, tuple[str, ...]] = {
    "fly": (
        "flight", "craft", "status", "duration_s", "steps", "wall_s", "metrics", "expectations[].metric",
        "expectations[].value", "expectations[].bound", "expectations[].ok", "passed", "run_file",
    ),
    "inspect": (
        "craft", "mass_g", "price", "thrust_to_weight", "hover_throttle", "hover_current_A", "hover_power_W", "hover_time_min",
        "max_thrust_N", "findings[].name", "findings[].ok", "findings[].value", "findings[].limit", "findings[].unit",
        "findings[].message",
    ),
    "lift": (
        "max_payload_g", "interval_g", "limited_by", "limits[].name", "limits[].payload_g", "sensitivities[].input",
        "sensitivities[].change", "sensitivities[].effect_g", "failure_payload_g", "failure_mode", "time_to_failure_s",
        "attempts[].payload_g", "attempts[].success_pct",
    ),
    "dash": ("top_speed_m_s", "interval_m_s", "limited_by", "tilt_deg", "limits[]", "sensitivities[]"),
    "hover": ("hover_time_min", "interval_min", "limited_by", "sensitivities[]"),
    "lap": (
        "lap_time_s", "pilot_lap_time_s", "interval_s", "flown_lap_time_s", "limited_by", "gates[].name", "gates[].time_s",
        "gates[].speed_m_s", "gates[].miss_m",
    ),
    "margins": _LOOPS,
    "tune": (
        "gains", "filters", *_LOOPS, "step.rise_s", "step.overshoot_pct", "step.settle_s", "robust.runs", "robust.failures",
        "robust.worst_phase_margin_deg",
    ),
    "choose": (
        "evaluated", "within_budget", "front[].parts", "front[].price", "front[].mass_g", "front[].dash_m_s", "front[].lift_g",
        "front[].lap_s",
    ),
}  # fmt: skip
"""What others read from `--json`, by command: never renamed. `a[].b`: key b of every item of the list a, which is not empty."""


@pytest.fixture
def lacking() -> Callable[[str, dict[str, Any]], list[str]]:
    """`lacking("lift", document)`: the promised keys that a document does not have."""

    def has(value: Any, path: list[str]) -> bool:
        if not path:
            return True
        name = path[0].removesuffix("[]")
        if not isinstance(value, dict) or name not in value:
            return False
        if path[0].endswith("[]"):
            return bool(value[name]) and all(has(item, path[1:]) for item in value[name])
        return has(value[name], path[1:])

    def find(command: str, document: dict[str, Any]) -> list[str]:
        return [key for key in PRESCRIBED[command] if not has(document, key.split("."))]

    return find
