"""The state vector: indices, and one table of names, units and frames from which everything else follows."""

from __future__ import annotations

from enum import IntEnum


class X(IntEnum):
    """Index of the first element of each part of the state vector (float64, length SIZE)."""

    POSITION = 0
    """Centre of mass, north-east-down [m]."""
    VELOCITY = 3
    """Velocity of the centre of mass, north-east-down [m/s]."""
    QUATERNION = 6
    """Attitude, Hamilton, scalar first, body to world [-]."""
    RATES = 10
    """Angular rate p, q, r in body axes [rad/s]."""
    LOAD_POSITION = 13
    """Middle of a load on a line, or of one let go, north-east-down [m]; zero when there is none."""
    ROTORS = 16
    """Rotor speeds relative to the body, in the sense each rotor is meant to turn [rad/s]; `propulsion` says why at a
    multiple of four."""
    CHARGE = 20
    """State of charge of the battery, 1 full to 0 empty [-]."""
    RELAXATION = 21
    """Voltage across the RC pair of the battery [V]."""
    LOAD_VELOCITY = 22
    """Velocity of the load, north-east-down [m/s]."""


SIZE = 25
ROTOR_NAMES = ("front_right", "rear_right", "rear_left", "front_left")
"""Order of the rotors everywhere."""
