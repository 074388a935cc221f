"""The flight loop: one tick after another, resumable at any tick, the same bits whatever the chunks.

Order within a tick: what is in force (motor commands, wind), the derivative, what is sensed from it, the control
chain, the log, the step. A command computed in a tick is in force one tick later at the earliest.
"""

from __future__ import annotations

import math

import numpy as np

from controllers.contract import Chain
from controllers.signals import BUILDER, SIGNALS
from quadsim.dynamics.battery import weak_charge
from quadsim.dynamics.derivative import derivative, refresh_held
from quadsim.dynamics.drive import hold_circuit
from quadsim.dynamics.ground import body_upright, kinetic_energy, lowest_tip
from quadsim.dynamics.motor_heat import warm_drive
from quadsim.dynamics.records import GUSTS, HELD, PLANT, WIND
from quadsim.dynamics.rigid_body import stop_blocked
from quadsim.dynamics.state import SIZE, X
from quadsim.dynamics.vortex_ring import hold_descent_ratios, in_vortex_ring
from quadsim.environment.wind import wind_at
from quadsim.integrators.fixed_step import make_rk4, make_semi_implicit
from quadsim.jit import BOOLEAN, INTEGER, JIT, MATRIX, as_block, kernel, record_type, rows_type
from quadsim.kinematics.quaternion import renormalise
from quadsim.sensors.barometer import sample_barometer
from quadsim.sensors.inertial import read_inertial, sample_inertial
from quadsim.sensors.records import BLENDS, RING, SENSORS
from quadsim.sensors.vibration import update_vibration
from quadsim.simulation.carried import CARRIED, CLOCK, MOTION, Note, Status
from quadsim.simulation.columns import TRUTH
from quadsim.simulation.log_row import write_row
from quadsim.simulation.watch_drive import note, watch_drive

NEAR_GROUND = 1.0
"""Height of the centre of mass below which strikes are looked for [m]."""
TUMBLING = 25.0
"""Square of the angular rate beyond which what is held is renewed at every tick [rad2/s2]; see HOLD_S of the session."""
FAST = 1e4
"""Rate or speed beyond which a flight counts as diverged [rad/s, m/s]."""
RING_LOOKS = 100
"""Looks (one per millisecond) in a row inside the vortex-ring state that make it an event; assumed."""
BOUNCE_LOOKS = 100
"""Looks (one per millisecond) off the ground that make the next contact a new touch-down; assumed."""
LYING = math.cos(math.radians(65.0))
"""Cosine of the tilt beyond which a craft that touches the ground lies on its side or back; assumed."""
LYING_LOOKS = 300
"""Looks (one per millisecond) in which it must do so; assumed."""
STRIKING = 5.0
"""Speed of the blade tips below which a propeller that touches the ground only stops [m/s]; assumed."""

_places = np.zeros(SIZE, np.bool_)
_places[X.POSITION : X.POSITION + 3] = True
_places[X.QUATERNION : X.QUATERNION + 4] = True
_places[X.LOAD_POSITION : X.LOAD_POSITION + 3] = True
rk4_step = make_rk4(derivative)
semi_implicit_step = make_semi_implicit(derivative, _places)


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


@kernel
def latch(tick, slot, sensors, carried):
    """An ESC with a clock of its own keeps the commands that it took over last: what it would read in between gives way."""
    fresh = tick % int(sensors.motor_every) == 0
    for i in range(4):
        if fresh:
            carried.motor_taken[i] = carried.motor_line[slot, i]
        else:
            carried.motor_line[slot, i] = carried.motor_taken[i]


@kernel
def hold_lags(sensors, carried):
    """Bring up to date the ESC's lag at the present commands: `motor_blend` holds a share down and up at equal steps."""
    for i in range(4):
        k = int(carried.motor_smooth[i] * (BLENDS - 1) + 0.5)
        carried.blend_down[i], carried.blend_up[i] = sensors.motor_blend[0, k], sensors.motor_blend[1, k]


@kernel
def watch_ground(x, held, plant, carried):
    """Notice lift-off, touch-down, crash, tip-over and propeller strike near the ground."""
    sink = x[X.VELOCITY + 2]
    energy = kinetic_energy(x, plant)
    if held.contact_force > 0.0:
        if carried.touching == 0 and carried.clear_looks > BOUNCE_LOOKS:
            impact = max(sink, carried.sink)  # the feet may have braked it since the last look
            energy = max(energy, carried.energy)
            note(carried, Note.TOUCH_DOWN, impact, energy)
            if impact > plant.crash_speed:
                carried.status, carried.value = Status.CRASHED, impact
        carried.touching, carried.clear_looks = 1, 0
    else:
        carried.clear_looks += 1
        if carried.touching == 1 and carried.clear_looks > BOUNCE_LOOKS:
            note(carried, Note.LIFT_OFF, 0.0)
            carried.touching = 0
    carried.sink, carried.energy = sink, energy
    upright = body_upright(x)
    carried.lying_looks = carried.lying_looks + 1 if carried.touching == 1 and upright < LYING else 0
    if carried.lying_looks > LYING_LOOKS:
        carried.status, carried.value = Status.TIPPED_OVER, math.acos(max(upright, -1.0))
    if lowest_tip(x, plant, STRIKING / plant.rotor_radius) < 0.0:
        speed = math.sqrt(x[X.VELOCITY] ** 2 + x[X.VELOCITY + 1] ** 2 + sink**2)
        carried.status, carried.value = Status.PROPELLER_STRIKE, speed


