"""The sensitivities that `lift`, `dash` and `hover` print equal differences of their answers for craft files changed by hand."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from quadsim.config import Craft, load_craft, mass_properties, resolve_plant
from quadsim.config.find_data import find_file
from quadsim.contest.uncertainty import Spread, Unknown
from quadsim.environment.atmosphere import Site

pytestmark = pytest.mark.jit  # numpy alone, and long: once is enough
ANSWER = {
    "lift": ("max_payload_g", "g"),
    "dash": ("top_speed_m_s", "m_s"),
    "hover": ("hover_time_min", "min"),
}
WITHIN = {"lift": 1e-4, "dash": 1e-6, "hover": 2e-3}
"""Absolute: what the search leaves of payload [g] and speed [m/s], the coarser steps over the charge behind differences [min]."""
MODULES = ("lift_prediction", "dash_prediction", "hover_prediction")
GRAM, VOLTS, THRUST, WIDER, LARGER = (
    "+1 g mass of the frame",
    "+0.1 V voltage of the battery",
    "+1 % thrust of the propellers",
    "+0.1 in diameter of the propellers",
    "+100 mAh capacity at the same mass",
)
ALL = (GRAM, VOLTS, THRUST, WIDER, LARGER)
CASES = (
    ("lift", "siskin", ALL),
    ("lift", "bonxie", (WIDER,)),  # it has a bench
    ("dash", "siskin", (GRAM, THRUST, WIDER)),  # its guide asks for no more at a higher voltage
    ("hover", "siskin", ALL),
    ("hover", "bonxie", (GRAM, WIDER)),
)


def written(text: str, section: str, key: str, value: float) -> str:
    """The file with a key of a section set, in place of the old one if there is one."""
    start = text.index(f"[{section}]\n") + len(section) + 3
    ends = re.compile(r"^\[", re.MULTILINE).search(text, start)
    own, rest = (text[start : ends.start()], text[ends.start() :]) if ends else (text[start:], "")
    own = re.sub(rf"^{key} = .*\n", "", own, flags=re.MULTILINE)
    return f"{text[:start]}{key} = {value:.12g}\n{own}{rest}"


def changed_by_hand(text: str, craft: Craft, change: str, sign: float) -> str:
    """A craft file with one of the changes made."""
    if change == GRAM:
        return written(text, "mass", "weighed_mass_g", 1e3 * mass_properties(craft).mass_kg + sign)
    if change == VOLTS:
        cell = float(craft.battery.full_cell_V) + 0.1 * sign / craft.battery.cells
        return written(text, "battery", "full_cell_V", cell)
    if change == THRUST:
        return written(text, "propeller", "thrust_scale", 1.0 + 0.01 * sign)
    if change == LARGER:
        return written(text, "battery", "capacity_mAh", float(craft.battery.capacity_mAh) + 100.0 * sign)
    diameter = float(craft.propeller.diameter_in) + 0.1 * sign
    text = written(text, "propeller", "diameter_in", diameter)
    if (
        craft.propeller.bench is not None
    ):  # its thrust and torque were measured on the other diameter: as D^4, D^5
        ratio = diameter / float(craft.propeller.diameter_in)
        text = written(text, "propeller", "thrust_scale", ratio**4)
        text = written(text, "propeller", "torque_scale", ratio**5)
    return text


@pytest.fixture
def asked(quadsim: Callable, monkeypatch: pytest.MonkeyPatch) -> Callable[..., dict[str, Any]]:
    """`asked("lift", craft)`: the JSON answer, with one rough draw in place of 500, which say nothing about sensitivities."""
    nothing = Spread(np.zeros(1), (0.0, 0.0), 0.0, [(Unknown("nothing", 0.0, 0.0, ""), 0.0)])
    one = [resolve_plant(load_craft("siskin"), Site())]

    def spread(answer: Callable, *_: Any, **__: Any) -> Spread:
        answer(one)
        return nothing

    for module in MODULES:
        monkeypatch.setattr(f"quadsim.contest.{module}.spread", spread)
    monkeypatch.setattr("quadsim.contest.lift_prediction.ROUGH", 2)
    monkeypatch.setattr("quadsim.contest.lift_prediction.lift_curve", lambda *_: None)

    def ask(command: str, craft: object) -> dict[str, Any]:
        answer = quadsim(command, craft, "--json")
        assert answer.status == 0, answer.err
        found: dict[str, Any] = json.loads(answer.out)
        return found

    return ask


@pytest.mark.parametrize(("command", "name", "changes"), CASES)
def test_sensitivities_are_differences_through_the_command_line(
    asked: Callable, monkeypatch: pytest.MonkeyPatch, tmp_path: Path, command: str, name: str, changes: tuple[str, ...]
) -> None:  # fmt: skip
    key, unit = ANSWER[command]
    found = asked(command, name)["sensitivities"]
    said = {f"{one['change']} {one['input']}": one[f"effect_{unit}"] for one in found}
    assert set(said) == set(ALL)
    for module in MODULES:
        monkeypatch.setattr(f"quadsim.contest.{module}.sensitivities", lambda *_: [])
    text, craft, path = (
        find_file(name, "crafts").read_text(encoding="utf-8"),
        load_craft(name),
        tmp_path / "c.toml",
    )
    for change in changes:
        answers = []
        for sign in (1.0, -1.0):
            path.write_text(changed_by_hand(text, craft, change, sign), encoding="utf-8")
            answers.append(asked(command, path)[key])
        difference = 0.5 * (answers[0] - answers[1])
        assert said[change] == pytest.approx(difference, rel=0.01, abs=WITHIN[command]), change
        assert difference != 0.0, change
