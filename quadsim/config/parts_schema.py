"""Schema of a parts catalogue. Keys, units and ranges: scenarios/parts/README.md.

A motor, ESC, pack, controller or receiver is described by the keys it has in a craft file; a catalogue adds what decides
whether two pieces fit, and the price. Where a piece sits is no property of it: the frame and the builder say that.
"""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import Field, field_validator

from quadsim.config.avionics_schema import FlightController, Radio
from quadsim.config.drive_schema import Battery, Box, Esc, Motor, Propeller, Vector
from quadsim.config.listing import Section
from quadsim.config.quantity import Quantity, Triple, Uncertain, refusal

Name = Annotated[str, Field(min_length=1, description="make and type; no two pieces of a kind alike")]
ShopPrice = Annotated[Uncertain, Quantity(0.0, 1e5, "EUR", "price of what is sold as one piece", above=True)]
Pattern = Annotated[Uncertain, Quantity(5.0, 60.0, "mm", "side or circle of its screw holes")]
Patterns = tuple[Pattern, ...]


class CatalogueMotor(Motor):
    """A motor, sold singly."""

    name: Name
    price: ShopPrice
    mount_mm: Pattern
    stator_diameter_mm: Annotated[Uncertain, Quantity(4.0, 120.0, "mm", "of the iron")]
    stator_height_mm: Annotated[Uncertain, Quantity(2.0, 80.0, "mm", "of the iron")]
    no_load_V: Annotated[Uncertain, Quantity(0.5, 100.0, "V", "voltage of the test without a propeller")]


class CataloguePropeller(Propeller):
    """Propellers, sold in packets with as many of each sense."""

    name: Name
    price: ShopPrice
    pieces: Annotated[int, Quantity(2, 24, "-", "in one packet", whole=True)] = 4


class _Unplaced(Section):
    """A piece whose place is not its own."""

    at_mm: Vector = Field(default=(0.0, 0.0, 0.0), description="refused here: the frame says where it sits")

    @field_validator("at_mm", mode="before")
    @classmethod
    def _no_place(cls, given: Any) -> Any:
        raise refusal(
            f"is {given!r}", "a catalogue has no place for it: the frame says where it sits", "Leave it out"
        )


class CatalogueEsc(_Unplaced, Esc):
    """Speed controllers: a board for four motors, or a single one, of which four are bought."""

    name: Name
    price: ShopPrice
    max_V: Annotated[Uncertain, Quantity(1.0, 100.0, "V", "greatest pack voltage it stands")]
    mount_mm: Pattern | None = Field(
        default=None, description="side of a board's screw holes; a single ESC has none"
    )


class CatalogueBattery(_Unplaced, Battery):
    """A pack."""

    name: Name
    price: ShopPrice


class CatalogueController(_Unplaced, FlightController):
    """A flight controller."""

    name: Name
    price: ShopPrice
    mount_mm: Pattern


class CatalogueRadio(_Unplaced, Radio):
    """A receiver; the transmitter is not priced."""

    name: Name
    price: ShopPrice
    channels: Annotated[int, Quantity(2, 32, "-", "that it hands on", whole=True)]
    range_m: Annotated[Uncertain, Quantity(50.0, 100000.0, "m", "claimed, line of sight")]


class CatalogueFrame(Section):
    """A frame: a body of plates, four arms, perhaps legs."""

    name: Name
    price: ShopPrice
    wheelbase_mm: Annotated[
        Uncertain, Quantity(40.0, 3000.0, "mm", "diagonal between motor shafts; a square")
    ]
    greatest_propeller_in: Annotated[
        Uncertain, Quantity(1.0, 40.0, "in", "that turns free of frame and neighbour")
    ]
    body_mass_g: Annotated[Uncertain, Quantity(0.0, 5000.0, "g", "plates and spacers", above=True)]
    body_mm: Box
    arm_mass_g: Annotated[Uncertain, Quantity(0.0, 1000.0, "g", "one arm", above=True)]
    arm_mm: Box
    leg_mass_g: Annotated[
        Uncertain, Quantity(0.0, 500.0, "g", "one leg, under each motor; 0: it stands on its arms")
    ] = Uncertain(0.0)
    leg_length_mm: Annotated[Uncertain, Quantity(0.0, 500.0, "mm", "of a leg")] = Uncertain(0.0)
    drag_area_cm2: Annotated[
        Vector, Triple(0.1, 50000.0, "cm2", "drag coefficient times area along forward, right, down; without pack and motors")
    ]  # fmt: skip
    motor_mounts_mm: Patterns = Field(min_length=1, description="hole patterns for motors")
    stack_mounts_mm: Patterns = Field(min_length=1, description="hole patterns for ESC board and controller")
    pack_most_mm: Annotated[Vector, Triple(5.0, 1000.0, "mm", "largest pack: length, width, height")]
    pack_below: bool = Field(default=False, description="true if the pack hangs under the body")


class Shop(Section):
    """What every order needs besides the parts of the list. One price each."""

    wire: Annotated[Uncertain, Quantity(0.0, 1000.0, "EUR", "wire, screws, solder, for one craft")]
    connectors: Annotated[Uncertain, Quantity(0.0, 1000.0, "EUR", "plugs, for one craft")]
    strap: Annotated[Uncertain, Quantity(0.0, 1000.0, "EUR", "straps for one kind of pack")]
    charger: Annotated[Uncertain, Quantity(0.0, 10000.0, "EUR", "balancing charger")]
    charger_cells: Annotated[int, Quantity(1, 16, "-", "most cells in series that it charges", whole=True)]
    fire_safe_bag: Annotated[Uncertain, Quantity(0.0, 1000.0, "EUR", "for charging and storing")]
    payload_rig: Annotated[Uncertain, Quantity(0.0, 1000.0, "EUR", "hook or tray for the lift")]
    payload_rig_g: Annotated[Uncertain, Quantity(0.0, 2000.0, "g", "its mass")]
    shipping: Annotated[Uncertain, Quantity(0.0, 1000.0, "EUR", "of the whole order")]


class Catalogue(Section):
    """A whole catalogue."""

    name: str = Field(description="what the list is called", min_length=1)
    about: str = Field(default="", description="one sentence for whoever opens the file")
    shop: Shop
    frame: tuple[CatalogueFrame, ...] = Field(min_length=1)
    motor: tuple[CatalogueMotor, ...] = Field(min_length=1)
    propeller: tuple[CataloguePropeller, ...] = Field(min_length=1)
    esc: tuple[CatalogueEsc, ...] = Field(min_length=1)
    battery: tuple[CatalogueBattery, ...] = Field(min_length=1)
    flight_controller: tuple[CatalogueController, ...] = Field(min_length=1)
    radio: tuple[CatalogueRadio, ...] = Field(min_length=1)


KINDS: dict[str, type[Section]] = {
    "frame": CatalogueFrame,
    "motor": CatalogueMotor,
    "propeller": CataloguePropeller,
    "esc": CatalogueEsc,
    "battery": CatalogueBattery,
    "flight_controller": CatalogueController,
    "radio": CatalogueRadio,
}
"""Kinds of parts and their schemas, in the order of a catalogue."""
