"""The loop's notes as events: what happened, in words."""

from __future__ import annotations

from controllers.signals import LinkLoss, Mode
from quadsim.config import Craft
from quadsim.config.resolve_drive import TIP_MACH
from quadsim.dynamics.state import ROTOR_NAMES
from quadsim.simulation.carried import Note
from quadsim.simulation.run import Event
from quadsim.simulation.watch_drive import CASE_HOT, CASE_WARM
from quadsim.units import CELSIUS

PLAIN: dict[int, tuple[str, str]] = {
    Note.LIFT_OFF: ("ground", "lift-off"),
    Note.LOAD_LIFT_OFF: ("payload", "load off the ground"),
    Note.LINE_TAUT: ("payload", "line taut"),
    Note.LINE_SLACK: ("payload", "line slack"),
    Note.VORTEX_RING: ("air", "meets its own wake (vortex-ring state)"),
    Note.LINK_LOST: ("link", "link lost"),
    Note.LINK_BACK: ("link", "link good again"),
    Note.MOTORS_OFF: ("motors", "motors off"),
    Note.MOTORS_ON: ("motors", "motors armed again"),
}
"""Kind and text of the events of notes without a figure."""

LINK_ACTS = {
    LinkLoss.NONE: "control given back",
    LinkLoss.CUT: "link loss acts: motors cut",
    LinkLoss.LEVEL_DESCENT: "link loss acts: level descent",
    LinkLoss.HOMING: "link loss acts: homing",
}
BATTERY_ALERT = ("low battery: left to the pilot", "low battery: warned", "low battery: acts")
SAFETY_MODE = {Mode.HOMING: "flies home", Mode.LANDING: "lands"}


def _safety_event(t: float, kind: int, value: float, craft: Craft) -> Event | None:
    """The event of what a lost link or a low battery brings about."""
    number = int(value)
    if kind == Note.LINK_ACTS:
        text = LINK_ACTS[LinkLoss(number)]
        if number == LinkLoss.LEVEL_DESCENT and craft.radio.link_loss == "homing":
            text += ", place or heading unknown"
        return Event(t, "link", text)
    if kind == Note.BATTERY_ALERT:
        return Event(t, "battery", BATTERY_ALERT[number])
    if kind == Note.SAFETY_MODE:
        name = Mode(number).name.lower().replace("_", " ")
        return Event(t, "safety", SAFETY_MODE.get(Mode(number), name))
    return None


def event_of(t: float, kind: int, value: float, craft: Craft, energy: float = 0.0) -> Event:
    """The event of a note; `value` is a sink rate [m/s] or the number of a rotor, `energy` that of a touch-down [J]."""
    if kind in PLAIN:
        return Event(t, *PLAIN[kind])
    if (safety := _safety_event(t, kind, value, craft)) is not None:
        return safety
    if kind == Note.TOUCH_DOWN:
        return Event(t, "ground", f"touch-down at {value:.2f} m/s, {energy:.2g} J", value, energy)
    if kind == Note.LOAD_TOUCH_DOWN:
        return Event(t, "payload", f"load touches down at {value:.2f} m/s", value)
    place = ROTOR_NAMES[int(value)].replace("_", " ")
    match kind:
        case Note.CASE_WARM:
            text = f"{place} motor's case passes {CASE_WARM - CELSIUS:g} deg C"
        case Note.CASE_HOT:
            text = f"{place} motor's case passes {CASE_HOT - CELSIUS:g} deg C: land and let it cool"
        case Note.MAGNETS_HOT:
            text = f"{place} motor's magnets pass {float(craft.motor.magnet_limit_C):g} deg C and may lose strength"
        case Note.TIP_LOUD:
            text = f"{place} propeller's tips pass Mach {TIP_MACH:g}"
        case _:
            text = f"{place} propeller passes its maker's {float(craft.propeller.max_rpm or 0.0):g} rpm"
    return Event(t, "drive", text)
