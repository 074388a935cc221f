"""Which sources the compiled kernels come from: their content keys the cache folder. Imports no compiler."""

from pathlib import Path

_HERE = Path(__file__).parent
_PARTS = (
    "course_kernels", "drive_kernels", "figure_kernels", "figure_records", "front_kernels", "heat_kernels", "level_kernels",
)  # fmt: skip
_PACKAGES = ("kinematics", "integrators", "environment", "dynamics", "sensors", "simulation")

KERNEL_SOURCES = [
    _HERE.parent / "controllers",
    *(_HERE / name for name in _PACKAGES),
    *(_HERE / "parts" / f"{name}.py" for name in _PARTS),  # they inline one another
    _HERE / "planning" / "bound_kernels.py",
    _HERE / "constants.py",
    _HERE / "jit.py",
    _HERE / "noise.py",
    _HERE / "units.py",
]
