"""Low battery: charge left, from the charge counted and from the voltage at rest, against the reserve and the way home.

A loaded voltage says little: at full throttle it sags by a tenth at any charge. The resistance of the pack times the current is
added back, the sum smoothed over some seconds, and taken for the voltage at rest. The charge counted knows nothing of a pack that
was not full; so the less of the two counts. One weak cell of several is hidden in the pack's voltage: the margin must pay for it.
All common practice, no source.
"""

from __future__ import annotations

import math

from controllers.contract import inner, kernel
from controllers.filters import at_least, at_most, limit
from controllers.guide_gains import GuideGain, Memory
from controllers.link_loss import knows_way_home
from controllers.signals import Mode

REST_CHARGE = (0.0, 0.05, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0)
REST_VOLTAGE = (3.27, 3.61, 3.69, 3.73, 3.77, 3.80, 3.84, 3.87, 3.95, 4.02, 4.11, 4.20)
"""Voltage at rest [V] of a lithium-polymer cell over its charge, as charts of the trade give it; common practice, from memory."""

NEVER_FAR = 0.5
"""Share of the reserve below which nothing flies home any more but lands where it is; assumed."""


@kernel
def charge_at_rest(volts):
    """State of charge 0..1 of a cell whose voltage at rest is `volts` [V]: straight lines through the chart."""
    for k in range(1, len(REST_VOLTAGE)):
        if volts < REST_VOLTAGE[k]:
            share = (volts - REST_VOLTAGE[k - 1]) / (REST_VOLTAGE[k] - REST_VOLTAGE[k - 1])
            return at_least(REST_CHARGE[k - 1] + share * (REST_CHARGE[k] - REST_CHARGE[k - 1]), 0.0)
    return 1.0


@inner
def _smooth(s, craft, gains, memory):
    """Voltage of a cell at rest [V] and current in the air [A], in first-order low-passes that start at their first values."""
    rest = (s.battery_voltage + craft.pack_resistance * s.battery_current) / craft.cells
    blend = 1.0
    if memory[Memory.REST_VOLTAGE] > 0.0:
        blend = limit(s.dt / (gains[GuideGain.BATTERY_SMOOTHING] + s.dt + 1e-12), 0.0, 1.0)
    memory[Memory.REST_VOLTAGE] += blend * (rest - memory[Memory.REST_VOLTAGE])
    if s.airborne > 0.0:
        if memory[Memory.HOVER_CURRENT] <= 0.0:
            blend = 1.0
        memory[Memory.HOVER_CURRENT] += blend * (s.battery_current - memory[Memory.HOVER_CURRENT])


@inner
def _charge_home(s, craft, gains, memory):
    """Share of the capacity that the way home and the landing take [-], at the smoothed current; 0 where there is no way home.

    I (d/v + climb/v_climb + h/v_sink) HOME_MARGIN: back at HOMING_SPEED, up to the safe height before, down from it at SINK_MAX.
    """
    if s.airborne == 0.0 or not knows_way_home(s, craft):
        return 0.0
    distance = math.sqrt(s.position[0] * s.position[0] + s.position[1] * s.position[1])
    top, climb = at_least(s.height, 0.0), 0.0
    if distance > gains[GuideGain.HOMING_NEAR]:
        top = at_least(top, gains[GuideGain.HOMING_HEIGHT])
        climb = top - s.height
    seconds = distance / (gains[GuideGain.HOMING_SPEED] + 1e-9) + climb / (gains[GuideGain.CLIMB_MAX] + 1e-9)
    seconds += top / (gains[GuideGain.SINK_MAX] + 1e-9)
    return (
        gains[GuideGain.HOME_MARGIN] * at_least(memory[Memory.HOVER_CURRENT], 0.0) * seconds / craft.capacity
    )


@inner
def _for_a_while(happens, s, gains, memory, timer):
    """True once `happens` has held for BATTERY_TIME; from then on it stays true, as a pack does not fill again in flight."""
    span = gains[GuideGain.BATTERY_TIME]
    if memory[timer] > span:
        return True
    memory[timer] = memory[timer] + s.dt if happens else 0.0
    return memory[timer] > span


@inner
def _may_act(s, gains):
    """True when a low battery may take the craft: never from a pilot at the sticks unless BATTERY_ACTS says so."""
    mode, acts = int(s.mode), gains[GuideGain.BATTERY_ACTS]
    sticks = mode <= Mode.HEIGHT_HOLD or mode == Mode.POSITION_HOLD
    return acts > 1.5 or (acts > 0.5 and not sticks)


@inner
def battery_alert(s, craft, gains, memory):
    """0 fine, 1 low: warned, 2 acting on it; also left in `battery_alert`. What is left goes to `Memory.CHARGE_LEFT`.

    It warns when what is left after the reserve and the way home falls below BATTERY_MARGIN, and acts when nothing is left.
    """
    memory[Memory.CHARGE_LEFT] = 1.0
    s.battery_alert = 0.0
    if craft.capacity <= 0.0 or craft.cells <= 0.0 or s.battery_voltage <= 0.0:
        return 0
    _smooth(s, craft, gains, memory)
    left = at_most(1.0 - s.charge_used / craft.capacity, charge_at_rest(memory[Memory.REST_VOLTAGE]))
    memory[Memory.CHARGE_LEFT] = left
    spare = left - craft.reserve - _charge_home(s, craft, gains, memory)
    warned = _for_a_while(spare < gains[GuideGain.BATTERY_MARGIN], s, gains, memory, Memory.WARN_TIME)
    spent = _for_a_while(spare < 0.0, s, gains, memory, Memory.SPENT_TIME)
    alert = 1 if warned or spent else 0
    if spent and _may_act(s, gains):
        alert = 2
    s.battery_alert = alert
    return alert


@inner
def too_low_to_return(craft, memory):
    """True when so little is left that only a landing on the spot remains."""
    return memory[Memory.CHARGE_LEFT] < NEVER_FAR * craft.reserve
