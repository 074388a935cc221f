"""As in mutants.py, on the inertial sensor and its clock."""

from __future__ import annotations

import checks_inertial
from mutants import Mutant

SENSOR, BIAS, CLOCK = "sensors.inertial", "sensors.inertial_bias", "sensors.clock"
INERTIAL_MUTANTS = (
    Mutant("centrifugal instead of centripetal", SENSOR, "- a * spin2", "+ a * spin2", checks_inertial.acceleration_off_the_centre),
    Mutant("lever arm of the angular acceleration turned", SENSOR, "qd * c - rd * b", "rd * b - qd * c", checks_inertial.acceleration_off_the_centre),
    Mutant("g-sensitivity transposed", SENSOR, "d[k, 1] * fy", "d[1, k] * fy", checks_inertial.readings_by_their_matrices),
    Mutant("no rectified offset", SENSOR, " + carried.shake_offset[k]", "", checks_inertial.readings_by_their_matrices),
    Mutant("state not taken on to the sample", SENSOR, "x[X.RATES + 2] + late * dx[X.RATES + 2]", "x[X.RATES + 2]", checks_inertial.rates_at_the_time_of_the_sample),
    Mutant("flicker adds its value, not its change", BIAS, "carried.gyro_flicker[k, j] - before", "carried.gyro_flicker[k, j]", checks_inertial.flicker_fades_into_the_bias),
    Mutant("flicker of all axes alike", BIAS, "CHANNEL + 6 * j + k", "CHANNEL + 6 * j", checks_inertial.flicker_keeps_its_variance),
    Mutant("flicker that is white", BIAS, "keep * before + sensors.accel_kick", "sensors.accel_kick", checks_inertial.flicker_fades_into_the_bias),
    Mutant("only positive rates clip", SENSOR, "abs(gyro) > sensors", "gyro > sensors", checks_inertial.clipped_samples_counted),
    Mutant("each clipped axis counts", SENSOR, "carried.accel_clipped += accel_over > 0", "carried.accel_clipped += accel_over", checks_inertial.clipped_samples_counted),
    Mutant("a stuck sensor does not stick", SENSOR, "(slot + RING - 1) % RING", "slot", checks_inertial.a_stuck_sensor_repeats),
    Mutant("parts of a tick forgotten", CLOCK, "parts - clock[Clock.OF]", "0.0", checks_inertial.sample_times_are_exact),
    Mutant("samples read at once", CLOCK, "(tick - delay)", "tick", checks_inertial.the_newest_old_enough_is_read),
)  # fmt: skip
