"""Gains of the Kalman filter: noise beyond the data sheet's, gates and rates."""

from __future__ import annotations

from controllers.contract import Gains


class KalmanGain(Gains):
    """The sensors' own noise comes from the builder's record. Defaults without a source are assumed, and tried in flight."""

    COVARIANCE_RATE = 0, "Hz", 100.0, 10.0, 1000.0
    """At which the covariance is brought up to date; besides whenever something is measured."""
    GYRO_FACTOR = 1, "-", 3.0, 0.1, 100.0
    """Noise believed over the data sheet's: vibration, scale and alignment errors are in it."""
    ACCEL_FACTOR = 2, "-", 10.0, 0.1, 100.0
    GYRO_WALK = 3, "rad/s/rts", 1e-4, 0.0, 0.1
    """Growth of the bias's uncertainty, its standard deviation after 1 s."""
    ACCEL_WALK = 4, "m/s2/rts", 5e-3, 0.0, 1.0
    GATE = 5, "-", 5.0, 1.0, 1000.0
    """Innovations beyond so many standard deviations are not believed."""
    FIX_FACTOR = 6, "-", 3.0, 0.1, 100.0
    """Spread of a fix's place believed over the data sheet's: it wanders for minutes, and the mean of many is no better."""
    FIX_AGE = 7, "s", 10.0, 0.5, 600.0
    """Without a fix that is believed for so long, the place counts as unknown."""
    BARO_SPREAD = 8, "m", 0.5, 0.0, 50.0
    """Added to the barometer's own: drift and pressure of the airflow."""
    RANGE_SPREAD = 9, "m", 0.1, 0.0, 50.0
    """Added to the rangefinder's own: unevenness of the ground."""
    RANGE_HEIGHT = 10, "m", 3.0, 0.0, 100.0
    """Below it the distance to the ground is taken for the height; 0: never. The ground is taken for level."""
    HEADING_SPREAD = 11, "rad", 0.1, 0.0, 3.0
    """Added to the magnetometer's own: what calibration left, currents; its error lasts, so a sample counts for little."""
    FIELD_TRUST = 12, "-", 0.3, 0.01, 10.0
    """Departure of the field's strength, as a share of it, from which the magnetometer is not believed."""
    GRAVITY_SPREAD = 13, "rad", 0.5, 0.01, 100.0
    """Of the tilt that one look at the accelerometer shows in flight without a place: its error lasts."""
    ACCEL_TRUST = 14, "m/s2", 0.8, 0.05, 50.0
    """Departure of the specific force from gravity at which that look is not believed at all."""
    STILL_SPREAD = 15, "m/s", 0.05, 0.001, 10.0
    """Of the velocity 0 while standing on the ground."""
    GYRO_CUTOFF = 16, "Hz", 150.0, 0.0, 2000.0
    """Second-order low-pass on the rates handed on; 0 for none."""
    NOTCH_Q = 17, "-", 0.0, 0.0, 50.0
    """Quality of a notch at each rotor's speed; 0 for none."""
    NOTCH_LOWEST = 18, "Hz", 60.0, 5.0, 1000.0
    """Rotor speed below which its notch rests."""
