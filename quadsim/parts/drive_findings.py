"""Questions about motors, ESCs and propellers: enough thrust, and nothing beyond its limits."""

from __future__ import annotations

import math

from quadsim.config.resolve_drive import TIP_MACH
from quadsim.config.warmth import settled_temperatures
from quadsim.environment.atmosphere import speed_of_sound
from quadsim.parts.bench import HOVER_LEAST, HOVER_MOST, HOVER_STOP, Bench
from quadsim.parts.finding import Finding, at_least, at_most
from quadsim.units import CELSIUS, RPM

THRUST_TO_WEIGHT = {"slalom": 4.0, "lift": 2.0, "speed": 3.0}
"""Least thrust over weight by event, a lifter without its load; common practice, no source."""
CASE_WARM_C = 65.0
"""Case temperature of a motor to keep an eye on [deg C]; common practice, no source."""
EVENT_LOAD = {
    "slalom": "in turns banked by 60 deg",
    "lift": "with a load that leaves thrust over weight 2",
    "speed": "in a dash tilted by 70 deg",
}
"""What `Bench.event_thrust` stands for."""


def lifts_itself(bench: Bench) -> Finding:
    """Whether it leaves the ground."""
    message = "thrust over weight; below 1 it stays on the ground"
    return at_least("lifts_itself", bench.thrust_to_weight, 1.0, "-", message, "misfit")


def least_ratio(bench: Bench) -> float:
    """Thrust over weight to ask for [-]: what is usual for the event, and what keeps hover throttle in its range."""
    return max(THRUST_TO_WEIGHT[bench.craft.event], bench.ratio_for_hover(HOVER_MOST))


def thrust_to_weight(bench: Bench) -> Finding:
    """Reserve of thrust for the event. The limit is never below what the rule about hover throttle asks of this drive."""
    event, limit = bench.craft.event, least_ratio(bench)
    message = f"thrust over weight; {THRUST_TO_WEIGHT[event]:g} is usual for {event}"
    if limit > THRUST_TO_WEIGHT[event]:
        message += f", this drive needs more to hover below {100 * HOVER_MOST:g} % throttle"
    return at_least("thrust_to_weight", bench.thrust_to_weight, limit, "-", message)


def hover_throttle(bench: Bench) -> Finding:
    """Hover throttle at half charge in the air of the site: a range, of which the nearer end is the limit.

    The lower end asks for less thrust, so it is not put to a craft that the rule about thrust to weight finds short of it:
    there a current limit takes the thrust, not the throttle.
    """
    late = bench.late_hover
    value = 1.0 if late is None else late.duty
    message = f"of full, at half charge in air of {bench.site.density:.2f} kg/m3"
    if late is None:
        message += "; full throttle does not carry it then"
    if value < HOVER_LEAST and bench.thrust_to_weight >= least_ratio(bench):
        return at_least("hover_throttle", value, HOVER_LEAST, "-", message)
    if value > HOVER_STOP:
        return at_most("hover_throttle", value, HOVER_STOP, "-", message, "misfit")
    return at_most("hover_throttle", value, HOVER_MOST, "-", message)


def motor_current(bench: Bench) -> Finding:
    """Motor current at full throttle."""
    limit = float(bench.craft.motor.current_limit_A)
    message = "of one motor at full throttle, full pack" + _held(bench, limit)
    return at_most("motor_current", bench.free.motor_current, limit, "A", message, "misfit")


def esc_current(bench: Bench) -> Finding:
    """Current of one ESC channel at full throttle."""
    limit = float(bench.craft.esc.current_limit_A)
    message = "of one channel at full throttle, full pack" + _held(bench, limit)
    return at_most("esc_current", bench.free.motor_current, limit, "A", message, "misfit")


def _held(bench: Bench, limit: float) -> str:
    if bench.free.motor_current <= limit:
        return ""
    return f"; flights hold it at {float(bench.plant.current_limit):g} A"


def event_current(bench: Bench) -> Finding:
    """Motor current of the event itself, against the lower of motor and ESC."""
    motor, esc = float(bench.craft.motor.current_limit_A), float(bench.craft.esc.current_limit_A)
    which = "the motor's" if motor <= esc else "the ESC's"
    message = f"of one motor {EVENT_LOAD[bench.craft.event]}, against {which} limit"
    return at_most("event_current", bench.event.motor_current, min(motor, esc), "A", message, "misfit")


def event_winding(bench: Bench) -> Finding:
    """Winding temperature if the event went on for long."""
    at = bench.event
    settled = settled_temperatures(bench.plant, at.motor_current, at.rotor_speed, at.thrust)[0]
    limit = float(bench.craft.motor.winding_limit_C)
    message = f"where windings settle {EVENT_LOAD[bench.craft.event]}, if it went on"
    return at_most("event_winding", settled - CELSIUS, limit, "deg C", message)


def motor_case(bench: Bench) -> Finding:
    """Case temperature of long hover."""
    hover = bench.hover
    settled = math.inf
    if hover is not None:
        settled = settled_temperatures(bench.plant, hover.motor_current, hover.rotor_speed, hover.thrust)[1]
    limit = min(CASE_WARM_C, float(bench.craft.motor.magnet_limit_C))
    message = (
        "where the cases settle in hover, in this air" if hover else "it cannot hover, so nothing settles"
    )
    return at_most("motor_case", settled - CELSIUS, limit, "deg C", message)


def tip_mach(bench: Bench) -> Finding:
    """Tip speed at full throttle."""
    sound = float(speed_of_sound(bench.site.temperature_C + CELSIUS))
    mach = bench.full.rotor_speed * float(bench.plant.rotor_radius) / sound
    return at_most("tip_mach", mach, TIP_MACH, "-", "tip speed over speed of sound, full throttle, full pack")


def propeller_speed(bench: Bench) -> Finding:
    """Rotor speed against the propeller's limit."""
    limit = float(bench.craft.propeller.max_rpm or 0.0)
    message = "at full throttle, full pack, against what the propeller stands"
    return at_most("propeller_speed", bench.full.rotor_speed / RPM, limit, "rpm", message, "misfit")


def motor_speed(bench: Bench) -> Finding:
    """Rotor speed against the motor's limit."""
    limit = float(bench.craft.motor.max_rpm or 0.0)
    message = "at full throttle, full pack, against what the motor stands"
    return at_most("motor_speed", bench.full.rotor_speed / RPM, limit, "rpm", message, "misfit")