@kernel
def watch_descent(x, held, plant, carried):
    """Notice that the craft has sunk in its own wake for a tenth of a second."""
    hold_descent_ratios(x, held, plant)
    inside = in_vortex_ring(held.descent_ratio, held.edgewise_ratio)
    carried.ring_looks = carried.ring_looks + 1 if inside else 0
    if carried.ring_looks == RING_LOOKS:
        note(carried, Note.VORTEX_RING, held.descent_ratio)


@kernel
def watch_load(x, held, plant, carried):
    """Notice that a load leaves the ground or comes down on it, and that its line gets taut or slack."""
    sink = x[X.LOAD_VELOCITY + 2]
    if held.load_contact > 0.0:
        if carried.load_touching == 0:
            note(carried, Note.LOAD_TOUCH_DOWN, max(sink, carried.load_sink))
        carried.load_touching, carried.load_clear_looks = 1, 0
    else:
        carried.load_clear_looks += 1
        if carried.load_touching == 1 and carried.load_clear_looks > BOUNCE_LOOKS:
            note(carried, Note.LOAD_LIFT_OFF, 0.0)
            carried.load_touching = 0
    carried.load_sink = sink
    held.line_peak = max(held.line_peak, held.line_tension)
    if held.line_tension > 0.0:
        if carried.line_taut == 0:
            note(carried, Note.LINE_TAUT, 0.0)
        carried.line_taut, carried.line_slack_looks = 1, 0
    else:
        carried.line_slack_looks += 1
        if carried.line_taut == 1 and carried.line_slack_looks > BOUNCE_LOOKS:
            if plant.line_stiffness > 0.0:
                note(carried, Note.LINE_SLACK, 0.0)
            carried.line_taut = 0


@kernel
def watch(x, held, plant, carried):
    """Set the status when the flight must end."""
    watch_drive(x, held, plant, carried)
    size = 0.0
    for k in range(x.size):
        size += abs(x[k]) if (X.VELOCITY <= k < X.ROTORS) else 0.0 * x[k]
    if not size < FAST:
        carried.status = Status.DIVERGED
    elif min(x[X.CHARGE], weak_charge(x[X.CHARGE], held.cell_shortfall)) <= 0.0:
        carried.status = Status.BATTERY_EMPTY
    watch_descent(x, held, plant, carried)
    if plant.load_mass > 0.0:
        watch_load(x, held, plant, carried)
    if x[X.POSITION + 2] > -NEAR_GROUND:
        watch_ground(x, held, plant, carried)
    else:
        carried.touching, carried.clear_looks, carried.lying_looks = 0, carried.clear_looks + 1, 0


@kernel
def renew(t, look, since, x, winds, gusts, wind, carried, held, plant):
    """What is held over some ticks: the wind, warmth at looks (`look` >= 0, `since` the last one [s]), and all that follows."""
    north, east, height = x[X.POSITION], x[X.POSITION + 1], -x[X.POSITION + 2]
    vn, ve, vd = x[X.VELOCITY], x[X.VELOCITY + 1], x[X.VELOCITY + 2]
    wind_at(t, look, north, east, height, vn, ve, vd, winds, gusts, wind, carried, held)
    if look >= 0:
        warm_drive(look, since, x, held, plant)
    stop_blocked(x, held, plant)
    refresh_held(x, held, plant)


