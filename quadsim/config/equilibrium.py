"""Standing rotors in still air: motor, propeller and battery in balance, solved without a flight.

The same circuit as quadsim.dynamics.drive (u V = i R + kt omega, torque kt (i - i00 - i01 omega) = q omega^2) and the
same map, at zero advance ratio. M. Drela, First-Order DC Electric Motor Model (MIT, 2007). Windings are at the plant's
working temperature unless another is given, the pack at the temperature it starts with.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from quadsim.dynamics.battery import cell_voltage, charge_factor, cold_factor
from quadsim.dynamics.interference import BODY_LIFT, HIGHEST, ground_gain
from quadsim.dynamics.motor_heat import winding_resistance
from quadsim.dynamics.rotor import TREND_MOST
from quadsim.dynamics.rotor_map import AXIAL_MIN, AXIAL_STEP

HOVER_NODE = round(-AXIAL_MIN / AXIAL_STEP)
"""Row of the map at zero axial advance ratio; column 0 is zero in-plane."""


def plain(formula: Any) -> Callable[..., float]:
    """A kernel as plain Python, so that nothing is compiled for a few points."""
    return getattr(formula, "py_func", formula)


open_circuit_cell = plain(cell_voltage)
"""The battery's open-circuit curve [V]."""
_winding_resistance, _cold_factor, _charge_factor, _ground_gain = map(
    plain, (winding_resistance, cold_factor, charge_factor, ground_gain)
)


@dataclass(frozen=True)
class Balance:
    """Four rotors standing still: all quantities per rotor, or of the pack where it says so.

    duty : share of the pack voltage across each motor, and the motor command [-]
    rotor_speed : [rad/s]; thrust, torque : [N], [N m]; motor_current : [A]
    pack_voltage, pack_current, pack_power : at the pack, with everything that is not a motor [V], [A], [W]
    limited : True when the current limit holds the motor back
    """

    duty: float
    rotor_speed: float
    thrust: float
    torque: float
    motor_current: float
    pack_voltage: float
    pack_current: float
    limited: bool

    @property
    def pack_power(self) -> float:
        """Electrical power out of the pack [W]."""
        return self.pack_voltage * self.pack_current


def static_factors(plant: Any, speed: float | None = None) -> tuple[float, float]:
    """Thrust [N s2] (less the installed loss and a payload's download) and torque [N m s2] of a standing rotor over
    speed squared, the mean of the four, at a speed [rad/s] or at the map's own."""
    node = plant.rotor_map[HOVER_NODE, 0]
    ct, cp = float(node[0]), float(node[1])
    if speed is not None and speed > 0.0 and plant.map_speed > 0.0:
        trend = min(max(math.log(speed / float(plant.map_speed)), -TREND_MOST), TREND_MOST)
        slope = plant.rotor_trend[HOVER_NODE, 0]
        ct, cp = ct + trend * float(slope[0]), cp + trend * float(slope[1])
    diameter = 2.0 * float(plant.rotor_radius)
    scale = float(plant.air_density) * diameter**4 / (4.0 * math.pi**2)
    kept = (1.0 - float(plant.installed_loss)) * (1.0 - sum(map(float, plant.download)) / 4.0)
    return scale * ct * kept, scale * diameter * cp / (2.0 * math.pi)


def speed_for(plant: Any, thrust: float) -> float:
    """Speed [rad/s] at which a standing rotor gives a thrust [N]; the map's weak trend with speed settles in some passes."""
    return _settled(lambda speed: math.sqrt(thrust / static_factors(plant, speed)[0]), float(plant.map_speed))


def _settled(step: Callable[[float], float], value: float) -> float:
    """Fixed point of a step that hardly depends on where it starts; 12 passes leave nothing of a trend of some percent."""
    for _ in range(12):
        before, value = value, step(value)
        if abs(value - before) <= 1e-13 * abs(value):
            break
    return value


