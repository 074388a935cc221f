"""Schema of a builder's own bench measurement of a propeller. Keys, units and ranges: scenarios/crafts/README.md."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, StrictBool, model_validator

from quadsim.config.listing import Section
from quadsim.config.quantity import Quantity, Uncertain, refusal


class BenchRow(Section):
    """One speed. Thrust must be there, and what gives the speed: rpm, or throttle, current and voltage."""

    throttle_pct: (
        Annotated[
            float, Quantity(0.0, 100.0, "%", "command of the motor, share of the supply voltage", above=True)
        ]
        | None
    ) = None
    rpm: Annotated[float, Quantity(0.0, 200000.0, "rpm", "measured speed", above=True)] | None = None
    thrust_g: Annotated[float, Quantity(0.0, 50000.0, "g", "thrust of the one propeller", above=True)]
    current_A: (
        Annotated[float, Quantity(0.0, 500.0, "A", "where current_measured_at says", above=True)] | None
    ) = None
    voltage_V: (
        Annotated[float, Quantity(0.0, 100.0, "V", "at the ESC's input in this row", above=True)] | None
    ) = None
    torque_Nm: Annotated[float, Quantity(0.0, 100.0, "N m", "measured torque", above=True)] | None = None


class Bench(Section):
    """A propeller's thrust over its speed, measured by the builder with a motor of this craft."""

    measured_on: Literal["free stand", "own arm"] = Field(
        description="own arm: the installed loss is in the table and installed_loss_pct is not taken again"
    )
    temperature_C: Annotated[Uncertain, Quantity(-40.0, 60.0, "deg C", "of the air")]
    pressure_hPa: Annotated[
        Uncertain, Quantity(400.0, 1100.0, "hPa", "of the air there, not reduced to sea level")
    ]
    supply_held: StrictBool = Field(
        description="true if the supply kept its voltage_V; false if it sagged: give voltage_V in the rows"
    )
    voltage_V: (
        Annotated[
            Uncertain, Quantity(0.0, 100.0, "V", "of the supply that held, at the ESC's input", above=True)
        ]
        | None
    ) = None
    current_measured_at: Literal["motor", "esc input"] = Field(
        default="esc input", description="where current_A was measured"
    )
    rows: tuple[BenchRow, ...] = Field(
        min_length=1, max_length=200, description="one per speed, slowest first: one, or three and more"
    )

    @model_validator(mode="after")
    def _speeds_known(self) -> Bench:
        without = [k + 1 for k, row in enumerate(self.rows) if row.rpm is None]
        lacking = [
            k for k in without if self.rows[k - 1].throttle_pct is None or self.rows[k - 1].current_A is None
        ]
        if lacking:
            given = f"row {', '.join(map(str, lacking))} has neither rpm nor throttle_pct with current_A"
            raise refusal(
                given, "one of the two must be there", "Measure the speed; it is the better of the two"
            )
        sagged = [k for k in without if self.rows[k - 1].voltage_V is None]
        if sagged and not self.supply_held:
            given = f"row {', '.join(map(str, sagged))} has no voltage_V, and the supply did not hold"
            raise refusal(
                given, "each row without rpm needs the voltage of its moment", "Add voltage_V or rpm"
            )
        if sagged and self.voltage_V is None:
            raise refusal(
                f"row {', '.join(map(str, sagged))} has no rpm and no voltage_V",
                "voltage_V must be in the row, or once in the section of a supply that held",
            )
        return self
