"""From a choice of parts to a craft file, ready to fly: every part gets its place on the frame."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from pydantic import BaseModel

from quadsim.config import Craft
from quadsim.config.airframe_estimate import BLUFF, SHELTER
from quadsim.config.avionics_schema import FlightController, Radio
from quadsim.config.contest_schema import Contest
from quadsim.config.craft_loader import parse_craft
from quadsim.config.craft_solids import SHAFT_GAP_MM
from quadsim.config.drive_schema import Battery, Esc, Motor, Propeller
from quadsim.config.parts_schema import Catalogue, CatalogueBattery, CatalogueFrame, CatalogueMotor
from quadsim.config.quantity import Uncertain
from quadsim.parts.choice import Event, Fitted, Shared
from quadsim.parts.gains import by_slot

Vector = tuple[float, float, float]
CRAFT_EVENT = {"slalom": "slalom", "lift": "lift", "dash": "speed"}
"""`event` of a craft file."""
UNLISTED_PCT = 8.0
"""Wire, screws, straps, plugs over the listed mass [%]; common practice, no source; ± 4."""
CAMERA_MM, RIG_MM = (22.0, 20.0, 20.0), (44.0, 30.0, 24.0)
"""Sizes of what is carried, and of the load rig [mm]; assumed."""


def build_craft(
    shared: Shared, fitted: Fitted, event: Event, catalogue: Catalogue, contest: Contest
) -> Craft:
    """The craft of one event, checked like any craft file."""
    return parse_craft(craft_text(shared, fitted, event, catalogue, contest), f"{event} craft of a choice")


def craft_text(
    shared: Shared,
    fitted: Fitted,
    event: Event,
    catalogue: Catalogue,
    contest: Contest,
    gains: Mapping[str, float] | None = None,
) -> str:
    """That craft's file as TOML text; gains : by "slot.gain", as the event was flown with them."""
    frame, motor = shared.frame, shared.motor
    place = _places(frame, shared, fitted)
    single = shared.esc.arrangement == "one per motor"
    propeller = fitted.propeller
    sections: dict[str, Mapping[str, Any]] = {
        "mass": {"unlisted_pct": Uncertain(UNLISTED_PCT, 4.0)},
        "frame": {
            "layout": "x",
            "wheelbase_mm": frame.wheelbase_mm,
            "rotors_above_mm": frame.arm_mm[2] / 2.0 + motor.height_mm + SHAFT_GAP_MM,
            "spin": {"front_right": "ccw", "rear_right": "cw", "rear_left": "ccw", "front_left": "cw"},
        },
        "drag": {"area_cm2": drag_areas_cm2(frame, motor, fitted.battery)},
        "motor": _keys(motor, Motor),
        "propeller": _keys(propeller, Propeller) | {"price": round(propeller.price / propeller.pieces, 4)},
        "esc": _keys(shared.esc, Esc) | {"at_mm": place["single" if single else "esc"]},
        "battery": _keys(fitted.battery, Battery) | {"at_mm": place["battery"]},
        "flight_controller": _keys(shared.flight_controller, FlightController)
        | {"at_mm": place["controller"]},
        "radio": _keys(shared.radio, Radio) | {"at_mm": place["radio"]},
    }
    head = [
        f"# Made by quadsim choose from the catalogue {catalogue.name!r}, whose figures are claims until you measure them.",
        f"name = {_value(f'{frame.name}, {event}')}",
        f"event = {_value(CRAFT_EVENT[event])}",
        f"about = {_value(f'{frame.name} with {motor.name}, {propeller.name}, {fitted.battery.name}')}",
    ]
    parts = [_table("[parts]", part) for part in _parts(frame, event, catalogue, contest, place)]
    tables = [_table(name, keys) for name, keys in sections.items()]
    tables += [_table(f"gains.{slot}", own) for slot, own in by_slot(gains or {}).items()]
    return "\n".join([*head, "", *tables[:2], *parts, *tables[2:]])


def drag_areas_cm2(frame: CatalogueFrame, motor: CatalogueMotor, pack: CatalogueBattery) -> Vector:
    """Drag coefficient times area along forward, right, down [cm2]: the frame's, and faces of pack and motors.

    Faces as in `quadsim.config.airframe_estimate`; the camera and the load rig are left out.
    """
    x, y, z = pack.size_mm
    d, h = motor.diameter_mm, motor.height_mm
    faces = (y * z + 4.0 * d * h, x * z + 4.0 * d * h, x * y + 4.0 * d * d)
    own = frame.drag_area_cm2
    ahead, aside, below = (round(a + BLUFF * SHELTER * f / 100.0, 3) for a, f in zip(own, faces, strict=True))
    return ahead, aside, below


