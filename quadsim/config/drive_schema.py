"""Schema of what drives a craft. Keys, units and ranges: scenarios/crafts/README.md."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, StrictBool

from quadsim.config.bench_schema import Bench
from quadsim.config.listing import Section
from quadsim.config.quantity import Quantity, Triple, Uncertain

Price = Annotated[Uncertain, Quantity(0.0, 1e5, "EUR", "price of one piece")]
Vector = tuple[float, float, float]
Place = Annotated[
    Vector, Triple(-2000.0, 2000.0, "mm", "centre: forward, right, down from the frame's origin")
]
Box = Annotated[Vector, Triple(0.1, 2000.0, "mm", "length, width, height")]
MeasuredAt = Literal["motor", "esc input"]


class Motor(Section):
    """One of four brushless motors."""

    name: str = Field(default="", description="what the builder calls it")
    kv_rpm_per_V: Annotated[Uncertain, Quantity(20.0, 20000.0, "rpm/V", "speed constant")]
    resistance_mohm: Annotated[
        Uncertain, Quantity(0.0, 5000.0, "mohm", "winding, line to line, at 20 deg C", above=True)
    ]
    no_load_current_A: Annotated[
        Uncertain, Quantity(0.0, 20.0, "A", "current without a propeller, full throttle")
    ]
    no_load_measured_at: MeasuredAt = Field(description="where; at full throttle the two are equal")
    no_load_V: (
        Annotated[
            Uncertain, Quantity(0.5, 100.0, "V", "voltage of that test; 3.7 V for each cell of the pack")
        ]
        | None
    ) = None
    no_load_iron_pct: Annotated[
        Uncertain,
        Quantity(0.0, 100.0, "%", "part of that current that grows with speed (iron loss); assumed"),
    ] = Uncertain(50.0, 20.0)
    current_limit_A: Annotated[Uncertain, Quantity(0.0, 500.0, "A", "greatest current", above=True)]
    current_limit_measured_at: MeasuredAt = Field(
        description="where that limit counts; taken at full throttle"
    )
    max_rpm: (
        Annotated[Uncertain, Quantity(500.0, 200000.0, "rpm", "greatest speed its maker allows")] | None
    ) = None
    mass_g: Annotated[Uncertain, Quantity(0.0, 2000.0, "g", "one motor with its wires", above=True)]
    diameter_mm: Annotated[Uncertain, Quantity(3.0, 200.0, "mm", "outside")]
    height_mm: Annotated[Uncertain, Quantity(3.0, 200.0, "mm", "without the shaft")]
    below_propeller_mm: (
        Annotated[
            Uncertain,
            Quantity(0.0, 200.0, "mm", "from the propeller down to the motor's centre; half its height + 5"),
        ]
        | None
    ) = None
    bell_mass_g: (
        Annotated[Uncertain, Quantity(0.0, 1500.0, "g", "the part that turns; 45 % of the motor")] | None
    ) = None
    bell_radius_mm: (
        Annotated[
            Uncertain, Quantity(1.0, 100.0, "mm", "radius of gyration of that part; 42 % of the diameter")
        ]
        | None
    ) = None
    working_temperature_C: (
        Annotated[
            Uncertain,
            Quantity(-40.0, 180.0, "deg C", "of the winding, for predictions; what long hover settles at"),
        ]
        | None
    ) = None
    winding_heat_J_K: (
        Annotated[
            Uncertain,
            Quantity(0.0, 5e3, "J/K", "heat capacity of the winding; copper, 25 % of the motor", above=True),
        ]
        | None
    ) = None
    case_heat_J_K: (
        Annotated[Uncertain, Quantity(0.0, 2e4, "J/K", "of the rest; steel and aluminium, 75 %", above=True)]
        | None
    ) = None
    winding_to_case_W_K: (
        Annotated[
            Uncertain, Quantity(0.0, 500.0, "W/K", "conductance inside; 300 W/(m2 K) of outside", above=True)
        ]
        | None
    ) = None
    case_to_air_W_K: (
        Annotated[
            Uncertain,
            Quantity(
                0.0, 500.0, "W/K", "conductance to the air in hover; a cylinder in the slipstream", above=True
            ),
        ]
        | None
    ) = None
    winding_limit_C: Annotated[
        Uncertain, Quantity(60.0, 300.0, "deg C", "winding temperature that ends a flight; common practice")
    ] = Uncertain(150.0)
    magnet_limit_C: Annotated[
        Uncertain, Quantity(60.0, 240.0, "deg C", "of the magnets' grade: 80, 100 or 120; common practice")
    ] = Uncertain(100.0)
    price: Price = Uncertain(0.0)


class Propeller(Section):
    """One of four propellers."""

    name: str = Field(default="", description="what the builder calls it")
    diameter_in: Annotated[Uncertain, Quantity(1.0, 40.0, "in", "diameter")]
    pitch_in: Annotated[Uncertain, Quantity(0.2, 56.0, "in", "advance per turn, 0.2 to 1.4 diameters")]
    blades: Annotated[int, Quantity(2, 6, "-", "number of blades", whole=True)]
    mass_g: Annotated[Uncertain, Quantity(0.0, 1000.0, "g", "one propeller", above=True)]
    gyration_pct: Annotated[
        Uncertain,
        Quantity(10.0, 100.0, "% of the radius", "radius of gyration about the shaft; a uniform rod has 58"),
    ] = Uncertain(45.0, 5.0)
    chord_75_mm: (
        Annotated[Uncertain, Quantity(1.0, 200.0, "mm", "blade's chord at 75 % of the radius; a typical one")]
        | None
    ) = None
    flap_ratio: Annotated[
        Uncertain,
        Quantity(1.0, 10.0, "-", "first flap frequency of a blade over the speed; 1 a hinge; assumed"),
    ] = Uncertain(1.5, 0.35)
    bench: Bench | None = Field(
        default=None, description="your own bench; it replaces the typical blade's thrust"
    )
    thrust_scale: Annotated[Uncertain, Quantity(0.3, 2.0, "-", "your bench's thrust over the map's")] = (
        Uncertain(1.0)
    )
    torque_scale: Annotated[Uncertain, Quantity(0.3, 2.0, "-", "your bench's torque over the map's")] = (
        Uncertain(1.0)
    )
    installed_loss_pct: Annotated[
        Uncertain, Quantity(0.0, 40.0, "%", "thrust lost on the craft against the free propeller")
    ] = Uncertain(10.0, 3.0)
    max_rpm: (
        Annotated[Uncertain, Quantity(500.0, 200000.0, "rpm", "greatest speed its maker allows")] | None
    ) = None
    imbalance_gmm: Annotated[
        Uncertain,
        Quantity(
            0.0, 500.0, "g mm", "mass off the axis times its distance, each rotor; G m/speed, see above"
        ),
    ] = Uncertain(0.0)
    price: Price = Uncertain(0.0)


class Response(Section):
    """Measured speed response of one motor with its propeller to a small step of command, by its 63 % times."""

    throttle_pct: Annotated[float, Quantity(5.0, 100.0, "%", "command around which it was stepped")]
    tau_up_ms: Annotated[Uncertain, Quantity(1.0, 500.0, "ms", "time to 63 % of a small step up")]
    tau_down_ms: Annotated[Uncertain, Quantity(1.0, 500.0, "ms", "time to 63 % of a small step down")]


class Esc(Section):
    """Speed controllers: one board for four motors, or one per motor."""

    name: str = Field(default="", description="what the builder calls it")
    arrangement: Literal["one board", "one per motor"] = Field(
        description="sets what mass_g and at_mm count for"
    )
    resistance_mohm: Annotated[
        Uncertain, Quantity(0.0, 500.0, "mohm", "of the conducting path of one motor, switches and wires")
    ]
    current_limit_A: Annotated[
        Uncertain, Quantity(0.0, 500.0, "A", "greatest current of one channel", above=True)
    ]
    current_limit_measured_at: MeasuredAt = Field(
        description="where that limit counts; taken at full throttle"
    )
    delay_ms: Annotated[
        Uncertain, Quantity(0.0, 15.0, "ms", "from the command computed to the command in force")
    ] = Uncertain(0.5)
    lag_ms: Annotated[Uncertain, Quantity(0.0, 200.0, "ms", "time constant of its own command smoothing")] = (
        Uncertain(0.0)
    )
    response: tuple[Response, ...] = Field(
        default=(), max_length=12, description="measured on the bench; replaces lag_ms; between two, linear"
    )
    update_rate_Hz: Annotated[
        Uncertain, Quantity(40.0, 64000.0, "Hz", "commands taken over per second, in whole physics steps")
    ] = Uncertain(32000.0)
    max_V: Annotated[Uncertain, Quantity(1.0, 100.0, "V", "greatest pack voltage it stands")] | None = None
    levels: Annotated[int, Quantity(50, 65536, "-", "steps of command it resolves", whole=True)] = 2000
    speed_telemetry_Hz: Annotated[
        Uncertain, Quantity(0.0, 8000.0, "Hz", "rotor speeds reported per second, of each rotor; 0: none")
    ] = Uncertain(0.0)
    telemetry_delay_ms: Annotated[
        Uncertain, Quantity(0.0, 200.0, "ms", "from the speed to the controller")
    ] = Uncertain(1.0)
    telemetry_resolution_rpm: Annotated[
        Uncertain, Quantity(0.0, 2000.0, "rpm", "quantisation step of the reported speed")
    ] = Uncertain(20.0)
    braking: StrictBool = Field(
        default=True, description="true if it slows the motor by feeding current back"
    )
    idle_pct: Annotated[Uncertain, Quantity(0.0, 30.0, "%", "least motor command while armed")] = Uncertain(
        5.0
    )
    mass_g: Annotated[Uncertain, Quantity(0.0, 2000.0, "g", "of the board, or of each piece", above=True)]
    size_mm: Box
    at_mm: Annotated[
        Vector,
        Triple(
            -2000.0,
            2000.0,
            "mm",
            "board: from the frame's origin; per motor: outward, sideways, down from its hub",
        ),
    ] = (0.0, 0.0, 0.0)
    price: Price = Uncertain(0.0)


class Battery(Section):
    """The pack."""

    name: str = Field(default="", description="what the builder calls it")
    cells: Annotated[int, Quantity(1, 16, "-", "cells in series", whole=True)]
    capacity_mAh: Annotated[Uncertain, Quantity(50.0, 60000.0, "mAh", "charge of the full pack")]
    cell_resistance_mohm: Annotated[
        Uncertain,
        Quantity(0.0, 200.0, "mohm", "one cell, by a DC pulse (a 1 kHz meter reads about half)", above=True),
    ]
    resistance_growth_pct: Annotated[
        Uncertain,
        Quantity(0.0, 400.0, "%", "rise of the cells' resistance with age, over cell_resistance_mohm"),
    ] = Uncertain(0.0)
    capacity_fade_pct: Annotated[
        Uncertain, Quantity(0.0, 80.0, "%", "loss of capacity with age, of capacity_mAh")
    ] = Uncertain(0.0)
    cold_resistance_K: Annotated[
        Uncertain, Quantity(0.0, 8000.0, "K", "B in exp(B (1/T - 1/293 K)) on the cells' resistance; assumed")
    ] = Uncertain(2000.0, 500.0)
    cold_capacity_pct_K: Annotated[
        Uncertain, Quantity(0.0, 2.0, "%/K", "capacity lost per kelvin below 20 deg C; assumed")
    ] = Uncertain(0.6, 0.2)
    low_charge_rise: StrictBool = Field(
        default=True, description="true if the cells' resistance rises towards empty by the published law"
    )
    heat_J_K: (
        Annotated[Uncertain, Quantity(0.0, 5e4, "J/K", "heat capacity; 1000 J/(kg K)", above=True)] | None
    ) = None
    to_air_W_K: (
        Annotated[
            Uncertain, Quantity(0.0, 100.0, "W/K", "conductance to the air; 15 W/(m2 K) of its surface")
        ]
        | None
    ) = None
    lead_resistance_mohm: Annotated[Uncertain, Quantity(0.0, 100.0, "mohm", "leads and plug, both ways")] = (
        Uncertain(2.0, 1.0)
    )
    full_cell_V: Annotated[Uncertain, Quantity(3.5, 4.45, "V", "open-circuit voltage of a full cell")] = (
        Uncertain(4.2)
    )
    cutoff_cell_V: Annotated[
        Uncertain, Quantity(2.5, 4.0, "V", "loaded voltage at which the builder lands")
    ] = Uncertain(3.3)
    reserve_pct: Annotated[Uncertain, Quantity(0.0, 60.0, "%", "charge left in the pack at landing")] = (
        Uncertain(20.0)
    )
    label_C_rating: Annotated[
        Uncertain,
        Quantity(
            0.5,
            300.0,
            "1/h",
            "the label's claim; pack current over capacity; half of it bounds attempts, by practice",
        ),
    ]
    current_limit_A: (
        Annotated[
            Uncertain,
            Quantity(0.0, 5000.0, "A", "what it gave in your own test, cool and above cut-off", above=True),
        ]
        | None
    ) = None
    lead_awg: (
        Annotated[
            int, Quantity(0, 30, "-", "gauge of its leads (ASTM B258), silicone insulation", whole=True)
        ]
        | None
    ) = None
    connector_limit_A: (
        Annotated[Uncertain, Quantity(0.0, 1000.0, "A", "what its plug carries for minutes", above=True)]
        | None
    ) = None
    relaxation_ratio: Annotated[
        Uncertain,
        Quantity(0.0, 5.0, "-", "resistance of the slow voltage drop over cell_resistance_mohm", above=True),
    ] = Uncertain(0.63, 0.2)
    relaxation_time_s: Annotated[
        Uncertain, Quantity(0.5, 600.0, "s", "time constant of the slow voltage drop")
    ] = Uncertain(33.0, 10.0)
    mass_g: Annotated[Uncertain, Quantity(0.0, 20000.0, "g", "with leads and plug", above=True)]
    size_mm: Box
    at_mm: Place
    price: Price = Uncertain(0.0)