@kernel
def read_commands(tick, commands, clock, signals):
    """Hand sticks and targets due at `tick` to the controller; the last row of the table stays in force."""
    row = commands[min(tick // clock.command_every, commands.shape[0] - 1)]
    signals.mode, signals.link = row[0], row[1]
    for k in range(4):
        signals.stick[k] = row[2 + k]
    signals.target_roll, signals.target_pitch = row[6], row[7]
    signals.target_yaw, signals.target_height = row[8], row[9]


@kernel
def finite4(values):
    """True when all four numbers are finite."""
    return math.isfinite(values[0] + values[1] + values[2] + values[3])


@kernel
def finite3(values):
    """True when all three numbers are finite."""
    return math.isfinite(values[0] + values[1] + values[2])


FLY = None
if JIT:
    _records = [
        record_type(d) for d in (MOTION, HELD, PLANT, SENSORS, CARRIED, CLOCK, SIGNALS, BUILDER, WIND)
    ]
    _logs = [rows_type(d) for d in (GUSTS, TRUTH, SIGNALS)]
    FLY = INTEGER(*_records, MATRIX, MATRIX, Chain, MATRIX, MATRIX, *_logs, INTEGER, BOOLEAN)


@kernel(signature=FLY, nogil=True)
def fly_ticks(
    motion, held, plant, sensors, carried, clock, signals, builder, wind, gains, memory, chain, commands, winds, gusts, truth,
    heard, ticks, stepping,
):  # fmt: skip
    """Fly up to `ticks` ticks, fewer when the flight ends or the log is full; returns how many were flown.

    With `stepping` False everything of a tick is done but the step itself: the caller advances the state (adaptive
    solvers do).
    """
    estimate, guide, attitude = as_block(chain[0]), as_block(chain[1]), as_block(chain[2])
    rate, allocate = as_block(chain[3]), as_block(chain[4])
    g0, g1, g2, g3, g4 = gains[0], gains[1], gains[2], gains[3], gains[4]
    m0, m1, m2, m3, m4 = memory[0], memory[1], memory[2], memory[3], memory[4]
    e0, e1, e2, e3, e4 = clock.every[0], clock.every[1], clock.every[2], clock.every[3], clock.every[4]
    imu_every, baro_every = int(sensors.imu_every), int(sensors.baro_every)
    refresh_every = clock.refresh_every
    h, x, k1, k, y, total = clock.h, motion.x, motion.k1, motion.k, motion.y, motion.total
    flown = 0
    while flown < ticks and carried.rows < truth.shape[0]:
        tick = carried.tick
        t = tick * h
        looking = tick % refresh_every == 0
        command_motors(tick, looking, sensors, carried, held)
        turning = x[X.RATES] ** 2 + x[X.RATES + 1] ** 2 + x[X.RATES + 2] ** 2
        if looking or turning > TUMBLING:
            look = tick // refresh_every if looking else -1
            renew(t, look, h * refresh_every, x, winds, gusts, wind, carried, held, plant)
        hold_circuit(held, plant)
        derivative(t, x, held, plant, k1)
        if looking:
            watch(x, held, plant, carried)
        if tick % imu_every == 0:
            if sensors.shaking > 0.0:
                update_vibration(x, k1, held, plant, sensors, carried)
            sample_inertial(tick // imu_every, x, k1, held.force, plant.mass, sensors, carried)
        if tick % baro_every == 0:
            sample_barometer(tick // baro_every, -x[X.POSITION + 2], sensors, carried, signals)
        signals.t = t
        if tick % e0 == 0:
            read_inertial(tick, sensors, carried, signals)
            signals.battery_voltage, signals.battery_current = held.battery_voltage, held.battery_current
            signals.dt = h * e0
            estimate(signals, builder, g0, m0)
            if not (finite4(signals.attitude) and finite3(signals.rates) and math.isfinite(signals.height)):
                carried.status, carried.failed_block = Status.BLOCK_NOT_FINITE, 0
        if tick % e1 == 0:
            read_commands(tick, commands, clock, signals)
            signals.dt = h * e1
            guide(signals, builder, g1, m1)
            if not (finite4(signals.attitude_wanted) and math.isfinite(signals.thrust_wanted)):
                carried.status, carried.failed_block = Status.BLOCK_NOT_FINITE, 1
        if tick % e2 == 0:
            signals.dt = h * e2
            attitude(signals, builder, g2, m2)
            if not finite3(signals.rates_wanted):
                carried.status, carried.failed_block = Status.BLOCK_NOT_FINITE, 2
        if tick % e3 == 0:
            signals.dt = h * e3
            rate(signals, builder, g3, m3)
            if not finite3(signals.angular_acceleration_wanted):
                carried.status, carried.failed_block = Status.BLOCK_NOT_FINITE, 3
        if tick % e4 == 0:
            signals.dt = h * e4
            allocate(signals, builder, g4, m4)
            if not finite4(signals.motor):
                carried.status, carried.failed_block = Status.BLOCK_NOT_FINITE, 4
        if tick % clock.log_every == 0 or carried.status != Status.FLYING:
            write_row(t, x, held, plant, truth[carried.rows])
            heard[carried.rows] = signals
            carried.rows += 1
        if carried.status != Status.FLYING:
            break
        slot = (tick + 1) % RING
        for i in range(4):
            carried.motor_line[slot, i] = min(max(signals.motor[i], 0.0), 1.0)
        if stepping:
            if clock.semi_implicit == 1:
                semi_implicit_step(t, x, held, plant, h, k1, k, y, total)
            else:
                rk4_step(t, x, held, plant, h, k1, k, y, total)
            renormalise(x, X.QUATERNION)
        carried.tick += 1
        flown += 1
    return flown