def circuit_resistance(plant: Any, winding: float | None = None) -> float:
    """Resistance of one motor's circuit [ohm] with its winding at a temperature [K], or at the working temperature."""
    return float(_winding_resistance(float(plant.working_temperature if winding is None else winding), plant))


def motor_load(plant: Any, speed: float, winding: float | None = None) -> tuple[float, float]:
    """Motor current [A] and voltage across the motor [V] that keep a standing rotor at a speed [rad/s]."""
    _, q = static_factors(plant, speed)
    kt = float(plant.torque_constant)
    current = float(plant.no_load_current) + float(plant.no_load_slope) * speed + q * speed**2 / kt
    return current, current * circuit_resistance(plant, winding) + kt * speed


def spin_up(plant: Any, volts: float, winding: float | None = None) -> tuple[float, float, bool]:
    """Speed [rad/s] and current [A] of a motor with `volts` across it, and whether its current limit holds.

    The root of q omega^2 + kt (kt/R + i01) omega - kt (volts/R - i00) = 0, q at that speed.
    """
    kt, r = float(plant.torque_constant), circuit_resistance(plant, winding)
    i00, i01 = float(plant.no_load_current), float(plant.no_load_slope)
    drive = kt * (volts / r - i00)
    if drive <= 0.0:
        return 0.0, max(volts, 0.0) / r, False
    speed = _driven(plant, kt * (kt / r + i01), drive)
    current = (volts - kt * speed) / r
    limit = float(plant.current_limit)
    if current > limit:
        return _driven(plant, kt * i01, kt * max(limit - i00, 0.0)), limit, True
    return speed, current, False


def _driven(plant: Any, slope: float, drive: float) -> float:
    """Speed [rad/s] at which propeller and losses take up what drives: q w^2 + slope w = drive."""
    return _settled(
        lambda speed: _root(static_factors(plant, speed)[1], slope, drive), float(plant.map_speed)
    )


def _root(q: float, slope: float, drive: float) -> float:
    """Positive root of q w^2 + slope w = drive."""
    if drive <= 0.0:
        return 0.0
    return 2.0 * drive / (slope + math.sqrt(slope * slope + 4.0 * q * drive))


def balance_at_voltage(plant: Any, duty: float, pack_voltage: float) -> Balance:
    """All four motors at one duty with a given voltage at the pack."""
    speed, current, limited = spin_up(plant, duty * pack_voltage)
    f, q = static_factors(plant, speed)
    across = current * circuit_resistance(plant) + float(plant.torque_constant) * speed
    drawn = float(plant.avionics_current) + 4.0 * current * across / pack_voltage
    return Balance(duty, speed, f * speed**2, q * speed**2, current, pack_voltage, drawn, limited)


def balance(plant: Any, duty: float, charge: float = 1.0, settled: bool = False) -> Balance:
    """All four motors at one duty on the pack at a state of charge 0..1; the pack voltage by regula falsi.

    settled : with the slow voltage drop of a pack that has given this current for minutes.
    """
    source, resistance = pack_source(plant, charge, settled)

    def excess(volts: float) -> float:
        return source - resistance * balance_at_voltage(plant, duty, volts).pack_current - volts

    return balance_at_voltage(plant, duty, _crossing(excess, 0.02 * source, source))


def _crossing(excess: Callable[[float], float], low: float, high: float) -> float:
    """Where a falling function crosses zero between two values, or the end nearer to it: regula falsi, Illinois variant.

    M. Dowell & P. Jarratt, BIT 11, 1971, 168-174 (from memory). Some eight calls where bisection takes fifty.
    """
    above, below = excess(low), excess(high)
    if above <= 0.0 or below >= 0.0:
        return low if above <= 0.0 else high
    middle, side = high, 0
    for _ in range(60):
        before, middle = middle, (low * below - high * above) / (below - above)
        value = excess(middle)
        if value == 0.0 or abs(middle - before) <= 1e-14 * abs(middle):
            break
        if value > 0.0:
            low, above, below = middle, value, 0.5 * below if side > 0 else below
            side = 1
        else:
            high, below, above = middle, value, 0.5 * above if side < 0 else above
            side = -1
    return middle


