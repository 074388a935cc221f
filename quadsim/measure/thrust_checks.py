"""Whether a thrust stand's rows can be, and how they compare with what the craft file's propeller should give."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from quadsim.config.propeller_evidence import propeller_map
from quadsim.config.quantity import Uncertain
from quadsim.dynamics.measured_table import PLACES, read_table
from quadsim.errors import InputError, Problem
from quadsim.measure.columns import Bench
from quadsim.measure.result import Notebook, Setup
from quadsim.units import G_FORCE, INCH, RPM

FAR_OFF = 1.3
"""Measured over expected thrust from which a miscount of the speed is suspected. Our choice."""
THRUST_SHARE, TORQUE_SHARE = 0.01, 0.02
"""Standard uncertainty of a stand's thrust and torque for its levers and calibration [-]; assumed."""
SAG = 0.05
"""Fall of the supply's voltage from which it is said. Our choice."""


def judge_rows(note: Notebook, bench: Bench, setup: Setup, rows: list[dict[str, float]]) -> None:
    """Refuse rows that cannot be, by the rotor map's own checks and by the power the supply gave; warn of what is weak."""
    problems: list[Problem] = []
    diameter = None if setup.craft is None else float(setup.craft.propeller.diameter_in) * INCH
    if len(rows) == 2:
        problems.append(
            Problem("", "has two speeds", "needs one, or three and more", "Measure more throttles")
        )
    if diameter is not None and all("rpm" in row for row in rows) and len(rows) != 2:
        table = [
            {name: row[name] for name in ("rpm", "thrust_g", "torque_Nm") if name in row} for row in rows
        ]
        air = {"temperature_C": setup.site.temperature_C, "pressure_hPa": setup.site.pressure_hPa}
        read_table([one | air | {"measured_on": setup.measured_on} for one in table], diameter, problems)
    for row in rows:
        problems += _power_problems(row, setup, diameter)
    if problems:
        raise InputError(problems, bench.source)
    if 2 < len(rows) < 5:
        note.warnings.append(f"{len(rows)} speeds: five and more, up to full throttle, tell the trend")
    if len(rows) == 1:
        note.warnings.append("One speed: a point, not a table; three and more speeds tell the trend")
    volts = bench.column("voltage_V")
    if bench.has("voltage_V") and np.nanmin(volts) < (1.0 - SAG) * np.nanmax(volts):
        note.warnings.append(
            f"The supply sagged from {np.nanmax(volts):.2f} to {np.nanmin(volts):.2f} V; each row keeps its own voltage"
        )
    if not setup.air_stated:
        note.warnings.append(
            "The air was not stated, standard air was taken: 10 deg C or 35 hPa off make 3.5 % of thrust "
            "(--temperature-C, --pressure-hPa or --elevation-m)"
        )
    if diameter is None:
        note.warnings.append(
            "Without the propeller's diameter nothing says whether these thrusts can be: name the craft (--craft)"
        )
    if not bench.has("torque_Nm"):
        note.rests.append("Without torque the rotor's power follows from the motor's current, 8 % uncertain")


def _power_problems(row: dict[str, float], setup: Setup, diameter: float | None) -> list[Problem]:
    """What a row asks of physics: shaft power under electrical power, ideal power of its thrust under it."""
    where = f"at {row['rpm']:.0f} rpm" if "rpm" in row else f"at {row.get('throttle_pct', 0.0):g} % throttle"
    given = row.get("current_A", math.nan) * row.get("voltage_V", math.nan)
    if setup.current_at == "motor":
        given *= row.get("throttle_pct", math.nan) / 100.0
    found = []
    shaft = row.get("torque_Nm", math.nan) * row.get("rpm", math.nan) * RPM
    if shaft > given:
        found.append(
            Problem(where, f"torque and speed make {shaft:.1f} W of {given:.1f} W from the supply",
                    "the shaft's power must be less", "Check the torque's unit and arm, and the current's place (--current-at)")
        )  # fmt: skip
    if diameter is not None and not found:
        area = math.pi * diameter**2 / 4.0
        ideal = (row["thrust_g"] * G_FORCE) ** 1.5 / math.sqrt(2.0 * setup.site.density * area)
        if ideal > given:
            found.append(
                Problem(where, f"that thrust takes {ideal:.1f} W even of an ideal rotor, and the supply gave {given:.1f} W",
                        "must be less", "Check the thrust's unit and the scale's lever, and the current")
            )  # fmt: skip
    return found


