"""A bench table in the wrong units, or from a stand whose zero is off, is refused with what would make it fit."""

import numpy as np
import pytest

from quadsim.dynamics.measured_table import MeasuredTable, read_table
from quadsim.errors import Problem

DIAMETER, AIR, GRAM = 0.254, 1.2, 9.80665e-3
RPM = np.array([3000.0, 4500.0, 6000.0, 7500.0])
THRUST = 0.1 * AIR * (RPM / 60.0) ** 2 * DIAMETER**4
TORQUE = 0.04 * AIR * (RPM / 60.0) ** 2 * DIAMETER**5 / (2.0 * np.pi)
"""An invented propeller of 10 in: CT 0.1, CP 0.04."""


def read(**columns: np.ndarray | None) -> tuple[MeasuredTable | None, str]:
    """The table with these columns in place of its own, None leaves one out; and its faults."""
    table = {"rpm": RPM, "thrust_N": THRUST, "torque_Nm": TORQUE, **columns}
    faults: list[Problem] = []
    found = read_table(
        {"density": AIR, **{k: v.tolist() for k, v in table.items() if v is not None}}, DIAMETER, faults
    )
    return found, "\n".join(map(str, faults))


@pytest.mark.parametrize(
    ("columns", "slip"),
    [
        ({"rpm": RPM / 1000.0}, "rpm is in thousands a minute"),
        ({"rpm": RPM * np.pi / 30.0}, "rpm is in rad/s"),
        ({"rpm": RPM * np.pi / 30.0, "torque_Nm": None}, "rpm is in rad/s"),
        ({"rpm": RPM / 60.0}, "rpm is in rev/s"),
        ({"rpm": RPM * 7.0}, "rpm is the electrical speed of a motor with 14 magnets"),
        ({"thrust_N": THRUST / GRAM}, "thrust_N is in g"),
        ({"thrust_N": THRUST / GRAM, "torque_Nm": None}, "thrust_N is in g"),
        ({"thrust_N": None, "thrust_g": THRUST}, "thrust_g is in N"),
        ({"thrust_N": THRUST / GRAM / 1000.0}, "thrust_N is in kg"),
        ({"torque_Nm": TORQUE * 1000.0}, "torque_Nm is in mN m"),
        ({"torque_Nm": TORQUE / GRAM * 100.0}, "torque_Nm is in g cm"),
        ({"torque_Nm": TORQUE / GRAM / 10.0}, "torque_Nm is in kg cm"),
        (
            {"torque_Nm": None, "shaft_power_W": TORQUE * RPM * np.pi * 1000.0 / 30.0},
            "shaft_power_W is in mW",
        ),
    ],
)
def test_a_slip_of_units_is_named(columns: dict, slip: str) -> None:
    found, faults = read(**columns)
    assert found is None
    assert f"It would fit if {slip}" in faults
    assert "row 1 (" in faults and "row 4 (" in faults, "the rows are shown"


def test_two_slips_are_named_together() -> None:
    _, faults = read(thrust_N=THRUST / GRAM, torque_Nm=TORQUE * 1000.0)
    assert "It would fit if thrust_N is in g and torque_Nm is in mN m" in faults


def test_no_slip_is_named_where_none_fits() -> None:
    _, faults = read(thrust_N=THRUST * np.array([1.0, 40.0, 1.0, 1.0]))
    assert "It would fit" not in faults and "Check the units" in faults


@pytest.mark.parametrize("offset", [0.9, -0.9])
def test_a_stand_whose_zero_is_off_is_found_out(offset: float) -> None:
    """A thrust of 0.9 N more or less in every row; the least has 1.2 N."""
    found, faults = read(thrust_N=THRUST + offset, torque_Nm=None)
    assert found is None
    assert f"All rows fit a stand that reads {offset:+.3g} N without thrust" in faults


def test_rows_in_disorder_say_how_to_put_them_right() -> None:
    _, faults = read(rpm=RPM[[0, 2, 1, 3]])
    assert "row 2 (rpm 6000" in faults and "row 3 (rpm 4500" in faults and "Sort the rows by rpm" in faults


def test_a_table_without_rows_is_refused() -> None:
    none = np.empty(0)
    assert "no rows" in read(rpm=none, thrust_N=none, torque_Nm=none)[1]


def test_a_true_table_with_scatter_is_taken() -> None:
    scatter = np.array([1.03, 0.97, 1.02, 0.98])
    found, faults = read(thrust_N=THRUST * scatter, torque_Nm=TORQUE / scatter)
    assert not faults and found is not None
    assert found.ct == pytest.approx(0.1 * scatter)
