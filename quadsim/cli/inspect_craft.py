"""`quadsim inspect`: a craft at first sight, before anything is flown."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from quadsim.cli.evidence_document import evidence_document
from quadsim.cli.options import (
    AwayM,
    ElevationM,
    HeightM,
    Json,
    PackTemperatureC,
    PressureHPa,
    SpeedMS,
    TemperatureC,
    WindMS,
    site_of,
)
from quadsim.cli.out import print_json, say
from quadsim.cli.places import picture_place

if TYPE_CHECKING:
    from quadsim.analysis.inspection import Inspection
    from quadsim.config import Craft
    from quadsim.environment.atmosphere import Site
    from quadsim.parts import Finding, NotAsked

Budget = Annotated[
    float | None, typer.Option(min=0.0, help="Ask whether the parts stay within this price [EUR].")
]
Plot = Annotated[
    bool, typer.Option("--plot", help="Draw thrust, current and efficiency over throttle on a sheet.")
]
Out = Annotated[
    Path | None,
    typer.Option(
        help="Picture to draw: .png, .pdf or .svg [default: the craft's name with .png].", metavar="FILE"
    ),
]
Footprints = Annotated[
    bool, typer.Option("--footprint", help="Where it comes down after a lost link, for each choice.")
]
LostRotor = Annotated[
    bool, typer.Option("--lost-rotor", help="Fly the loss of each rotor: controllable, or how fast it falls.")
]
ByHand = Annotated[
    bool,
    typer.Option(
        "--hand-check",
        help="Card for the first arming, propellers off: which motors must answer a hand that tips the craft, and what "
        "each wiring mistake looks like.",
    ),
]


def command(
    craft: Annotated[
        str, typer.Argument(help="Path of a craft file, or the name of a shipped craft.", metavar="CRAFT")
    ],
    temperature_C: TemperatureC = None,
    pressure_hPa: PressureHPa = None,
    elevation_m: ElevationM = None,
    pack_temperature_C: PackTemperatureC = None,
    budget: Budget = None,
    plot: Plot = False,
    out: Out = None,
    footprint: Footprints = False,
    height_m: HeightM = None,
    speed_m_s: SpeedMS = None,
    wind_m_s: WindMS = None,
    away_m: AwayM = None,
    lost_rotor: LostRotor = False,
    hand_check: ByHand = False,
    json_: Json = False,
) -> None:
    """Look a craft over: mass, thrust to weight, hover, minutes, how sure that is, and whether its parts fit.

    Exit status: 0 it fits (cautions do not count), 1 a misfit would break something or keep it on the ground, 2 bad input.
    """
    from quadsim.analysis.footprint import footprints, own_footprint, typical_case
    from quadsim.analysis.inspection import inspect_craft
    from quadsim.cli.footprint_text import footprint_document, own_row, print_footprint
    from quadsim.cli.inspection_text import print_inspection
    from quadsim.config import load_craft

    picture = picture_place(craft, out) if plot or out else None
    checked = load_craft(craft)
    site = site_of(temperature_C, pressure_hPa, elevation_m, pack_temperature_C)
    seen = inspect_craft(checked, site)
    findings, missing = _findings(seen, budget)
    if picture:
        from quadsim.report.drive_sheet import draw_drive

        draw_drive(seen, picture)
    case = typical_case(checked, height_m, speed_m_s, wind_m_s, away_m)
    rows = footprints(checked, site, case)
    flown = _by_hand(checked, json_) if hand_check else {}
    flown |= _lose_rotors(checked, site, json_) if lost_rotor else {}
    if json_:
        document = inspection_document(seen, findings, missing) | footprint_document(rows, case) | flown
        print_json(document | ({"figure": picture} if picture else {}))
    elif footprint:
        print_footprint(rows, case)
    elif not flown:
        print_inspection(seen, findings, missing, own_row(own_footprint(rows), case))
    if picture and not json_:
        say(f"drawn in {picture}")
    raise typer.Exit(1 if any(f.severity == "misfit" and not f.ok for f in findings) else 0)


def _findings(seen: Inspection, budget: float | None) -> tuple[list[Finding], list[NotAsked]]:
    from quadsim.parts import fit_findings, not_asked, with_intervals

    if seen.craft.frame.flexible is not None:
        from quadsim.cli.kernels import prepare_kernels

        prepare_kernels()  # the crossover of its loops is asked for
    lift = seen.evidence.interval("thrust_to_weight")
    findings = fit_findings(seen.craft, seen.site, budget)
    told = with_intervals(findings, {"lifts_itself": lift, "thrust_to_weight": lift})
    return told, not_asked(seen.craft)


def _by_hand(craft: Craft, json_: bool) -> dict[str, Any]:
    """The hand check as a document; printed as a card unless JSON was asked for."""
    from quadsim.cli.hand_check_text import hand_check_document, make_hand_check, print_hand_check
    from quadsim.cli.kernels import prepare_kernels

    prepare_kernels()
    made = make_hand_check(craft)
    if not json_:
        print_hand_check(made)
    return {"hand_check": hand_check_document(made)}


def _lose_rotors(craft: Craft, site: Site, json_: bool) -> dict[str, Any]:
    """What each rotor's loss comes to, as a document; printed as a table unless JSON was asked for."""
    from quadsim.cli.kernels import prepare_kernels

    prepare_kernels()
    from quadsim.analysis.rotor_loss import lost_rotors
    from quadsim.cli.rotor_loss_text import print_lost_rotors, rotor_loss_document

    found = lost_rotors(craft, site)
    if not json_:
        print_lost_rotors(craft.name, found)
    return rotor_loss_document(found)


