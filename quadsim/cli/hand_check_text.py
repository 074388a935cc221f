"""The card to hold before the first arming: what the motors must do when the craft is tipped by hand."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING, Any

from quadsim.cli.out import say, tell
from quadsim.cli.table import Cell, Column, table
from quadsim.dynamics.state import ROTOR_NAMES

if TYPE_CHECKING:
    from quadsim.analysis.first_flight_mistakes import HandCheck, Mistake, Outcome
    from quadsim.analysis.hand_check import Answer
    from quadsim.config import Craft

CAUTIONS = (
    "Propellers off for every step below. A motor that starts by surprise cuts to the bone; the simulation does not hold it.",
    "Hold the craft by its middle, cables and sleeves away from the motors; plug the pack last, unplug it first.",
    "A pack that is puffed, hot or dented is not plugged in. Charge and store it as its maker says.",
    "A pass here and in the simulator is no clearance to fly: the first hover is outdoors, away from people, by the local rules.",
)

STANDS_PCT = 1.0
"""Drift of a motor command in 10 s that counts as standing [% of full]; assumed."""

_DOES = {1: "up", 0: "-", -1: "down"}
_WORDS = {1: "speeds up", 0: "stays", -1: "slows down"}


def make_hand_check(craft: Craft) -> HandCheck:
    """The hand check, with a line on stderr for each take-off that is flown, where somebody is looking."""
    from quadsim.analysis.first_flight_mistakes import hand_check

    return hand_check(craft, _tell_progress if sys.stderr.isatty() else None)


def _tell_progress(name: str) -> None:
    tell(f"flying a first take-off: {name}")


def print_hand_check(checked: HandCheck) -> None:
    """Print the card."""
    say()
    say(f"{checked.craft}: hand check before the first arming, propellers off", "title")
    for line in CAUTIONS:
        say(f"  {line}", "caution")
    throttle = (
        f"throttle stick at {100.0 * checked.stick:.0f} %, which is {checked.level_pct:.0f} % at the motors"
    )
    say()
    say(f"Armed, {throttle}. Level, then as said; nothing else moves. Change of each motor's command:")
    for mode in ("attitude_command", "rate_command"):
        say()
        say(mode.replace("_", " "), "title")
        say(_answers_table([a for a in checked.answers if a.mode == mode]))
    say()
    _say_spins(checked)
    _say_run_away(checked)
    say()
    say("If a motor answers wrongly, and how the first take-off would go (simulated, still air)", "title")
    say(_mistakes_table(checked))
    say("  out of hand: tilted beyond 60 deg, turning faster than 360 deg/s, or down; assumed bounds", "soft")
    say()


def _answers_table(answers: list[Answer]) -> str:
    columns = (
        Column("hand", words=True),
        Column("read", words=True),
        *(Column(name.replace("_", " ")) for name in ROTOR_NAMES),
    )
    rows: list[list[str | Cell]] = []
    for one in answers:
        marks = [_mark(sign, change) for sign, change in zip(one.signs, one.change_pct, strict=True)]
        rows.append([_seen(one.motion), one.while_, *marks])
    return table(columns, rows, indent=2)


def _seen(motion: str) -> str:
    return f"{motion}, from above" if "clockwise" in motion else motion


def _mark(sign: int, change_pct: float) -> str:
    return f"{_DOES[sign]} {change_pct:+.1f} %" if sign else f"{change_pct:+.1f} %"


def _say_spins(checked: HandCheck) -> None:
    for sense in (1, -1):
        places = [n.replace("_", " ") for n, s in zip(ROTOR_NAMES, checked.spins, strict=True) if s == sense]
        word = "clockwise" if sense == 1 else "counter-clockwise"
        say(
            f"Seen from above {' and '.join(places)} turn {word}: look at each shaft, or touch it with a slip of paper."
        )


def _say_run_away(checked: HandCheck) -> None:
    away = checked.run_away
    stop = "their stop" if away.full else "where the integrators are limited"
    say(
        f"Motors that run away on the bench are normal while integrators are on: nose held down {away.tilt_deg:g} deg, the front "
        f"motors go from {away.level_pct:.0f} to {away.ends_pct:.0f} %, {stop}, in {away.seconds:.1f} s."
    )
    waits = away.ground_drift_pct < STANDS_PCT
    ground = "its integrators wait for lift-off" if waits else "its integrators do NOT wait for lift-off"
    say(
        f"This craft as it is: {ground}; on the ground the same motors end at {away.ground_pct:.0f} %, "
        f"{away.ground_drift_pct:.1f} % of drift in 10 s.",
        "" if waits else "caution",
    )


def _mistakes_table(checked: HandCheck) -> str:
    columns = (
        Column("mistake", words=True),
        Column("in the hand check", words=True),
        Column("take-off", words=True),
    )
    rows: list[list[str | Cell]] = [
        ["as built", Cell("all answer rightly", "good"), _take_off(checked.as_built)]
    ]
    for mistake in checked.mistakes:
        symptoms = symptoms_of(mistake)
        rows.append([mistake.name, symptoms[0], _take_off(mistake.outcome)])
        rows += [["", one, ""] for one in symptoms[1:]]
    return table(columns, rows, indent=2)


def symptoms_of(mistake: Mistake) -> list[str]:
    """What a builder sees of a mistake, a line per motion."""
    if not mistake.wrong:
        if mistake.kind == "spin_reversed":
            return ["commands are right: its shaft turns against the sense above"]
        if mistake.kind == "propeller_upside_down":
            return ["not seen without propellers: the curved side of a blade faces up"]
        return ["nothing to be seen"]
    lines = []
    for wrong in mistake.wrong:
        if len(wrong.rotors) == len(ROTOR_NAMES):
            lines.append(f"{wrong.motion}: all four answer the wrong way round")
            continue
        places = [
            f"{name.replace('_', ' ')} {_WORDS[does]}"
            for name, does in zip(wrong.rotors, wrong.does, strict=True)
        ]
        lines.append(f"{wrong.motion}: {', '.join(places)}")
    return lines


def _take_off(outcome: Outcome) -> str:
    if outcome.lost_s is None:
        return f"flies, tilted by up to {outcome.max_tilt_deg:.0f} deg"
    end = outcome.status.replace("_", " ")
    if outcome.status == "done":
        end = f"tumbles, {outcome.max_tilt_deg:.0f} deg" if outcome.max_tilt_deg > 60.0 else "spins"
        end += f", {outcome.max_rate_deg_s:.0f} deg/s"
    if outcome.after_lift_off_s is None:
        return f"{end} before it lifts off"
    return f"{end}: out of hand {outcome.after_lift_off_s:.2f} s after lift-off"


def hand_check_document(checked: HandCheck) -> dict[str, Any]:
    """What `--json` prints under `hand_check`; changes per rotor in % of full command, +1 speeds up, -1 slows down."""
    return {
        "cautions": list(CAUTIONS),
        "rotors": list(ROTOR_NAMES),
        "spins": list(checked.spins),
        "stick_throttle": checked.stick,
        "level_pct": checked.level_pct,
        "answers": [
            {
                "motion": a.motion,
                "mode": a.mode,
                "read": a.while_,
                "change_pct": a.change_pct,
                "signs": a.signs,
            }
            for a in checked.answers
        ],
        "run_away": vars(checked.run_away),
        "as_built": vars(checked.as_built),
        "mistakes": [
            {
                "name": m.name,
                "kind": m.kind,
                "wrong": [vars(w) for w in m.wrong],
                "symptoms": symptoms_of(m),
                "take_off": vars(m.outcome),
            }
            for m in checked.mistakes
        ],
    }
