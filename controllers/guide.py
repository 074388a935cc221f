"""Guide: one supervisor for all response types, from sticks or set values to attitude, rates and thrust wanted.

On the ground it idles until a rise is wanted, then ramps the thrust until the craft lifts off; in the air it follows;
after touch-down it idles again. `airborne` tells the other blocks. The parts: sticks, attitude, height, place, ground, way
home, each in a file `guide_*`.

References
----------
ADS-33E-PRF (2000), sec. 3.2: names of the response types. ISO 1151-1: angles. Euler rates to body rates: J. Diebel,
Representing Attitude (2006), eq. 79. The rest: common practice, no source.
"""

from __future__ import annotations

from controllers.allocate import thrust_at
from controllers.contract import block, inner
from controllers.filters import limit
from controllers.guide_attitude import command_attitude, command_rates, reset_references
from controllers.guide_gains import SIZE, GuideGain, Memory
from controllers.guide_ground import ground_thrust, stop_motors, watch_ground
from controllers.guide_height import air_thrust, climb_target, reset_height
from controllers.guide_home import way_home
from controllers.guide_position import begin_place
from controllers.signals import LinkLoss, Mode, Stick
from controllers.supervise import mode_in_force

IN_AIR_HEIGHT = 0.3
"""A flight that starts above this height starts in the air [m]; assumed, above pressure noise."""


@inner
def _start(s, gains, memory):
    """First run: in the air or on the ground, all references as things are."""
    memory[Memory.READY] = 1.0
    s.airborne = 1.0 if s.height > IN_AIR_HEIGHT else 0.0
    reset_references(s, memory)
    reset_height(s, gains, memory)


@inner
def _mode_flown(s, gains, memory, mode):
    """The response type that can be flown: without a known place, or a heading tied to north, the nearest that does without.

    Position hold becomes height hold; waypoint and trajectory become level flight at the height and heading set; landing goes on level,
    and homing becomes that landing. What was asked for comes back with the place.
    """
    known = s.position_known > 0.5 and s.heading_known > 0.5
    known = known and int(s.link_action) != LinkLoss.LEVEL_DESCENT  # level as chosen, wherever the wind takes it
    if mode != Mode.HOMING or not known:
        memory[Memory.PHASE] = 0.0
    if mode < Mode.POSITION_HOLD or not known:
        memory[Memory.PLACED] = 0.0
        if mode < Mode.POSITION_HOLD:
            return mode
        if mode == Mode.POSITION_HOLD:
            return Mode.HEIGHT_HOLD.value
        return Mode.SETPOINT.value if mode < Mode.LANDING else Mode.LANDING.value
    if memory[Memory.PLACED] == 0.0:
        memory[Memory.PLACED] = 1.0
        begin_place(s, gains, memory)
    return way_home(s, gains, memory) if mode == Mode.HOMING else mode


@inner
def _thrust_for_height(s, craft, gains, memory, mode):
    """Thrust [N] by height control, in the air or on the ground."""
    target = climb_target(s, craft, gains, memory, mode)
    high = 4.0 * craft.max_thrust * gains[GuideGain.THRUST_HIGH]
    if s.airborne == 0.0:
        return ground_thrust(s, craft, gains, memory, target, high)
    upward = -s.target_acceleration[2] if mode == Mode.TRAJECTORY else 0.0
    return air_thrust(s, craft, gains, memory, target, upward, high)


@block("guide", gains=GuideGain, memory=SIZE)
def response(s, craft, gains, memory):
    """Rates, attitude, height, place, waypoint or trajectory, landing and way home; take-off and touch-down."""
    mode = mode_in_force(s, craft, gains, memory)
    if memory[Memory.READY] == 0.0:
        _start(s, gains, memory)
    mode = _mode_flown(s, gains, memory, mode)
    s.mode_in_force = mode
    if mode == Mode.RATE_COMMAND:
        command_rates(s, gains, memory)
    else:
        command_attitude(s, gains, memory, mode)
    if mode >= Mode.HEIGHT_HOLD:
        s.thrust_wanted = _thrust_for_height(s, craft, gains, memory, mode)
    else:
        s.thrust_wanted = (
            4.0 * craft.max_thrust * thrust_at(limit(s.stick[Stick.THROTTLE], 0.0, 1.0), craft.thrust_curve)
        )
        memory[Memory.RAMP] = 0.0
        reset_height(s, gains, memory)
    watch_ground(s, craft, gains, memory, mode)
    stop_motors(s, gains, memory, mode)
