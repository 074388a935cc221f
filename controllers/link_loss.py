"""Link loss: what is done once the radio has been silent for the failsafe delay, and when control is given back.

Before the delay is over the receiver's last sticks stay in force: neutral ones would jerk the craft at every short gap. Then the
craft's choice acts: motors off; level descent; or the way home, which needs a known place and heading and is a level descent
without. All of it is common practice, no source.
"""

from __future__ import annotations

from controllers.contract import inner
from controllers.guide_gains import GuideGain, Memory
from controllers.signals import LinkLoss, Mode, Stick

STILL_CLIMB, STILL_RATE, STILL_TIME = 0.25, 0.5, 1.0
"""A craft whose motors were cut lies on the ground once it has climbed, sunk [m/s] and turned [rad/s] less than this for a
time [s]; assumed. In a fall the climb rate leaves the band within 0.03 s."""

REARM_STICK = 0.05
"""Throttle stick below which motors that a lost link has stopped may be armed again [-]; assumed."""


@inner
def knows_way_home(s, craft):
    """True when the craft carries what homing needs and knows place and heading now."""
    carried = craft.gnss > 0.5 and craft.compass > 0.5
    return carried and s.position_known > 0.5 and s.heading_known > 0.5


@inner
def _action_now(s, craft):
    """What the craft's choice comes to at this moment."""
    choice = int(craft.link_loss)
    if choice == LinkLoss.HOMING and not knows_way_home(s, craft):
        return LinkLoss.LEVEL_DESCENT.value
    return choice


@inner
def _lands(s):
    """True while the pilot asks for the ground: throttle stick down, and no height set above it."""
    mode = int(s.mode)
    set_height = mode == Mode.SETPOINT or mode == Mode.WAYPOINT or mode == Mode.TRAJECTORY
    return s.stick[Stick.THROTTLE] < REARM_STICK and not (set_height and s.target_height > 0.0)


@inner
def _is_still(s, memory):
    """True when a craft that fell has lain still for STILL_TIME."""
    turning = abs(s.rates[0]) + abs(s.rates[1]) + abs(s.rates[2])
    still = abs(s.climb_rate) < STILL_CLIMB and turning < STILL_RATE
    memory[Memory.STILL] = memory[Memory.STILL] + s.dt if still else 0.0
    return memory[Memory.STILL] > STILL_TIME


@inner
def _keep_acting(s, craft, gains, memory, action):
    """The action of the next run while one is in force: gives control back, or gives the way home up."""
    if action == LinkLoss.CUT and _is_still(s, memory):
        s.airborne = 0.0
    if action == LinkLoss.HOMING:
        memory[Memory.PLACE_LOST] = 0.0 if knows_way_home(s, craft) else memory[Memory.PLACE_LOST] + s.dt
        if memory[Memory.PLACE_LOST] > gains[GuideGain.PLACE_LOST_TIME]:
            action = LinkLoss.LEVEL_DESCENT.value
    memory[Memory.LINK_GOOD] = memory[Memory.LINK_GOOD] + s.dt if s.link > 0.5 else 0.0
    free = _lands(s) if s.airborne == 0.0 else action != LinkLoss.CUT
    return (
        LinkLoss.NONE.value if free and memory[Memory.LINK_GOOD] > gains[GuideGain.LINK_BACK_TIME] else action
    )


@inner
def link_loss_action(s, craft, gains, memory):
    """What is done about a lost link (LinkLoss), also left in `link_action`.

    Silence of `failsafe_delay` starts it. In the air a level descent or a way home ends after LINK_BACK_TIME of good link. Motors
    that were cut stay off to the ground; there, after any of the three, the throttle stick must be down before they turn again.
    """
    action = int(memory[Memory.LINK_ACTION])
    if action != LinkLoss.NONE:
        action = _keep_acting(s, craft, gains, memory, action)
    elif s.link < 0.5 and memory[Memory.LINK_SILENT] > craft.failsafe_delay - 0.5 * s.dt:
        action = _action_now(s, craft)
        memory[Memory.LINK_GOOD] = memory[Memory.STILL] = memory[Memory.PLACE_LOST] = 0.0
    memory[Memory.LINK_SILENT] = 0.0 if s.link > 0.5 else memory[Memory.LINK_SILENT] + s.dt
    memory[Memory.LINK_ACTION] = action
    s.link_action = action
    return action