def hover_balance(
    plant: Any,
    charge: float = 1.0,
    settled: bool = False,
    winding: float | None = None,
    pack: float | None = None,
    height: float = math.inf,
) -> Balance | None:
    """The rotors just carrying the craft; None when the pack cannot feed that.

    winding, pack : temperatures [K]; the working temperature and that of the pack at the start when left out.
    height : of the hubs over the ground [m]; close to it less speed carries the craft.
    Closed form: the thrust gives the speed, the torque the current, and V = E - R (I0 + 4 P/V) the pack voltage.
    """
    thrust = float(plant.mass * plant.gravity) / 4.0
    speed = speed_for(plant, thrust / hover_ground_gain(plant, height))
    _, q = static_factors(plant, speed)
    current, across = motor_load(plant, speed, winding)
    source, resistance = pack_source(plant, charge, settled, pack)
    open_side = source - resistance * float(plant.avionics_current)
    discriminant = open_side**2 - 16.0 * resistance * across * current
    if discriminant < 0.0 or current > plant.current_limit:
        return None
    volts = 0.5 * (open_side + math.sqrt(discriminant))
    if across > volts:
        return None
    drawn = float(plant.avionics_current) + 4.0 * across * current / volts
    return Balance(across / volts, speed, thrust, q * speed**2, current, volts, drawn, False)


def hover_ground_gain(plant: Any, height: float) -> float:
    """Thrust of the four rotors in hover with their hubs at a height [m] over what it is far from the ground [-]."""
    radius = float(plant.rotor_radius)
    if height >= HIGHEST * radius:
        return 1.0
    return _ground_gain(height, 0.0, radius, float(plant.beside), float(plant.across), BODY_LIFT)


def pack_source(plant: Any, charge: float, settled: bool, pack: float | None = None) -> tuple[float, float]:
    """Open-circuit voltage [V] and resistance [ohm] of the pack at a charge and a temperature [K]."""
    source = float(plant.cells * open_circuit_cell(float(charge), float(plant.full_cell_voltage)))
    warm = float(plant.pack_temperature if pack is None else pack)
    factor = _cold_factor(warm, plant) * _charge_factor(float(charge), plant)
    cells = float(plant.pack_resistance + (plant.relaxation_resistance if settled else 0.0))
    return source, float(cells * factor) + float(plant.lead_resistance)


STEEPEST = 1.05
"""Greatest k of a thrust curve: above 1 where thrust grows faster than the square of the command, as CT does with
Reynolds number; with more than 1/(1 - idle) a motor at idle would count as lifting nothing."""


def thrust_curve(plant: Any, pack_voltage: float) -> tuple[float, float, float]:
    """Greatest thrust of one rotor [N], k of its thrust curve, and the hover command, all at one loaded pack voltage.

    thrust/greatest = k u^2 + (1 - k) u is made to hold at full command and in hover. A craft that cannot hover at that
    voltage gets the k of half command, and hover command 1.
    """
    pack_voltage = float(pack_voltage)
    greatest = balance_at_voltage(plant, 1.0, pack_voltage).thrust
    wanted = float(plant.mass * plant.gravity) / 4.0
    if wanted < greatest:
        command = _command_for(plant, wanted, pack_voltage)
        share, hover = wanted / greatest, command
    else:
        command, hover = 0.5, 1.0
        share = balance_at_voltage(plant, command, pack_voltage).thrust / greatest
    k = (command - share) / (command - command * command)
    return greatest, min(max(k, 0.0), STEEPEST), hover


def _command_for(plant: Any, thrust: float, pack_voltage: float) -> float:
    """Command that gives one rotor this thrust [N] at a pack voltage [V]."""
    return motor_load(plant, speed_for(plant, thrust))[1] / pack_voltage
