"""The sentences of a gains card: steps, cautions, what to look for and when to stop."""

from __future__ import annotations

from quadsim.analysis.gain_conversion import HandCheck
from quadsim.analysis.gains_card import GainsCard
from quadsim.analysis.gains_ladder import LoopLook, Rung
from quadsim.analysis.loop_edges import Crossover
from quadsim.analysis.margin_survey import GAIN_DB, PHASE_DEG

NO_CLEARANCE = "A simulated pass is not a clearance to fly."

CAUTIONS = (
    "Keep people and animals away, and out of the line of flight; keep to the local rules. You are in charge, not this card.",
    "Propellers off checks signs only: nothing turns the craft back, so motors may run away with the integrator. Disarm then.",
    "A taut tether can flip the craft. If any: a slack line from below the centre of mass, never within reach of a propeller.",
    "Propellers off for all work at the bench. Pack in last, out first; never a puffed, hot or dented one.",
)
"""Common practice, no source."""

STEPS = (
    "Propellers off: signs by hand (quadsim inspect CRAFT --hand-check){check}.",
    "Propellers on, outdoors, little wind. {begin} Arm at a distance, lift off briskly, stay low.",
    "Hover 30 s, hands off as far as you can. Land, disarm, disconnect the pack, feel the motors: warm is right, too hot "
    "to touch for 3 s ends the day.",
    "Read the log. Nothing from the table? Fly the same set with small, quick stick movements in roll, pitch, yaw, then climb.",
    "Next set, the same way. One set a flight; tick it off. Stay within what each set is good for.",
    "Stop and go back a set when: the craft buzzes or wallows; more than three swings follow a quick stick; a peak in the "
    "spectrum grows from set to set at a frequency of the table; a motor is hotter than before.",
)  # fmt: skip
"""Common practice, no source; three swings and three seconds are assumed."""

NONE_FIT = "No set is fit to begin with: do not fly, mend the gains first. Then:"
PLOTS = {
    "roll, pitch": "rate wanted and flown, and its spectrum; right against left, front against rear motors",
    "yaw": "rate wanted and flown, and its spectrum; one diagonal's motors against the other's",
    "height": "height and climb rate wanted and flown; mean of the motor commands",
}
"""The log plot in which each loop shows itself."""

SCALED_WORDS = (
    "Scaled together: P, I, D of the rates, P of attitude, P and I of height and climb. Not scaled: filters, limits, "
    "feed-forward; nor the place, not held on the ladder."
)
PHYSICAL_WORDS = (
    "Physical: rates ask for rad/s2 per rad/s (P), per rad (I), per rad/s2 (D); attitude for rad/s per rad; height for m/s "
    "per m; climb for m/s2 per m/s (P), per m (I)."
)
SIGNS = ("gain too high", "gain too low", "I too high")
"""Heads of the three columns of `signs_of`."""
SIGNS_WORDS = "Oscillations in hover: frequency, and the factor on all gains of the loop, or on I alone, that would bring them."
ROOM = "Blue, and the numbers: how far the gain may go, the least over {scope}; grey: in hover. Band and red: {practice} {signs}"
PRACTICE = f"practice, {GAIN_DB:g} dB up and down, {PHASE_DEG:g} deg (MIL-F-9490D, 1975, sec. 3.1.3.6)."

FULL = ", full"
"""Ending of a condition's words for a full pack, left out where every condition has it."""
_SOUNDS = ((30.0, "hum"), (10.0, "buzz"), (5.0, "shake"), (2.0, "rocking"), (0.0, "wallow"))
"""From this frequency on [Hz], how an oscillation looks or sounds; assumed."""


def sound_of(frequency_Hz: float) -> str:
    """How an oscillation of a frequency looks or sounds."""
    return next(words for least, words in _SOUNDS if frequency_Hz >= least)


def sign_words(one: Crossover | None) -> str:
    """`44 Hz hum, x 12`: frequency, how it looks, and the factor on the gain that would bring it."""
    if one is None:
        return "-"
    factor = 10.0 ** (one.gain_dB / 20.0)
    return f"{_short_number(one.frequency_Hz)} Hz {sound_of(one.frequency_Hz)}, x {_short_number(factor)}"


def signs_of(look: LoopLook) -> tuple[str, str, str]:
    """What to look for in a loop: with too much gain, too little, too much integral."""
    return sign_words(look.buzz), sign_words(look.wallow), sign_words(look.windup)


