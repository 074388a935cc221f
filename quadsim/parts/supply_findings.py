"""Questions about what feeds the motors: pack, plug and wires."""

from __future__ import annotations

import math

from quadsim.contest.rules import LABEL_SHARE
from quadsim.parts.bench import Bench
from quadsim.parts.drive_findings import EVENT_LOAD
from quadsim.parts.finding import Finding, at_least, at_most

LEAD_A_MM2 = 20.0
"""Current for minutes over copper area of short silicone-insulated leads [A/mm2]; common practice, no source. By the steady
balance I^2 R' = h pi d (T - T_air) a lead of 3.3 mm2 (4.5 mm outside, h = 25 W/(m2 K), from memory) is then 90 K over the air."""


def pack_current(bench: Bench) -> Finding:
    """Pack current at full throttle against what was measured, or else half the label."""
    battery = bench.craft.battery
    message = "at full throttle, full pack, against "
    if battery.current_limit_A is not None:
        limit = float(battery.current_limit_A)
        message += "what it gave when tested"
    else:
        limit = LABEL_SHARE * float(battery.label_C_rating) * float(battery.capacity_mAh) / 1e3
        message += f"half the label's claim of {float(battery.label_C_rating):g} C, as nothing was measured"
    return at_most("pack_current", bench.full.pack_current, limit, "A", message)


def cell_voltage(bench: Bench) -> Finding:
    """Loaded voltage at full throttle."""
    volts = bench.full.pack_voltage / float(bench.plant.cells)
    message = "per cell, loaded, at full throttle, full pack, against the cut-off"
    return at_least("cell_voltage", volts, float(bench.craft.battery.cutoff_cell_V), "V", message)


def esc_voltage(bench: Bench) -> Finding:
    """Full pack against what the ESC stands."""
    full = float(bench.plant.cells * bench.plant.full_cell_voltage)
    limit = float(bench.craft.esc.max_V or 0.0)
    return at_most("esc_voltage", full, limit, "V", "full pack, against what the ESC stands", "misfit")


def connector(bench: Bench) -> Finding:
    """Current of the event against the plug's rating."""
    limit = float(bench.craft.battery.connector_limit_A or 0.0)
    message = f"through the plug {EVENT_LOAD[bench.craft.event]}"
    return at_most("connector", bench.event.pack_current, limit, "A", message)


def gauge_area_mm2(gauge: int) -> float:
    """Copper area of an American wire gauge [mm2]: d = 0.127 mm 92^((36 - n)/39), ASTM B258-02."""
    diameter = 0.127 * 92.0 ** ((36 - gauge) / 39.0)
    return math.pi / 4.0 * diameter**2


def lead_wire(bench: Bench) -> Finding:
    """Current of the event against the gauge of the pack's leads."""
    gauge = int(bench.craft.battery.lead_awg or 0)
    area = gauge_area_mm2(gauge)
    message = f"through leads of gauge {gauge} ({area:.2f} mm2) {EVENT_LOAD[bench.craft.event]}"
    return at_most("lead_wire", bench.event.pack_current, LEAD_A_MM2 * area, "A", message)