def listed_mass_g(
    shared: Shared, fitted: Fitted, event: Event, catalogue: Catalogue, contest: Contest
) -> float:
    """Mass of all listed pieces of an event's craft [g]."""
    frame, escs = shared.frame, 4 if shared.esc.arrangement == "one per motor" else 1
    four = frame.arm_mass_g + frame.leg_mass_g + shared.motor.mass_g + fitted.propeller.mass_g
    own = frame.body_mass_g + escs * shared.esc.mass_g + shared.flight_controller.mass_g + shared.radio.mass_g
    return float(4.0 * four + own + fitted.battery.mass_g + carried_g(event, catalogue, contest))


def carried_g(event: Event, catalogue: Catalogue, contest: Contest) -> float:
    """What an event puts on board [g]: what its rules ask for, and the rig of the lift."""
    rig = float(catalogue.shop.payload_rig_g) if event == "lift" else 0.0
    return float(getattr(contest, event).carried_g) + rig


def _places(frame: CatalogueFrame, shared: Shared, fitted: Fitted) -> dict[str, Vector]:
    """Where everything sits [mm]: the frame's origin is the middle between the arms, level with them."""
    half = frame.arm_mm[2] / 2.0
    top, pack = -half - frame.body_mm[2], fitted.battery.size_mm[2]
    below = half + 3.0
    rig = below + RIG_MM[2] / 2.0 + (pack if frame.pack_below else 0.0)
    return {
        "body": (0.0, 0.0, -half - frame.body_mm[2] / 2.0),
        "esc": (0.0, 0.0, -half - 6.0),
        "single": (-0.45 * frame.wheelbase_mm / 2.0, 0.0, shared.motor.height_mm + SHAFT_GAP_MM),
        "controller": (0.0, 0.0, -half - 15.0),
        "radio": (-frame.body_mm[0] / 2.0 + 12.0, 0.0, -half - 8.0),
        "camera": (frame.body_mm[0] / 2.0, 0.0, -half - 12.0),
        "rig": (0.0, 0.0, rig),
        "battery": (0.0, 0.0, below + pack / 2.0 if frame.pack_below else top - 2.0 - pack / 2.0),
    }


def _parts(
    frame: CatalogueFrame, event: Event, catalogue: Catalogue, contest: Contest, place: Mapping[str, Vector]
) -> list[dict[str, Any]]:
    """Frame and what is carried, as [[parts]]; the frame's whole price stands with its body."""
    body, arm = frame.body_mm, frame.arm_mm
    parts = [
        _box("body", frame.body_mass_g, body, place["body"]) | {"price": frame.price},
        _box("arm", frame.arm_mass_g, arm, (0.0, 0.0, 0.0)) | {"at": "arms"},
    ]
    if frame.leg_mass_g > 0.0 and frame.leg_length_mm > 0.0:
        leg = {"name": "leg", "shape": "rod", "mass_g": frame.leg_mass_g, "size_mm": [frame.leg_length_mm]}
        # from the hub down past motor and arm
        down = frame.leg_length_mm / 2.0 + arm[2] + 30.0
        parts.append(leg | {"axis": "down", "at": "rotors", "at_mm": (0.0, 0.0, down)})
    carried = float(getattr(contest, event).carried_g)
    if carried > 0.0:
        parts.append(_box("camera", carried, CAMERA_MM, place["camera"]))
    if event == "lift" and catalogue.shop.payload_rig_g > 0.0:
        rig = _box("load rig", catalogue.shop.payload_rig_g, RIG_MM, place["rig"])
        parts.append(rig | {"price": catalogue.shop.payload_rig})
    return parts


def _box(name: str, mass_g: float, size_mm: Vector, at_mm: Vector) -> dict[str, Any]:
    return {"name": name, "shape": "box", "mass_g": mass_g, "size_mm": size_mm, "at_mm": at_mm}


def _keys(part: BaseModel, own: type[BaseModel]) -> dict[str, Any]:
    """What a catalogue states of a part that a craft file knows."""
    return {key: getattr(part, key) for key in type(part).model_fields if key in own.model_fields
            and key in part.model_fields_set}  # fmt: skip


def _table(name: str, keys: Mapping[str, Any]) -> str:
    return "\n".join([f"[{name}]", *(f"{key} = {_value(value)}" for key, value in keys.items()), ""])


def _value(value: Any) -> str:
    """A value as TOML."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return '"' + value.replace("\\", "\\\\").replace('"', '\\"') + '"'
    if isinstance(value, BaseModel):
        value = {
            key: getattr(value, key) for key in type(value).model_fields if key in value.model_fields_set
        }
    if isinstance(value, Mapping):
        return "{ " + ", ".join(f"{key} = {_value(one)}" for key, one in value.items()) + " }"
    if isinstance(value, (list, tuple)):
        return "[" + ", ".join(_value(one) for one in value) + "]"
    if isinstance(value, Uncertain) and value.sigma > 0.0:
        return f"{{ value = {_number(value)}, sigma = {_number(value.sigma)} }}"
    return _number(value)


def _number(value: float) -> str:
    if not math.isfinite(value):
        return "inf" if value > 0.0 else "nan"
    return str(int(value)) if value == int(value) else repr(float(value))
