"""`quadsim inspect`: a craft at first sight, before anything is flown."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from quadsim.cli.evidence_document import evidence_document
from quadsim.cli.options import ElevationM, Json, PackTemperatureC, PressureHPa, TemperatureC, site_of
from quadsim.cli.out import print_json, say

if TYPE_CHECKING:
    from quadsim.analysis.inspection import Inspection
    from quadsim.config import Craft
    from quadsim.parts import Finding


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
    budget: Annotated[
        float | None, typer.Option(min=0.0, help="Ask whether the parts stay within this price [EUR].")
    ] = None,
    plot: Annotated[
        bool, typer.Option("--plot", help="Draw thrust, current and efficiency over throttle on a sheet.")
    ] = False,
    out: Annotated[
        Path | None,
        typer.Option(
            help="Picture to draw: .png, .pdf or .svg [default: the craft's name with .png].", metavar="FILE"
        ),
    ] = None,
    hand_check: ByHand = False,
    json_: Json = False,
) -> None:
    """Look a craft over: mass, thrust to weight, hover, minutes, how sure that is, and whether its parts fit.

    Exit status: 0 it fits (cautions do not count), 1 a misfit would break something or keep it on the ground, 2 bad input.
    """
    from quadsim.analysis.inspection import inspect_craft
    from quadsim.config import load_craft
    from quadsim.parts import fit_findings, with_intervals

    picture = _picture(craft, out) if plot or out else None
    checked = load_craft(craft)
    site = site_of(temperature_C, pressure_hPa, elevation_m, pack_temperature_C)
    seen = inspect_craft(checked, site)
    lift = seen.evidence.interval("thrust_to_weight")
    findings = fit_findings(checked, site, budget)
    findings = with_intervals(findings, {"lifts_itself": lift, "thrust_to_weight": lift})
    if picture:
        from quadsim.report.drive_sheet import draw_drive

        draw_drive(seen, picture)
    by_hand = _by_hand(checked, json_) if hand_check else None
    if json_:
        document = inspection_document(seen, findings) | ({"figure": picture} if picture else {})
        print_json(document | ({"hand_check": by_hand} if by_hand else {}))
    elif not hand_check:
        from quadsim.cli.inspection_text import print_inspection

        print_inspection(seen, findings)
        if picture:
            say(f"drawn in {picture}")
    raise typer.Exit(1 if any(f.severity == "misfit" and not f.ok for f in findings) else 0)


def _by_hand(craft: Craft, json_: bool) -> dict[str, Any]:
    """The hand check as a document; printed as a card unless JSON was asked for."""
    from quadsim.cli.hand_check_text import hand_check_document, make_hand_check, print_hand_check
    from quadsim.cli.kernels import prepare_kernels

    prepare_kernels()
    made = make_hand_check(craft)
    if not json_:
        print_hand_check(made)
    return hand_check_document(made)


def _picture(craft: str, out: Path | None) -> Path:
    """Where the sheet goes, asked before the work is done."""
    from quadsim.cli.places import writable
    from quadsim.report.flight_sheet import checked_suffix

    place = checked_suffix(out or Path(f"{Path(craft).stem}.png"))
    return writable(place, "Name another file with --out")


def inspection_document(seen: Inspection, findings: list[Finding]) -> dict[str, Any]:
    """What `--json` prints of a craft. What a craft that cannot hover lacks is null."""
    hover, endurance = seen.hover, seen.endurance
    return {
        "craft": seen.craft.name,
        "event": seen.craft.event,
        **_mass_document(seen),
        "price": seen.craft.price,
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
