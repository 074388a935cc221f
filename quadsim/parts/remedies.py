"""Why each question is asked, and what can be done about it: changes to the parts with what else they move.

A Remedy says which quantities of the craft it moves and which way; a finding that is not kept says which way its craft has to
go (`demands`). quadsim.parts.advice picks remedies that do not work against each other.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from quadsim.parts.finding import Finding

Moves = Mapping[str, int]
"""Quantity -> +1 up, -1 down: thrust and current at full throttle, speed of the rotors, mass, and the parts themselves."""


@dataclass(frozen=True)
class Remedy:
    """One change in words ({limit}, {value} and {percent}, how far it is from the limit) with what it moves.

    up_to : greatest distance from the limit that it can bridge [%]
    """

    words: str
    moves: Moves = field(default_factory=dict)
    up_to: float = 1e9


def _moves(**quantities: int) -> dict[str, int]:
    return quantities


LARGER_PROPELLER = _moves(propeller=1, thrust=1, current=1)
SMALLER_PROPELLER = _moves(propeller=-1, thrust=-1, current=-1)
LESS_PITCH = _moves(pitch=-1, thrust=-1, current=-1, speed=1)
LOWER_KV = _moves(kv=-1, thrust=-1, current=-1, speed=-1)
FEWER_CELLS = _moves(cells=-1, thrust=-1, current=-1, speed=-1)
MORE_CELLS = _moves(cells=1, thrust=1, current=1, speed=1)
LESS_MASS = _moves(mass=-1)
ANEW = Remedy(
    "choose motor, propeller and pack anew, together: every single change here spoils something else"
)
"""What is left when nothing else fits; it moves nothing by itself."""

_MORE_LIFT = (
    Remedy("take {percent:.0f} % of the mass off", LESS_MASS, up_to=25.0),
    Remedy("a larger propeller", LARGER_PROPELLER, up_to=60.0),
    Remedy("one more cell, if motor and ESC stand its voltage", MORE_CELLS),
)
_SAME_RESERVE = Remedy("what thrust to weight asks for")
"""A craft that does not lift itself, or hovers too high, lacks the same reserve, and less of it: one advice for all three."""
_LESS_LIFT = (
    Remedy("a motor of lower Kv", LOWER_KV),
    Remedy("one cell fewer", FEWER_CELLS),
    Remedy("a smaller propeller", SMALLER_PROPELLER),
)
_LESS_LOAD = (
    Remedy("a propeller of less pitch", LESS_PITCH),
    Remedy("a smaller propeller", SMALLER_PROPELLER),
    Remedy("a motor of lower Kv", LOWER_KV),
)
_SLOWER = (Remedy("a motor of lower Kv", LOWER_KV), Remedy("one cell fewer", FEWER_CELLS))

REMEDIES: dict[str, tuple[Remedy, ...]] = {
    "thrust_to_weight": _MORE_LIFT,
    "lifts_itself": (_SAME_RESERVE,),
    "hover_throttle": (_SAME_RESERVE,),
    "hover_throttle too low": _LESS_LIFT,
    "control_axes": (
        Remedy("place the rotors around the middle, two turning each way, like ones on one diagonal"),
    ),
    "disc_gap": (
        Remedy("longer arms: {short:.1f} mm more between neighbouring hubs", _moves(arms=1)),
        Remedy("a smaller propeller", SMALLER_PROPELLER),
    ),
    "frame_gap": (
        Remedy("move or trim the piece, or raise the propellers, by {short:.1f} mm"),
        Remedy("a smaller propeller", SMALLER_PROPELLER),
    ),
    "motor_current": (Remedy("a motor that stands {value:.0f} A or more"), *_LESS_LOAD),
    "esc_current": (Remedy("an ESC of {value:.0f} A or more a channel"), *_LESS_LOAD),
    "event_current": (Remedy("motor and ESC that stand {value:.0f} A or more"), *_LESS_LOAD),
    "event_winding": (Remedy("a larger motor of the same Kv"), *_LESS_LOAD),
    "motor_case": (Remedy("a larger motor of the same Kv, or more air to its case"), *_LESS_LOAD),
    "pack_current": (
        Remedy("measure what this pack gives (battery.current_limit_A), or take one rated for more"),
        *_LESS_LOAD,
    ),
    "cell_voltage": (
        Remedy("a pack of more capacity", _moves(capacity=1, mass=1)),
        Remedy("a fresh pack of lower resistance, shorter or thicker leads"),
    ),
    "esc_voltage": (Remedy("an ESC for {value:.1f} V or more"), Remedy("one cell fewer", FEWER_CELLS)),
    "connector": (Remedy("a plug that carries {value:.0f} A or more"),),
    "lead_wire": (Remedy("thicker leads: {value:.0f} A want {area:.1f} mm2 or more"),),
    "tip_mach": (*_SLOWER, Remedy("a smaller propeller", SMALLER_PROPELLER)),
    "propeller_speed": (Remedy("a propeller allowed to {value:.0f} rpm or more"), *_SLOWER),
    "motor_speed": (Remedy("a motor allowed to {value:.0f} rpm or more"), *_SLOWER),
    "centre_of_mass": (Remedy("move the pack {shift} until the craft balances on the rotors' middle"),),
    "mass_list": (Remedy("weigh each part and list what is missing; fly on the scales' figure meanwhile"),),
    "price": (Remedy("{over:.0f} EUR less, or a larger budget"),),
    "radio_channels": (Remedy("transmitter and receiver with {limit:.0f} channels or more"),),
    "loop_rate": (Remedy("run rate loop and ESC {times:.1f} times as often or more"),),
    "esc_response": (Remedy("measure the response again; check rotor inertia, Kv and resistance"),),
    "flexible_mode": (
        Remedy("stiffen arms or mount, or lower the gains; `quadsim margins` shows what the mode costs"),
    ),
}
"""By name of a finding, the best first; ANEW comes after the last."""

_LIFT, _DRAW, _SPIN = _moves(thrust=1, mass=-1), _moves(current=-1), _moves(speed=-1)
DEMANDS: dict[str, Moves] = {
    "lifts_itself": _LIFT,
    "thrust_to_weight": _LIFT,
    "hover_throttle": _LIFT,
    "hover_throttle too low": _moves(thrust=-1),
    "disc_gap": _moves(propeller=-1, arms=1),
    "frame_gap": _moves(propeller=-1),
    **dict.fromkeys(("motor_current", "esc_current", "event_current", "event_winding", "motor_case"), _DRAW),
    **dict.fromkeys(("pack_current", "cell_voltage", "connector", "lead_wire"), _DRAW),
    "esc_voltage": _moves(cells=-1),
    "tip_mach": _moves(speed=-1, propeller=-1),
    **dict.fromkeys(("propeller_speed", "motor_speed"), _SPIN),
}
"""Which way a craft that does not keep a finding has to go. A remedy of any finding that moves it the other way is not given."""

WHY: dict[str, str] = {
    "lifts_itself": "it stays on the ground",
    "thrust_to_weight": "what is left over the weight climbs, brakes, turns and rights it after a gust",
    "hover_throttle": "high, nothing is left to climb or to right itself, and less with every minute; low, a small step of "
    "the throttle is a jump",
    "control_axes": "a craft that cannot turn about an axis falls over",
    "disc_gap": "discs that overlap rob each other of thrust and shake; blades that meet break",
    "frame_gap": "a blade bends up and down under load and strikes what is near",
    "motor_current": "copper heat grows with its square; enamel and magnets fail",
    "esc_current": "its switches fail in seconds, and a rotor stops in flight",
    "event_current": "what lasts for minutes must stay inside the ratings with no burst to excuse it",
    "event_winding": "hot enamel fails, and with it the rotor",
    "motor_case": "what is too hot to touch after hover is too hot inside after an event",
    "pack_current": "cells that are overdrawn heat, swell and age, and may burn",
    "cell_voltage": "the flight ends at the cut-off, however full the pack",
    "esc_voltage": "its switches break down at once, smoke at the first plug-in",
    "connector": "a hot plug desolders itself, in flight",
    "lead_wire": "hot leads lose voltage, and their insulation",
    "tip_mach": "near the speed of sound noise and losses grow fast",
    "propeller_speed": "beyond its maker's limit a propeller may burst",
    "motor_speed": "beyond it magnets fly off and bearings fail",
    "centre_of_mass": "the loaded rotors run out first, and the reserve of all four with them",
    "mass_list": "mass that is not listed sits at no known place: balance and inertia are guesses",
    "price": "the contest, or the purse, sets it",
    "radio_channels": "a function without a channel cannot be called in the air, arming and release least of all",
    "loop_rate": "between two runs the motors go on unwatched, and the delay eats phase margin",
    "esc_response": "nothing turns faster than its inertia lets it: one of the figures is wrong",
    "flexible_mode": "a loop that still acts where the frame rings makes it ring more",
}
"""By name of a finding."""


def case_of(finding: Finding) -> str:
    """Name under which REMEDIES and DEMANDS know a finding: hover throttle is a range."""
    low = finding.name == "hover_throttle" and finding.bound == "at least"
    return f"{finding.name} too low" if low else finding.name
