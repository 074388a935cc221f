"""Guide, way home: up to a safe height, straight back to the take-off point, down."""

from __future__ import annotations

import math
from enum import IntEnum

from controllers.contract import inner
from controllers.filters import at_least
from controllers.guide_gains import GuideGain, Memory
from controllers.signals import Mode

RISEN = 0.5
"""Distance below the safe height at which the way home begins [m]; assumed."""

ARRIVED = 1.0
"""Distance from the take-off point at which the landing begins, once the place asked for has got there [m]; assumed."""


class Phase(IntEnum):
    """How far a way home has got; `Memory.PHASE`."""

    NONE = 0
    RISING = 1
    RETURNING = 2
    LANDING = 3


@inner
def way_home(s, gains, memory):
    """Goes on with the way home; returns HOMING, or LANDING once it comes down."""
    distance = math.sqrt(s.position[0] * s.position[0] + s.position[1] * s.position[1])
    phase = int(memory[Memory.PHASE])
    if phase == Phase.NONE:
        near = s.airborne == 0.0 or distance < gains[GuideGain.HOMING_NEAR]
        phase = Phase.LANDING.value if near else Phase.RISING.value
        memory[Memory.HEIGHT], memory[Memory.HOLDING] = (
            at_least(s.height, gains[GuideGain.HOMING_HEIGHT]),
            0.0,
        )
    if phase == Phase.RISING and s.height > memory[Memory.HEIGHT] - RISEN:
        phase = Phase.RETURNING.value
    if phase == Phase.RETURNING and distance < ARRIVED:
        asked = memory[Memory.NORTH] ** 2 + memory[Memory.EAST] ** 2
        if asked < 0.1 * ARRIVED * ARRIVED:
            phase = Phase.LANDING.value
    memory[Memory.PHASE] = phase
    return Mode.LANDING.value if phase == Phase.LANDING else Mode.HOMING.value
