"""Units of the edges (files, screens) to SI and back. Inside, everything is SI and radians."""

import math

RPM = 2.0 * math.pi / 60.0
"""One revolution per minute [rad/s]."""
DEG = math.pi / 180.0
"""One degree [rad]."""
INCH = 0.0254
"""One inch [m], exact (international yard and pound agreement, 1959)."""
MM = 1e-3
"""One millimetre [m]."""
GRAM = 1e-3
"""One gram [kg]."""
MAH = 3.6
"""One milliampere-hour [C]."""
MILLI = 1e-3
"""Prefix milli [-]."""
MICRO = 1e-6
"""Prefix micro [-]."""
HOUR = 3600.0
"""One hour [s]."""
KNOT = 1852.0 / 3600.0
"""One knot [m/s], exact (International Hydrographic Conference, 1929)."""
FOOT = 0.3048
"""One foot [m], exact (international yard and pound agreement, 1959)."""
KMH = 1.0 / 3.6
"""One kilometre per hour [m/s]."""
HOUR = 3600.0
"""One hour [s]."""
CELSIUS = 273.15
"""Zero degrees Celsius [K]."""
G_FORCE = 9.80665e-3
"""Weight of one gram [N], for thrust quoted in grams (standard gravity)."""


def torque_constant(kv_rpm_per_V: float) -> float:
    """Torque constant of a brushless motor [N m/A] from its speed constant [rpm/V].

    kt = 60 / (2 pi Kv). M. Drela, First-Order DC Electric Motor Model (MIT, 2007).
    """
    return 60.0 / (2.0 * math.pi * kv_rpm_per_V)
