"""Physical constants, each with its source."""

G0 = 9.80665
"""Standard acceleration of gravity [m/s2]. ISO 80000-3 / 3rd CGPM (1901)."""

R_AIR = 287.05287
"""Specific gas constant of dry air [J/(kg K)]. ICAO Doc 7488 (1993), table of primary constants."""

GAMMA_AIR = 1.4
"""Ratio of specific heats of air [-]. ICAO Doc 7488 (1993)."""

T0 = 288.15
"""Sea-level standard temperature [K]. ICAO Doc 7488 (1993)."""

P0 = 101325.0
"""Sea-level standard pressure [Pa]. ICAO Doc 7488 (1993)."""

LAPSE = 0.0065
"""Temperature lapse rate of the troposphere [K/m]. ICAO Doc 7488 (1993)."""

EARTH_RADIUS = 6356766.0
"""Nominal Earth radius for geopotential height [m]. ICAO Doc 7488 (1993)."""

SUTHERLAND_S = 110.4
"""Sutherland temperature of air [K]. ICAO Doc 7488 (1993)."""

SUTHERLAND_B = 1.458e-6
"""Sutherland coefficient of air [kg/(m s K^0.5)]. ICAO Doc 7488 (1993)."""
