"""What the ESCs and the power sensor report: rotor speeds, pack current and voltage, charge used."""

from __future__ import annotations

from quadsim.dynamics.state import X
from quadsim.jit import inner, kernel
from quadsim.sensors.inertial import quantised
from quadsim.sensors.place_records import Slow

UNBOUNDED = 1e9
"""No full scale [rad/s, A, V]."""


@inner
def sample_telemetry(slot, x, sensors, carried):
    """Speed of each rotor, without its sense, at the channel of the ESC that drives it, into the delay line."""
    for i in range(4):
        speed = quantised(abs(x[X.ROTORS + i]), sensors.telemetry_step, UNBOUNDED)
        carried.slow_line[Slow.TELEMETRY, slot, carried.wiring[i]] = speed


@inner
def give_telemetry(slot, carried, signals):
    """Hand the speeds to the controller."""
    for i in range(4):
        signals.rotor_speed[i] = carried.slow_line[Slow.TELEMETRY, slot, i]


@kernel
def read_power(interval, held, sensors, signals):
    """Pack voltage and current as read, and the charge counted from that reading over the `interval` since the last [s]."""
    volts = held.battery_voltage * sensors.voltage_scale
    amps = held.battery_current * sensors.current_scale + sensors.current_offset
    signals.battery_voltage = quantised(volts, sensors.voltage_step, UNBOUNDED)
    signals.battery_current = quantised(amps, sensors.current_step, UNBOUNDED)
    signals.charge_used += signals.battery_current * interval