def compare(note: Notebook, setup: Setup, rows: list[dict[str, float]]) -> None:
    """Thrust and figure of merit of the first, middle and last speed, beside what the craft's map says."""
    shown = sorted({0, len(rows) // 2, len(rows) - 1})
    if setup.craft is None or any("rpm" not in row for row in rows):
        for k in shown:
            at = f"{rows[k]['rpm']:.0f} rpm" if "rpm" in rows[k] else f"{rows[k]['throttle_pct']:g} %"
            note.add(f"thrust at {at}", rows[k]["thrust_g"], _thrust_sigma(setup, rows[k]), "g")
        note.rests.append(f"Thrust {100.0 * THRUST_SHARE:g} % beside the scale's reading, assumed")
        return
    rotor = propeller_map(setup.craft)
    loss = setup.craft.propeller.installed_loss_pct / 100.0
    share = 1.0 - loss if setup.measured_on == PLACES[1] and rotor.measured_on == PLACES[0] else 1.0
    density, speeds, lines = setup.site.density, [row["rpm"] for row in rows], []
    for rpm in speeds:
        n = rpm / 60.0
        ct, cp = (float(v) for v in rotor.coefficients(rpm)[:2])
        thrust = share * ct * density * n**2 * rotor.diameter**4 / G_FORCE
        lines.append((thrust, cp * density * n**2 * rotor.diameter**5 / (2.0 * math.pi)))
    for k in shown:
        name = f"thrust at {speeds[k]:.0f} rpm"
        note.before[name] = Uncertain(lines[k][0], lines[k][0] * rotor.ct_sigma)
        note.add(name, rows[k]["thrust_g"], _thrust_sigma(setup, rows[k]), "g")
        if "torque_Nm" in rows[k]:
            name = f"torque at {speeds[k]:.0f} rpm"
            note.before[name] = Uncertain(1e3 * lines[k][1], 1e3 * lines[k][1] * rotor.cp_sigma)
            note.add(name, 1e3 * rows[k]["torque_Nm"], 1e3 * TORQUE_SHARE * rows[k]["torque_Nm"], "mN m")
    drawn = next((k for k, panel in enumerate(note.panels) if panel.title == "Thrust"), None)
    if drawn is not None:
        given = np.array([thrust for thrust, _ in lines])
        note.panels[drawn] = replace(note.panels[drawn], before_x=np.array(speeds), before_y=given)
    middle = len(rows) // 2
    ratio = rows[middle]["thrust_g"] / lines[middle][0]
    if not 1.0 / FAR_OFF < ratio < FAR_OFF:
        note.warnings.append(
            f"Thrust is {ratio:.2f} times what this propeller should give at that speed: a speed counted {ratio**0.5:.2f} times "
            "too low would do that (blades or poles), or another propeller is in the craft file"
        )
    if "torque_Nm" in rows[-1]:
        _merit(note, rows[-1], density, rotor.diameter)
    note.rests.append(
        f"Thrust {100.0 * THRUST_SHARE:g} % and torque {100.0 * TORQUE_SHARE:g} % beside the scale's reading, assumed"
    )


def _thrust_sigma(setup: Setup, row: dict[str, float]) -> float:
    """Standard uncertainty of a row's thrust [g]: the scale's reading and the stand's lever."""
    return math.hypot(setup.scale_g, THRUST_SHARE * row["thrust_g"])


def _merit(note: Notebook, row: dict[str, float], density: float, diameter: float) -> None:
    area = math.pi * diameter**2 / 4.0
    ideal = (row["thrust_g"] * G_FORCE) ** 1.5 / math.sqrt(2.0 * density * area)
    merit = ideal / (row["torque_Nm"] * row["rpm"] * RPM)
    relative = math.hypot(1.5 * THRUST_SHARE, TORQUE_SHARE)
    note.add(f"figure of merit at {row['rpm']:.0f} rpm", merit, relative * merit, "-")
