"""Height above the take-off point from air pressure.

The sensor works in height: pressure errors dp are turned into heights -dp/(rho g) with the air of the field, which is what the
controller's own conversion does up to `baro_scale` (1 when it was told the temperature of the day).
"""

from __future__ import annotations

import math

from quadsim.dynamics.state import X
from quadsim.jit import inner
from quadsim.noise import gauss, sample_key
from quadsim.sensors.inertial import quantised
from quadsim.sensors.place_records import Slow

CHANNEL = 12
"""Channels of the noise and of the drift."""
UNBOUNDED = 1e9
"""No full scale [m]."""


@inner
def sample_barometer(count, slot, t, x, held, plant, sensors, carried):
    """Sample number `count` at time `t` [s], into the delay line.

    Height read = scale (h - port V^2 - wash) + drift + warm-up + noise, with
    port V^2 = Cp V^2/(2 g): pressure coefficient Cp of the port's place at airspeed V (Bernoulli);
    wash: the wakes' pressure below the craft near the ground, k T/(4 A) exp(-z/R)/(rho g), for hubs at z; the form is assumed.
    """
    n, e, d = x[X.VELOCITY] - held.wind[0], x[X.VELOCITY + 1] - held.wind[1], x[X.VELOCITY + 2] - held.wind[2]
    height = -x[X.POSITION + 2] - sensors.baro_port * (n * n + e * e + d * d)
    height -= wash(-x[X.POSITION + 2] - plant.rotor_position[0, 2], held, plant, sensors)
    carried.baro_smooth += sensors.baro_blend * (height * sensors.baro_scale - carried.baro_smooth)
    key = sample_key(carried.key, count)
    if sensors.baro_walk > 0.0:
        carried.baro_drift += sensors.baro_walk * gauss(key, CHANNEL + 1)
    warm = sensors.baro_warm_up[0] * (1.0 - math.exp(-t * sensors.baro_warm_up[1]))
    read = carried.baro_smooth + carried.baro_drift + warm + sensors.baro_noise * gauss(key, CHANNEL + 0)
    carried.slow_line[Slow.BAROMETER, slot, 0] = quantised(read, sensors.baro_step, UNBOUNDED)


@inner
def wash(hubs, held, plant, sensors):
    """Height [m] that the craft's own wake hides while the hubs are `hubs` [m] above the ground."""
    thrust = held.thrust[0] + held.thrust[1] + held.thrust[2] + held.thrust[3]
    return sensors.baro_wash * thrust * math.exp(-max(hubs, 0.0) / plant.rotor_radius)


@inner
def give_barometer(slot, carried, signals):
    """Hand a sample to the controller; a stuck sensor goes on counting and says the same."""
    signals.baro_count += 1.0
    if carried.baro_stuck == 0.0:
        signals.baro_height = carried.slow_line[Slow.BAROMETER, slot, 0]
