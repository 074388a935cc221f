"""Which response type is flown: the one asked for, unless a safety action takes its place.

A lost link comes first, a low battery second. Both say what they do: `link_action`, `battery_alert`, `mode_in_force`, `armed`.
"""

from __future__ import annotations

from controllers.contract import inner
from controllers.guide_gains import GuideGain, Memory
from controllers.link_loss import knows_way_home, link_loss_action
from controllers.low_battery import battery_alert, too_low_to_return
from controllers.signals import LinkLoss, Mode


@inner
def _mode_home(s, craft, gains, memory):
    """Home while the place is known and the charge lasts, else down on the spot; once it lands it goes on landing."""
    if memory[Memory.LANDS] == 0.0 and not too_low_to_return(craft, memory) and knows_way_home(s, craft):
        return Mode.HOMING.value
    memory[Memory.LANDS] = 1.0
    return Mode.LANDING.value


@inner
def mode_in_force(s, craft, gains, memory):
    """The response type to fly (Mode), also left in `mode_in_force`; arms the motors, or stops them after a cut."""
    mode = int(s.mode)
    action = link_loss_action(s, craft, gains, memory)
    alert = battery_alert(s, craft, gains, memory)
    s.armed = 1.0
    if action == LinkLoss.CUT:
        s.armed = 0.0
        mode = Mode.LANDING.value  # what would be wanted of the motors ends with the fall
    elif action == LinkLoss.LEVEL_DESCENT:
        mode = Mode.LANDING.value
    elif action == LinkLoss.HOMING:
        mode = Mode.LANDING.value if too_low_to_return(craft, memory) else Mode.HOMING.value
    elif alert == 2:
        mode = Mode.LANDING.value
        if gains[GuideGain.BATTERY_HOMES] > 0.5:
            mode = _mode_home(s, craft, gains, memory)
    s.mode_in_force = mode
    return mode
