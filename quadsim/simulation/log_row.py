"""One row of the log, from the state and what the derivative left behind."""

from __future__ import annotations

from quadsim.dynamics.battery import weakest_cell
from quadsim.dynamics.payload import line_swing
from quadsim.dynamics.state import X
from quadsim.jit import inner
from quadsim.kinematics.quaternion import rotation_matrix


@inner
def write_row(t, x, held, plant, carried, row):
    """Write the TRUTH record `row`; the position is that of the frame's origin."""
    r00, r01, r02, r10, r11, r12, r20, r21, r22 = rotation_matrix(
        x[X.QUATERNION], x[X.QUATERNION + 1], x[X.QUATERNION + 2], x[X.QUATERNION + 3]
    )
    a, b, c = plant.centre_of_mass[0], plant.centre_of_mass[1], plant.centre_of_mass[2]
    row.t = t
    row.position[0] = x[X.POSITION] - (r00 * a + r01 * b + r02 * c)
    row.position[1] = x[X.POSITION + 1] - (r10 * a + r11 * b + r12 * c)
    row.position[2] = x[X.POSITION + 2] - (r20 * a + r21 * b + r22 * c)
    for k in range(3):
        row.velocity[k] = x[X.VELOCITY + k]
        row.rates[k] = x[X.RATES + k]
        row.wind[k] = held.wind[k]
    for k in range(4):
        row.attitude[k] = x[X.QUATERNION + k]
        row.rotor_speed[k] = x[X.ROTORS + k]
        row.duty[k] = max(held.duty[k], 0.0)
        row.thrust[k] = held.thrust[k]
        row.motor_current[k] = held.motor_current[k]
        row.winding_temperature[k] = held.winding_temperature[k]
        row.case_temperature[k] = held.case_temperature[k]
    row.descent_ratio, row.edgewise_ratio = held.descent_ratio, held.edgewise_ratio
    row.imu_samples = carried.imu_count
    row.gyro_clipped, row.accel_clipped = carried.gyro_clipped, carried.accel_clipped
    row.charge = x[X.CHARGE]
    row.battery_current = held.battery_current
    row.battery_voltage = held.battery_voltage
    row.weakest_cell = weakest_cell(held, plant)
    row.pack_temperature = held.pack_temperature
    row.contact_force = held.contact_force
    row.mass = plant.mass
    row.load_mass = plant.load_mass
    for k in range(3):
        row.load_position[k] = x[X.LOAD_POSITION + k]
        row.load_velocity[k] = x[X.LOAD_VELOCITY + k]
    row.line_tension = held.line_tension
    row.line_peak = max(held.line_peak, held.line_tension)
    row.line_swing = 0.0
    if held.line_tension > 0.0 and held.load_contact == 0.0:
        row.line_swing = line_swing(x, r00, r01, r02, r10, r11, r12, r20, r21, r22, plant)
    held.line_peak = 0.0
