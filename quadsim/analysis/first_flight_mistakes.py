"""Wiring mistakes before a first flight: what the hand check shows of each, and how the first take-off with it would end."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from quadsim.analysis.hand_check import (
    MOTIONS,
    SETTLE_S,
    Answer,
    HandBench,
    RunAway,
    answer,
    answers,
    run_away,
)
from quadsim.config import Craft
from quadsim.config.flight_schema import FaultSection, FlightFile
from quadsim.dynamics.state import ROTOR_NAMES
from quadsim.simulation.carried import Status
from quadsim.simulation.fly import sentence
from quadsim.simulation.session import Session, fly_through

FAULTS: tuple[tuple[str, dict[str, Any]], ...] = (
    (
        "front right and rear right swapped",
        {"kind": "rotors_swapped", "rotors": ("front_right", "rear_right")},
    ),
    (
        "front right and front left swapped",
        {"kind": "rotors_swapped", "rotors": ("front_right", "front_left")},
    ),
    ("front right and rear left swapped", {"kind": "rotors_swapped", "rotors": ("front_right", "rear_left")}),
    ("front right motor turns the wrong way", {"kind": "spin_reversed", "rotor": "front_right"}),
    ("front right propeller upside down", {"kind": "propeller_upside_down", "rotor": "front_right"}),
    ("sensor turned by 90 deg", {"kind": "sensor_turned", "turned_deg": 90.0}),
    ("sensor turned by 180 deg", {"kind": "sensor_turned", "turned_deg": 180.0}),
    ("gyro's roll axis reversed", {"kind": "gyro_axis_reversed", "axis": "roll"}),
    ("gyro's pitch axis reversed", {"kind": "gyro_axis_reversed", "axis": "pitch"}),
    ("gyro's yaw axis reversed", {"kind": "gyro_axis_reversed", "axis": "yaw"}),
)
"""One of each kind: neighbours on a side, in front, across; by symmetry the others go alike."""

LOST_TILT_DEG, LOST_RATE_DEG_S = 60.0, 360.0
"""Beyond these nobody saves a first hover; assumed."""

UNSEEN = ("spin_reversed", "propeller_upside_down")
"""Mistakes behind the motor command: the commands answer rightly, so eyes must find them."""

TESTED = (MOTIONS[0], MOTIONS[2], MOTIONS[4])
"""One motion per axis tells as much of a mistake as both."""

TAKE_OFF: dict[str, Any] = {
    "title": "first take-off",
    "duration_s": 8.0,
    "at": [{"t_s": 0.5, "height_m": 1.5, "ramp_s": 1.5}],
}


@dataclass(frozen=True)
class Wrong:
    """Motors that answer a motion otherwise than they should."""

    motion: str
    rotors: tuple[str, ...]
    should: tuple[int, ...]
    does: tuple[int, ...]


@dataclass(frozen=True)
class Outcome:
    """How a first take-off went; `after_lift_off_s` is from lift-off to out of hand, None if either did not happen."""

    status: str
    words: str
    lift_off_s: float | None
    lost_s: float | None
    """When it was out of hand [s]: tilted beyond 60 deg, spinning faster than 360 deg/s, or ended; None if it never was."""
    max_tilt_deg: float
    max_rate_deg_s: float
    after_lift_off_s: float | None


@dataclass(frozen=True)
class Mistake:
    """One mistake with its symptoms in the hand check and the end of the take-off."""

    name: str
    kind: str
    wrong: tuple[Wrong, ...]
    outcome: Outcome


def mistakes(
    craft: Craft, healthy: list[Answer], progress: Callable[[str], None] | None = None
) -> list[Mistake]:
    """Every mistake of `FAULTS` on this craft, compared with the `healthy` answers."""
    right = {a.motion: a for a in healthy if a.mode == "attitude_command"}
    found = []
    for name, stated in FAULTS:
        if progress:
            progress(name)
        fault = FaultSection.model_validate(stated)
        pairs = [(right[m.words], answer(craft, m, "attitude_command", fault)) for m in TESTED]
        wrong = tuple(_wrong(should, does) for should, does in pairs if should.signs != does.signs)
        found.append(Mistake(name, fault.kind, wrong, take_off(craft, stated)))
    return found


def _wrong(should: Answer, does: Answer) -> Wrong:
    odd = [k for k in range(4) if should.signs[k] != does.signs[k]]
    return Wrong(
        should.motion,
        tuple(ROTOR_NAMES[k] for k in odd),
        tuple(should.signs[k] for k in odd),
        tuple(does.signs[k] for k in odd),
    )


def take_off(craft: Craft, fault: dict[str, Any] | None = None) -> Outcome:
    """Fly the take-off in still air, with the fault from the first moment on."""
    actions = [*TAKE_OFF["at"], *([{"t_s": 0.0, "fault": fault}] if fault else [])]
    flight = FlightFile.model_validate({**TAKE_OFF, "craft": craft.name, "at": actions})
    session = Session(craft, flight)
    fly_through(session)
    lifted = next((event.t_s for event in session.events if event.text == "lift-off"), None)
    status = Status(int(session.carried.status))
    log = session.truth[: session.rows]
    across = log["attitude"][:, 1] ** 2 + log["attitude"][:, 2] ** 2
    tilt = np.degrees(np.arccos(np.clip(1.0 - 2.0 * across, -1.0, 1.0)))
    rate = np.degrees(np.linalg.norm(log["rates"], axis=1))
    out = np.flatnonzero((tilt > LOST_TILT_DEG) | (rate > LOST_RATE_DEG_S))
    lost = float(log["t"][out[0]]) if out.size else None if status == Status.DONE else session.t_s
    return Outcome(
        status=status.name.lower(),
        words=sentence(session),
        lift_off_s=lifted,
        lost_s=lost,
        max_tilt_deg=float(tilt.max()),
        max_rate_deg_s=float(rate.max()),
        after_lift_off_s=None if lost is None or lifted is None else max(lost - lifted, 0.0),
    )


@dataclass(frozen=True)
class HandCheck:
    """The whole card: sense of rotation (+1 clockwise from above), motor command when level, answers, mistakes."""

    craft: str
    spins: tuple[int, ...]
    stick: float
    level_pct: float
    answers: tuple[Answer, ...]
    run_away: RunAway
    as_built: Outcome
    mistakes: tuple[Mistake, ...]


def hand_check(craft: Craft, progress: Callable[[str], None] | None = None) -> HandCheck:
    """Check a craft by hand: tip it, turn it, hold it, and take off once with each mistake."""
    bench = HandBench(craft, "attitude_command")
    level = bench.run(SETTLE_S, None)[-1]
    right = answers(craft)
    return HandCheck(
        craft=craft.name,
        spins=tuple(int(s) for s in bench.session.plant.spin),
        stick=float(bench.session.signals.stick[3]),
        level_pct=100.0 * float(level.mean()),
        answers=tuple(right),
        run_away=run_away(craft),
        as_built=take_off(craft),
        mistakes=tuple(mistakes(craft, right, progress)),
    )