def inspection_document(seen: Inspection, findings: list[Finding], missing: list[NotAsked]) -> dict[str, Any]:
    """What `--json` prints of a craft. What a craft that cannot hover lacks is null."""
    from quadsim.config.rates import physics_rate, raised_by_sensor

    hover, endurance = seen.hover, seen.endurance
    return {
        "craft": seen.craft.name,
        "event": seen.craft.event,
        **_mass_document(seen),
        "price": seen.craft.price,
        "physics_rate_Hz": physics_rate(seen.craft),
        "physics_rate_raised": raised_by_sensor(seen.craft),
        "thrust_to_weight": seen.thrust_to_weight,
        "max_thrust_N": seen.max_thrust_N,
        "safe_descent_m_s": seen.safe_descent_m_s,
        "drag_area_cm2": [1e4 * float(area) for area in seen.drag_area_m2],
        "drag_centre_mm": [1e3 * float(place) for place in seen.drag_centre_m],
        "hover_throttle": hover and hover.throttle,
        "hover_current_A": hover and hover.pack_current_A,
        "hover_power_W": hover and hover.pack_power_W,
        "hover_rpm": hover and hover.rpm,
        "hover_cell_voltage_V": hover and hover.cell_voltage_V,
        "hover_winding_C": hover and hover.winding_C,
        "hover_case_C": hover and hover.case_C,
        "hover_time_min": endurance and endurance.minutes,
        "hover_end_rest_cell_voltage_V": endurance and endurance.rest_cell_voltage_V,
        "limited_by": endurance and endurance.limited_by,
        "site": {
            "temperature_C": seen.site.temperature_C,
            "pressure_hPa": seen.site.pressure_hPa,
            "pack_temperature_C": seen.site.pack_temperature_C,
            "density_kg_m3": seen.site.density,
        },
        **evidence_document(seen),
        "throttle_table": [vars(row) for row in seen.table],
        "findings": [vars(finding) for finding in findings],
        "not_asked": [vars(one) for one in missing],
    }


def _mass_document(seen: Inspection) -> dict[str, Any]:
    mass = seen.mass
    difference = mass.weighed_difference_kg
    return {
        "mass_g": 1e3 * mass.mass_kg,
        "mass_sigma_g": 1e3 * mass.mass_sigma_kg,
        "listed_mass_g": 1e3 * mass.listed_mass_kg,
        "unlisted_mass_g": 1e3 * mass.unlisted_mass_kg,
        "weighed_difference_g": None if difference is None else 1e3 * difference,
        "centre_of_mass_mm": [1e3 * float(x) for x in mass.centre_of_mass_m],
        "inertia_kg_m2": mass.inertia_kg_m2,
    }
