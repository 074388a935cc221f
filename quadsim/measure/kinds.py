"""The kinds of measurement: what each needs and who works it out."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from quadsim.measure.columns import Bench, Column, read_bench
from quadsim.measure.pack import COLUMNS as PACK_COLUMNS
from quadsim.measure.pack import measure_pack
from quadsim.measure.result import Result, Setup
from quadsim.measure.scales import COLUMNS as SCALES_COLUMNS
from quadsim.measure.scales import measure_scales
from quadsim.measure.spin import COLUMNS as SPIN_COLUMNS
from quadsim.measure.spin import measure_spin
from quadsim.measure.still import COLUMNS as STILL_COLUMNS
from quadsim.measure.still import measure_still
from quadsim.measure.swing import COLUMNS as SWING_COLUMNS
from quadsim.measure.swing import measure_swing
from quadsim.measure.thrust import COLUMNS, MOTOR_COLUMNS, measure_motor, measure_thrust


@dataclass(frozen=True)
class Kind:
    """One kind: what it gives in a few words, its columns, and the function that works it out."""

    gives: str
    columns: Sequence[Column]
    work_out: Callable[[Bench, Setup], Result]


KINDS: dict[str, Kind] = {
    "thrust": Kind(
        "a propeller's bench table, and the motor's speed constant, resistance, no-load current",
        COLUMNS,
        measure_thrust,
    ),
    "motor": Kind(
        "speed constant and no-load current of a motor without a propeller", MOTOR_COLUMNS, measure_motor
    ),
    "pack": Kind("resistance, slow drop and capacity of a pack", PACK_COLUMNS, measure_pack),
    "still": Kind("noise of the inertial sensor at rest", STILL_COLUMNS, measure_still),
    "spin": Kind("time constants of motor and propeller after steps of throttle", SPIN_COLUMNS, measure_spin),
    "scales": Kind("mass and centre of mass from scales under the feet", SCALES_COLUMNS, measure_scales),
    "swing": Kind("inertia from a pendulum on two or three lines", SWING_COLUMNS, measure_swing),
}


def measure(kind: str, path: Path, setup: Setup) -> Result:
    """Read a table of a kind and work it out. Raises InputError for a table that cannot be used."""
    one = KINDS[kind]
    return one.work_out(read_bench(path, one.columns), setup)
