"""A craft at first sight, in the terminal."""

from __future__ import annotations

from typing import TYPE_CHECKING

from quadsim.cli.evidence_text import print_evidence
from quadsim.cli.findings_text import print_findings
from quadsim.cli.out import say
from quadsim.cli.table import Cell, Column, table
from quadsim.config.rates import raised_by_sensor
from quadsim.report.numbers import figure

if TYPE_CHECKING:
    from quadsim.analysis.inspection import Inspection
    from quadsim.parts import Finding, NotAsked


def print_inspection(
    seen: Inspection, findings: list[Finding], missing: list[NotAsked], link_loss: list[str | Cell]
) -> None:
    """Print the whole inspection; `link_loss` is its row on where a lost link brings it down."""
    craft, site = seen.craft, seen.site
    say()
    say(f"{craft.name}, built for {craft.event}", "title")
    pack = (
        f"; pack at {site.pack_temperature_C:g} deg C"
        if site.pack_temperature_C != site.temperature_C
        else ""
    )
    air = f"air at {site.temperature_C:.4g} deg C and {site.pressure_hPa:.6g} hPa, {site.density:.3f} kg/m3"
    say(f"{air}{pack}", "soft")
    if raised := raised_by_sensor(craft):
        say(f"{raised[0].upper()}{raised[1:]}.", "soft")
    say()
    say(table(_PAIR, [*_drive_rows(seen), *_mass_rows(seen), link_loss]))
    say()
    say("On the bench, full pack", "title")
    say(_throttle_table(seen))
    say("  thrust of all four rotors as mounted; current, power and voltage at the pack", "soft")
    say()
    print_evidence(seen)
    say()
    print_findings(findings, missing)


_PAIR = (Column("", words=True), Column(""), Column("", words=True), Column("", words=True, style="soft"))


def _drive_rows(seen: Inspection) -> list[list[str | Cell]]:
    rows: list[list[str | Cell]] = [
        ["all-up mass", f"{1e3 * seen.mass.mass_kg:.0f}", "g", _mass_note(seen)],
        [
            "thrust to weight",
            f"{seen.thrust_to_weight:.2f}",
            "",
            f"{seen.max_thrust_N:.1f} N at full throttle",
        ],
    ]
    hover, endurance = seen.hover, seen.endurance
    if hover is None or endurance is None:
        return [*rows, [Cell("hover", "bad"), "-", "", "it cannot hover: too heavy for its drive and pack"]]
    return [
        *rows,
        ["hover throttle", f"{100.0 * hover.throttle:.0f}", "%", f"{hover.rpm:.0f} rpm, full pack"],
        [
            "hover current",
            figure(hover.pack_current_A),
            "A",
            f"{figure(hover.pack_power_W)} W, {hover.cell_voltage_V:.2f} V per cell",
        ],
        ["hover time", figure(endurance.minutes), "min", f"ends at the {_end(seen)}"],
        [
            "safe descent",
            figure(seen.safe_descent_m_s),
            "m/s",
            "straight down; faster sinks into its own wake",
        ],
        [
            "rested then",
            f"{endurance.rest_cell_voltage_V:.2f}",
            "V",
            f"per cell, corrected for sag; pack at {endurance.pack_C:.0f} deg C",
        ],
        ["motors in hover", f"{hover.winding_C:.0f}", "deg C", f"windings; cases {hover.case_C:.0f} deg C"],
    ]


def _end(seen: Inspection) -> str:
    battery = seen.craft.battery
    if seen.endurance is not None and seen.endurance.limited_by == "reserve":
        return f"reserve of {float(battery.reserve_pct):g} % in the pack"
    return f"cut-off voltage of {float(battery.cutoff_cell_V):g} V per cell"


def _mass_note(seen: Inspection) -> str:
    mass = seen.mass
    listed = f"listed {1e3 * mass.listed_mass_kg:.0f} g, unlisted {1e3 * mass.unlisted_mass_kg:.0f} g"
    if mass.weighed_difference_kg is None:
        return f"{listed} (allowance, +- {1e3 * mass.mass_sigma_kg:.0f} g)"
    return f"{listed}; weighed, {1e3 * mass.weighed_difference_kg:+.0f} g against the allowance"


def _mass_rows(seen: Inspection) -> list[list[str | Cell]]:
    x, y, z = (1e3 * float(value) for value in seen.mass.centre_of_mass_m)
    inertia = seen.mass.inertia_kg_m2 * 1e3
    diagonal = ", ".join(f"{inertia[k, k]:.2f}" for k in range(3))
    return [
        [
            "centre of mass",
            f"{x:+.1f}, {y:+.1f}, {z:+.1f}",
            "mm",
            "forward, right, down from the frame's origin",
        ],
        ["inertia", diagonal, "g m2", "roll, pitch, yaw, about the centre of mass"],
        ["drag area", _areas(seen), "cm2", _drag_note(seen)],
        ["price", f"{seen.craft.price:.0f}", "EUR", "all parts"],
    ]


def _areas(seen: Inspection) -> str:
    return ", ".join(f"{1e4 * float(area):.0f}" for area in seen.drag_area_m2)


def _drag_note(seen: Inspection) -> str:
    """Which way, whether the areas were stated, and how far the drag acts from the centre of mass (two rows up)."""
    above = 1e3 * float(seen.mass.centre_of_mass_m[2] - seen.drag_centre_m[2])
    how = "estimated" if seen.craft.drag.area_cm2 is None else "as stated"
    side = "above" if above >= 0.0 else "below"
    return f"forward, right, down, {how}; acts {abs(above):.0f} mm {side} that centre"


def _throttle_table(seen: Inspection) -> str:
    columns = (
        Column("throttle", "%"), Column("thrust", "g"), Column("pack", "A"), Column("power", "W"), Column("speed", "rpm"),
        Column("yield", "g/W"), Column("cell", "V"), Column("motor", "A"), Column("", words=True, style="soft"),
    )  # fmt: skip
    rows = [
        [
            f"{100.0 * row.throttle:.0f}", f"{row.thrust_g:.0f}", f"{row.pack_current_A:.1f}", f"{row.pack_power_W:.0f}",
            f"{row.rpm:.0f}", f"{row.efficiency_g_W:.1f}", f"{row.cell_voltage_V:.2f}", f"{row.motor_current_A:.1f}",
            "current limit" if row.limited else "",
        ]
        for row in seen.table
    ]  # fmt: skip
    return table(columns, rows)