def _short_number(value: float) -> str:
    return f"{value:.0f}" if value >= 10.0 else f"{value:#.2g}"


def set_name(rung: Rung) -> str:
    return f"{100.0 * rung.share:.0f} %"


def tag_of(card: GainsCard, rung: Rung) -> str:
    """A set in a word; capitals call for care."""
    if not rung.hovers or not card.flown[card.rungs.index(rung)].ok:
        return "DO NOT FLY"
    if rung.unstable:
        return "UNSTABLE"
    if rung.low_gain_short:
        return "LOW GAIN"
    return "TIGHT" if rung.flags else "clear"


def good_for(card: GainsCard, rung: Rung) -> str:
    """What a set is good for, and where it is not."""
    flown = card.flown[card.rungs.index(rung)]
    if not rung.hovers:
        return "UNSTABLE in hover: do not fly"
    if not flown.ok:
        return f"do not fly: in the simulated gust {flown.status_text}, tilted {flown.max_tilt_deg:.0f} deg"
    low = _short(rung, (("gain_down_dB", GAIN_DB, "dB"),))
    unstable = [where.removesuffix(FULL) for where in rung.unstable]
    high = _short(rung, (("gain_up_dB", GAIN_DB, "dB"), ("phase_deg", PHASE_DEG, "deg")))
    lines = [f"UNSTABLE at {where}: keep away from it" for where in unstable]
    lines += [
        f"wallows at {where}: {', '.join(loops)}" for where, loops in low.items() if where not in unstable
    ]
    said = (*low, *unstable)
    lines += [
        f"near oscillation at {where}: {', '.join(loops)}"
        for where, loops in high.items()
        if where not in said
    ]
    if rung.hover_ok:
        return "hover and gentle moves; " + "; ".join(lines) if lines else "everything looked at"
    return "short of the practice even in hover; " + "; ".join(lines)


def _short(rung: Rung, asked: tuple[tuple[str, float, str], ...]) -> dict[str, list[str]]:
    """By condition, the loops that are short there and by what: `roll 0.9 dB`."""
    found: dict[str, list[str]] = {}
    for name, least, unit in asked:
        for loop, look in rung.loops.items():
            value, where = getattr(look, name)
            if value < least:
                digits = 0 if unit == "deg" else 1
                found.setdefault(where.words.removesuffix(FULL), []).append(
                    f"{loop} {value:.{digits}f} {unit}"
                )
    return found


def steps_of(card: GainsCard) -> list[str]:
    """The steps with this craft's names and numbers."""
    begin = f"Load the set to begin with, {set_name(card.begin)}." if card.begin else NONE_FIT
    check = "; then the check by hand below" if card.checks else ""
    craft = card.craft.path.name if card.craft.path else card.craft.name
    return [line.format(check=check, begin=begin).replace("CRAFT", craft) for line in STEPS]


def room_words(card: GainsCard) -> str:
    """What the bars and numbers of the loops are."""
    return ROOM.format(scope=scope_of(card), practice=PRACTICE, signs=SIGNS_WORDS)


def check_words(check: HandCheck) -> str:
    """How to do a check, without its number."""
    faster = " and ".join(name.replace("_", " ") for name in check.faster)
    return f"{check.axis}: turned {check.turned} at a steady {check.rate_deg_s:g} deg/s, {faster} faster"


def check_head(check: HandCheck) -> str:
    """What all checks have in common."""
    return (
        f"Propellers OFF, all I = 0, sticks centred in rate command, throttle held at {100.0 * check.throttle_fraction:.0f} %, "
        f"pack at {check.voltage:.1f} V. Read the difference between the two pairs of motor commands, against "
        "held still, in % of the command range."
    )


def scope_of(card: GainsCard) -> str:
    """Where the sets were looked at."""
    return "; ".join(one.words for one in card.conditions)


def log_words(card: GainsCard) -> str:
    """What the log must be, and what in it is not the gains."""
    return (
        f"Log rates and motor commands at {card.log_Hz:.0f} Hz or more. A line at {card.rotor_Hz:.0f} Hz and its multiples is "
        "the rotors in hover, not the gains. An oscillation of the table at far less gain than it names: look for a loose part, "
        "a damaged propeller or a wrong filter instead."
    )
