"""A choice of parts: what the craft shares over all events, and what changes from one to the next."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from quadsim.config.contest_schema import Contest
from quadsim.config.parts_schema import (
    Catalogue,
    CatalogueBattery,
    CatalogueController,
    CatalogueEsc,
    CatalogueFrame,
    CatalogueMotor,
    CataloguePropeller,
    CatalogueRadio,
)

Event = Literal["slalom", "lift", "dash"]
EVENTS: tuple[Event, ...] = ("slalom", "lift", "dash")


@dataclass(frozen=True)
class Shared:
    """What stays on the craft in all events."""

    frame: CatalogueFrame
    motor: CatalogueMotor
    esc: CatalogueEsc
    flight_controller: CatalogueController
    radio: CatalogueRadio


@dataclass(frozen=True)
class Fitted:
    """Propeller and pack of one event."""

    propeller: CataloguePropeller
    battery: CatalogueBattery


@dataclass(frozen=True)
class Choice:
    """One craft for a whole contest."""

    shared: Shared
    slalom: Fitted
    lift: Fitted
    dash: Fitted

    def of(self, event: Event) -> Fitted:
        """Propeller and pack of an event."""
        fitted: Fitted = getattr(self, event)
        return fitted

    @property
    def propellers(self) -> list[CataloguePropeller]:
        """Kinds of propellers to buy, each once."""
        return list({self.of(event).propeller.name: self.of(event).propeller for event in EVENTS}.values())

    @property
    def batteries(self) -> list[CatalogueBattery]:
        """Packs to buy: one that serves in two events is bought once."""
        return list({self.of(event).battery.name: self.of(event).battery for event in EVENTS}.values())


def shared_misfits(shared: Shared, contest: Contest) -> list[str]:
    """Why these parts cannot be screwed together or may not fly, in words; empty when they can."""
    frame, motor, esc = shared.frame, shared.motor, shared.esc
    stack = [float(one) for one in frame.stack_mounts_mm]
    reasons = []
    if float(motor.mount_mm) not in [float(one) for one in frame.motor_mounts_mm]:
        reasons.append(f"{frame.name} has no holes for a motor of {motor.mount_mm:g} mm")
    if esc.arrangement == "one board" and (esc.mount_mm is None or float(esc.mount_mm) not in stack):
        reasons.append(f"{frame.name} has no holes for {esc.name}")
    if float(shared.flight_controller.mount_mm) not in stack:
        reasons.append(f"{frame.name} has no holes for {shared.flight_controller.name}")
    if shared.radio.channels < contest.radio_channels:
        reasons.append(
            f"{shared.radio.name} has {shared.radio.channels} channels of {contest.radio_channels}"
        )
    if shared.radio.range_m < contest.radio_range_m:
        reasons.append(f"{shared.radio.name} reaches {shared.radio.range_m:g} of {contest.radio_range_m:g} m")
    return reasons


def fitted_misfits(shared: Shared, fitted: Fitted, catalogue: Catalogue) -> list[str]:
    """The same of a propeller and a pack on such a craft."""
    frame, pack, propeller = shared.frame, fitted.battery, fitted.propeller
    reasons = []
    if propeller.diameter_in > frame.greatest_propeller_in:
        reasons.append(f"{frame.name} takes propellers up to {frame.greatest_propeller_in:g} in")
    if any(own > most for own, most in zip(pack.size_mm, frame.pack_most_mm, strict=True)):
        reasons.append(f"{pack.name} is too large for {frame.name}")
    full = pack.cells * pack.full_cell_V
    if full > shared.esc.max_V:
        reasons.append(f"{pack.name} has {full:.1f} V, {shared.esc.name} stands {shared.esc.max_V:g} V")
    if pack.cells > catalogue.shop.charger_cells:
        reasons.append(
            f"the charger takes {catalogue.shop.charger_cells} cells, {pack.name} has {pack.cells}"
        )
    return reasons
