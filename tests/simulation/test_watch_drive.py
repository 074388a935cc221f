"""What the loop notices of the drive: each once, with the rotor that came first."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from controllers.signals import rows
from quadsim.config import load_craft, resolve_plant
from quadsim.config.warmth import begin_at
from quadsim.dynamics.records import HELD
from quadsim.dynamics.state import SIZE, X
from quadsim.environment.atmosphere import Site
from quadsim.simulation.carried import CARRIED, Note, Status
from quadsim.simulation.note_events import event_of
from quadsim.simulation.watch_drive import watch_drive

SOUND = (1.4 * 287.05287 * 288.15) ** 0.5
"""Speed of sound at 15 deg C [m/s]; ICAO Doc 7488."""


class Watched:
    """A standing Siskin whose temperatures and rotor speeds are set by hand."""

    def __init__(self, **motor: float) -> None:
        craft = load_craft("siskin")
        propeller = craft.propeller.model_copy(update={"max_rpm": 40000.0})
        parts = {"motor": craft.motor.model_copy(update=motor), "propeller": propeller}
        self.craft = craft.model_copy(update=parts)
        self.plant = resolve_plant(self.craft, Site())
        self.held, self.carried, self.x = rows(HELD)[0], rows(CARRIED)[0], np.zeros(SIZE)
        begin_at(self.held, self.plant)

    def look(self) -> list[tuple[int, int]]:
        """Notes so far: kind and rotor."""
        watch_drive(self.x, self.held, self.plant, self.carried)
        carried: Any = self.carried
        return [(int(carried.note_kind[k]), int(carried.note_value[k])) for k in range(int(carried.notes))]


def test_a_cool_drive_is_not_noted() -> None:
    watched = Watched()
    watched.held.case_temperature[:], watched.x[X.ROTORS : X.ROTORS + 4] = (
        273.15 + 64.9,
        0.59 * SOUND / 0.0635,
    )
    assert watched.look() == []


def test_cases_and_magnets_are_noted_once() -> None:
    watched = Watched(magnet_limit_C=120.0)
    steps = (
        (2, 65.1, Note.CASE_WARM),
        (2, 80.1, Note.CASE_HOT),
        (1, 90.0, None),
        (1, 120.1, Note.MAGNETS_HOT),
    )
    expected: list[tuple[int, int]] = []
    for rotor, celsius, kind in steps:
        watched.held.case_temperature[rotor] = 273.15 + celsius
        expected += [] if kind is None else [(int(kind), rotor)]
        assert watched.look() == expected
    assert int(watched.carried.status) == Status.FLYING


def test_tips_and_propellers_too_fast() -> None:
    watched = Watched()
    watched.x[X.ROTORS + 3] = 0.61 * SOUND / 0.0635  # radius of a 5-inch propeller
    assert watched.look() == [(Note.TIP_LOUD, 3)]
    watched.x[X.ROTORS] = 40001.0 * 2.0 * np.pi / 60.0
    assert watched.look() == [(Note.TIP_LOUD, 3), (Note.PROPELLER_FAST, 0)]


def test_a_winding_beyond_its_limit_ends_the_flight() -> None:
    watched = Watched(winding_limit_C=130.0)
    watched.held.winding_temperature[1] = 273.15 + 129.9
    watched.look()
    assert int(watched.carried.status) == Status.FLYING
    watched.held.winding_temperature[1] = 273.15 + 130.1
    watched.look()
    assert (int(watched.carried.status), float(watched.carried.value)) == (Status.OVERHEATED, 1.0)


@pytest.mark.parametrize(
    ("kind", "words"),
    [
        (Note.CASE_WARM, "rear right motor's case passes 65 deg C"),
        (Note.CASE_HOT, "rear right motor's case passes 80 deg C: land and let it cool"),
        (Note.MAGNETS_HOT, "rear right motor's magnets pass 100 deg C and may lose strength"),
        (Note.TIP_LOUD, "rear right propeller's tips pass Mach 0.6"),
        (Note.PROPELLER_FAST, "rear right propeller passes its maker's 40000 rpm"),
    ],
)
def test_notes_in_words(kind: Note, words: str) -> None:
    event = event_of(1.5, int(kind), 1.0, Watched().craft)
    assert (event.t_s, event.kind, event.text) == (1.5, "drive", words)
