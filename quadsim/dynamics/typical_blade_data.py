"""Numbers of the typical blade, written by tools/fit_typical_blade.py; see blade_prior.

Data: UIUC Propeller Database, Vols 1 and 2 (AIAA 2011-1255, AIAA 2014-2151).
"""

PRIORS: dict[str, tuple[tuple[float, ...], ...]] = {
    "rule": (  # mean, trend with size, trend with pitch ratio, standard deviation
        (0.1202, 0.0253, 0.0000, 0.0230),  # twist_offset
        (-0.2788, 0.1204, 0.0000, 0.1152),  # helix
        (-1.7781, 0.0000, 0.3711, 0.0974),  # chord_75
        (1.9401, 0.0000, 0.0000, 0.1291),  # lift_slope
        (0.9758, 0.0000, 0.0000, 0.3028),  # cl_max
        (-3.7084, 0.0000, 0.0000, 0.5186),  # drag_zero
        (-0.1472, -0.7535, 1.1521, 0.4062),  # drag_angle
        (0.1432, 0.0000, 0.0000, 0.0821),  # lift_reynolds
        (0.3425, 0.0000, 0.0000, 0.2308),  # drag_reynolds
    ),
    "full_geometry": (  # mean, trend with size, trend with pitch ratio, standard deviation
        (0.0570, 0.0513, 0.0000, 0.0238),  # twist_offset
        (-0.2231, 0.0000, 0.0000, 0.1250),  # helix
        (-1.7148, 0.0000, 0.0000, 0.0750),  # chord_75
        (1.9427, 0.0000, 0.0000, 0.1516),  # lift_slope
        (1.0869, 0.0000, 0.0000, 0.3178),  # cl_max
        (-3.4885, 0.0000, 0.0000, 0.5011),  # drag_zero
        (-0.2090, -0.5507, 0.9979, 0.4120),  # drag_angle
        (0.1509, 0.0000, 0.0000, 0.0746),  # lift_reynolds
        (0.1770, 0.0000, 0.0000, 0.1985),  # drag_reynolds
    ),
}
"""Normal distribution of the unknowns; rule: of what a rule measures, the chord is one."""

CORRELATIONS: dict[str, tuple[tuple[float, ...], ...]] = {
    "rule": (
        (1.000,),
        (-0.184, 1.000),
        (0.064, -0.001, 1.000),
        (-0.183, -0.202, -0.322, 1.000),
        (-0.038, -0.211, 0.197, 0.287, 1.000),
        (-0.146, -0.269, 0.029, 0.624, 0.731, 1.000),
        (0.030, 0.196, -0.427, -0.128, -0.631, -0.559, 1.000),
        (0.043, -0.141, 0.077, 0.148, 0.724, 0.565, -0.485, 1.000),
        (0.136, 0.260, -0.108, -0.640, -0.659, -0.874, 0.581, -0.418, 1.000),
    ),
    "full_geometry": (
        (1.000,),
        (0.000, 1.000),
        (0.000, 0.000, 1.000),
        (0.124, 0.000, 0.000, 1.000),
        (0.135, 0.000, 0.000, 0.375, 1.000),
        (0.185, 0.000, 0.000, 0.785, 0.641, 1.000),
        (-0.340, 0.000, 0.000, -0.064, -0.527, -0.317, 1.000),
        (0.139, 0.000, 0.000, 0.277, 0.755, 0.523, -0.468, 1.000),
        (-0.252, 0.000, 0.000, -0.776, -0.550, -0.865, 0.340, -0.416, 1.000),
    ),
}
"""Lower triangles of their correlations."""

ERRORS: dict[str, tuple[float, ...]] = {
    "diameter_pitch": (0.140, 0.168, 0.150, 0.225),
    "diameter_pitch + point": (0.021, 0.039, 0.125, 0.200),
    "diameter_pitch + table": (0.005, 0.012, 0.130, 0.195),
    "diameter_pitch + thrust": (0.002, 0.132, 0.200, 0.205),
    "chord_75": (0.072, 0.140, 0.190, 0.235),
    "chord_75 + point": (0.027, 0.046, 0.110, 0.190),
    "chord_75 + table": (0.006, 0.012, 0.150, 0.210),
    "chord_75 + thrust": (0.001, 0.148, 0.190, 0.220),
    "full_geometry": (0.179, 0.195, 0.200, 0.345),
    "full_geometry + point": (0.032, 0.043, 0.165, 0.195),
    "full_geometry + table": (0.008, 0.016, 0.175, 0.210),
    "full_geometry + thrust": (0.002, 0.145, 0.165, 0.140),
}
"""Standard deviations of left-out families by evidence: static CT and CP, relative; CT and CP
where no thrust is left, over their static values."""

SPEED_ERRORS = (0.080, 0.084)
"""Standard deviations of static CT and CP per unit of ln rpm away from a bench's speeds, relative."""
