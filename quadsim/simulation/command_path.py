"""The way of a command: from sticks and targets to the controller, and from the controller through the ESC to the motors."""

from __future__ import annotations

import numpy as np

from controllers.sticks import received
from quadsim.jit import inner, kernel
from quadsim.sensors.records import BLENDS, RING


@inner
def read_commands(tick, commands, clock, signals):
    """Hand sticks and targets due at `tick` to the controller; the last row of the table stays in force.

    Sticks and mode come over the radio link: late, so many times a second, in steps and with the transmitter's trims. Without
    a link nothing new comes, the receiver repeats its last ones. Targets are known aboard.
    """
    last = commands.shape[0] - 1
    sent = max(tick - clock.stick_delay, 0)
    sent -= sent % clock.stick_every
    row = commands[min(sent // clock.command_every, last)]
    signals.link = row[1]
    if row[1] > 0.5 or tick == 0:
        signals.mode = row[0]
        for k in range(3):
            signals.stick[k] = received(row[2 + k], clock.trim[k], clock.stick_steps, -1.0)
        signals.stick[3] = received(row[5], 0.0, clock.stick_steps, 0.0)
    row = commands[min(tick // clock.command_every, last)]
    signals.target_roll, signals.target_pitch = row[6], row[7]
    signals.target_yaw, signals.target_height = row[8], row[9]
    signals.target_north, signals.target_east = row[10], row[11]
    for k in range(3):
        signals.target_velocity[k], signals.target_acceleration[k] = row[12 + k], row[15 + k]


@kernel
def command_motors(tick, looking, sensors, carried, held):
    """Motor commands in force at `tick`: delay line, wiring, the ESC's clock, resolution and lag, into `held.duty`.

    looking : once a millisecond, when the lag is renewed
    """
    age = max(tick - int(sensors.motor_delay), 0)
    slot = age % RING
    levels = sensors.motor_levels
    per_level = 1.0 / levels
    if sensors.motor_every > 1.0:
        latch(tick, slot, sensors, carried)
    if looking:
        hold_lags(sensors, carried)
    for i in range(4):
        command = np.rint(carried.motor_line[slot, carried.wiring[i]] * levels) * per_level
        change = command - carried.motor_smooth[i]
        blend = carried.blend_up[i] if change > 0.0 else carried.blend_down[i]
        carried.motor_smooth[i] += blend * change
        held.duty[i] = -1.0 if carried.disconnected[i] > 0.0 else carried.motor_smooth[i]


@inner
def latch(tick, slot, sensors, carried):
    """An ESC with a clock of its own keeps the commands that it took over last: what it would read in between gives way."""
    fresh = tick % int(sensors.motor_every) == 0
    for i in range(4):
        if fresh:
            carried.motor_taken[i] = carried.motor_line[slot, i]
        else:
            carried.motor_line[slot, i] = carried.motor_taken[i]


@inner
def hold_lags(sensors, carried):
    """Bring up to date the ESC's lag at the present commands: `motor_blend` holds a share down and up at equal steps."""
    for i in range(4):
        k = int(carried.motor_smooth[i] * (BLENDS - 1) + 0.5)
        carried.blend_down[i], carried.blend_up[i] = sensors.motor_blend[0, k], sensors.motor_blend[1, k]
