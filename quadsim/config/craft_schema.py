"""Schema of a craft file. Keys, units and ranges: scenarios/crafts/README.md."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import Field, FiniteFloat, PrivateAttr, field_validator, model_validator

from quadsim.config.avionics_schema import FlightController, Radio
from quadsim.config.camera_schema import PilotCamera
from quadsim.config.drive_schema import Battery, Esc, Motor, Price, Propeller, Vector
from quadsim.config.listing import Section
from quadsim.config.position_sensors_schema import Compass, Rangefinder, SatelliteReceiver
from quadsim.config.quantity import Quantity, Triple, Uncertain, refusal
from quadsim.config.sticks_schema import Sticks
from quadsim.dynamics.state import ROTOR_NAMES

Slot = Literal["estimate", "guide", "attitude", "rate", "allocate"]
Spin = Literal["cw", "ccw"]
Shape = Literal["box", "cylinder", "rod", "tube", "disc", "point"]
SIZES = {
    "box": "[length, width, height]",
    "cylinder": "[diameter, length]",
    "rod": "[length]",
    "tube": "[outer diameter, inner diameter, length]",
    "disc": "[diameter]",
    "point": "[]",
}
"""What size_mm holds for each shape."""
Corner = Annotated[Vector, Triple(-2000.0, 2000.0, "mm", "forward, right, down from the frame's origin")]


class Corners(Section):
    """A place per rotor."""

    front_right: Corner
    rear_right: Corner
    rear_left: Corner
    front_left: Corner

    @field_validator(*ROTOR_NAMES)
    @classmethod
    def _on_its_side(cls, at: Vector, info: Any) -> Vector:
        end, side = info.field_name.split("_")
        forward, right = (1.0 if end == "front" else -1.0), (1.0 if side == "right" else -1.0)
        if at[0] * forward <= 0.0 or at[1] * right <= 0.0:
            allowed = f"must have forward {'above' if forward > 0 else 'below'} 0 mm and "
            allowed += f"right {'above' if right > 0 else 'below'} 0 mm"
            raise refusal(
                f"is {list(at)}", allowed, "The order is [forward, right, down]; swap the place or its name"
            )
        return at


class Spins(Section):
    """Sense of rotation of each rotor, seen from above."""

    front_right: Spin = Field(description="cw or ccw, seen from above")
    rear_right: Spin = Field(description="cw or ccw, seen from above")
    rear_left: Spin = Field(description="cw or ccw, seen from above")
    front_left: Spin = Field(description="cw or ccw, seen from above")

    @model_validator(mode="after")
    def _diagonals_alike(self) -> Spins:
        diagonal, other = (self.front_right, self.rear_left), (self.rear_right, self.front_left)
        if diagonal[0] != diagonal[1] or other[0] != other[1] or diagonal[0] == other[0]:
            given = ", ".join(f"{name} {getattr(self, name)}" for name in ROTOR_NAMES)
            allowed = "rotors on one diagonal must turn alike and the other diagonal the other way"
            raise refusal(f"is {given}", allowed, "Otherwise the craft cannot hold its heading")
        return self


class Flexible(Section):
    """One lightly damped mode between the body and the gyroscope: arms or a soft mount."""

    frequency_Hz: Annotated[
        Uncertain,
        Quantity(10.0, 1000.0, "Hz", "undamped; 60 to 150 on frames with arms, common practice, no source"),
    ]
    damping_pct: Annotated[
        Uncertain, Quantity(0.1, 70.0, "% of critical", "2 to 5 without rubber; common practice, no source")
    ] = Uncertain(3.0, 1.0)
    share: Annotated[
        Vector,
        Triple(
            -2.0, 2.0, "-", "roll, pitch, yaw: of the body's angular acceleration that drives it; 1 a board on a soft mount"
        ),
    ] = (1.0, 1.0, 1.0)  # fmt: skip


class Frame(Section):
    """Where the rotors are."""

    layout: Literal["x", "explicit"] = Field(
        description="x: a square given by wheelbase_mm; explicit: rotor_at_mm"
    )
    wheelbase_mm: (
        Annotated[Uncertain, Quantity(40.0, 3000.0, "mm", "diagonal between motor shafts; layout x")] | None
    ) = Field(default=None, validate_default=True)
    rotors_above_mm: (
        Annotated[
            Uncertain,
            Quantity(-300.0, 300.0, "mm", "height of the propellers over the frame's origin; layout x"),
        ]
        | None
    ) = Field(default=None, validate_default=True)
    rotor_at_mm: Corners | None = Field(
        default=None, validate_default=True, description="the hubs; layout explicit"
    )
    spin: Spins
    flexible: Flexible | None = Field(
        default=None, description="a mode that the gyroscope feels; none, a rigid frame"
    )

    @field_validator("wheelbase_mm", "rotors_above_mm", "rotor_at_mm")
    @classmethod
    def _fits_layout(cls, value: Any, info: Any) -> Any:
        layout = info.data.get("layout")
        wanted = layout is not None and (layout == "explicit") == (info.field_name == "rotor_at_mm")
        if layout and wanted and value is None:
            raise refusal("is missing", f'layout = "{layout}" needs it')
        if layout and not wanted and value is not None:
            raise refusal(
                "is given", f'layout = "{layout}" has no use for it', "Change layout, or take the key out"
            )
        return value


class Part(Section):
    """A part of known mass, size and place."""

    name: str = Field(description="what the builder calls it")
    mass_g: Annotated[Uncertain, Quantity(0.0, 20000.0, "g", "one piece", above=True)]
    shape: Shape = Field(description="sets what size_mm holds")
    size_mm: tuple[Annotated[Uncertain, Quantity(0.01, 3000.0, "mm", "sizes of the shape")], ...] = Field(
        default=(), validate_default=True, description="mm, each 0.01 to 3000; what they are depends on shape"
    )
    axis: Literal["forward", "right", "down"] | None = Field(
        default=None,
        description="axis of the shape; down for cylinder and disc, forward for rod and tube",
    )
    at: Literal["frame", "rotors", "arms"] = Field(
        default="frame",
        description="frame: once; rotors: at each hub; arms: along each arm, outer end at the rotor's axis",
    )
    at_mm: Annotated[
        Vector,
        Triple(-2000.0, 2000.0, "mm", "centre: forward, right, down from the frame's origin; at rotors from the hub; "
               "at arms: outward, sideways, down"),
    ] = (0.0, 0.0, 0.0)  # fmt: skip
    yaw_deg: Annotated[
        Uncertain, Quantity(-180.0, 180.0, "deg", "turn about down, clockwise seen from above")
    ] = Uncertain(0.0)
    count: Annotated[int, Quantity(1, 200, "-", "pieces at that place", whole=True)] = 1
    price: Price = Uncertain(0.0)

    @field_validator("size_mm")
    @classmethod
    def _fits_shape(cls, size: tuple[float, ...], info: Any) -> tuple[float, ...]:
        shape = info.data.get("shape", "")
        wanted = 0 if shape == "point" else SIZES.get(shape, "").count(",") + 1
        if shape and len(size) != wanted:
            raise refusal(f"is {[float(s) for s in size]}", f"shape {shape} takes size_mm = {SIZES[shape]}")
        if shape == "tube" and size[1] >= size[0]:
            raise refusal(
                f"is {[float(s) for s in size]}", "a tube's inner diameter must be under the outer one"
            )
        return size


Swung = Annotated[
    Uncertain,
    Quantity(
        0.0, 1e5, "g m2", "about the centre of mass, swung on lines, ready to fly; from the parts", above=True
    ),
]
Centred = Annotated[
    Uncertain,
    Quantity(-500.0, 500.0, "mm", "centre of mass from the frame's origin, by scales; from the parts"),
]


class Mass(Section):
    """What the list of parts leaves out, and what scales and pendulum say."""

    unlisted_pct: Annotated[
        Uncertain,
        Quantity(0.0, 50.0, "%", "wire, screws, straps, connectors over the listed mass; common practice"),
    ] = Uncertain(8.0, 4.0)
    weighed_mass_g: (
        Annotated[
            Uncertain,
            Quantity(0.0, 50000.0, "g", "ready to fly, with pack; replaces unlisted_pct", above=True),
        ]
        | None
    ) = None
    centre_forward_mm: Centred | None = None
    centre_right_mm: Centred | None = None
    centre_down_mm: Centred | None = None
    roll_inertia_gm2: Swung | None = None
    pitch_inertia_gm2: Swung | None = None
    yaw_inertia_gm2: Swung | None = None


class Drag(Section):
    """Drag of the airframe without rotors."""

    area_cm2: (
        Annotated[
            Vector,
            Triple(
                0.0,
                50000.0,
                "cm2",
                "drag coefficient times area along forward, right, down; estimated from the parts",
            ),
        ]
        | None
    ) = None
    centre_mm: (
        Annotated[
            Vector,
            Triple(-2000.0, 2000.0, "mm", "where it acts, from the frame's origin; estimated from the parts"),
        ]
        | None
    ) = None
    slipstream_cm2: (
        Annotated[
            Uncertain,
            Quantity(
                0.0, 5000.0, "cm2", "drag coefficient times side area in one rotor's wake; from the parts"
            ),
        ]
        | None
    ) = None


class Landing(Section):
    """Feet and ground. Defaults assumed."""

    feet_mm: Corners | None = Field(
        default=None, description="the feet; under the rotors, level with the lowest part"
    )
    stiffness_N_m: (
        Annotated[Uncertain, Quantity(10.0, 1e6, "N/m", "of one foot; the craft at rest sinks 0.5 mm")] | None
    ) = None
    damping_ratio: Annotated[Uncertain, Quantity(0.0, 2.0, "-", "of the bounce on four feet")] = Uncertain(
        0.5
    )
    friction: Annotated[Uncertain, Quantity(0.0, 2.0, "-", "coefficient between foot and ground")] = (
        Uncertain(0.6)
    )
    crash_speed_m_s: Annotated[
        Uncertain, Quantity(0.2, 20.0, "m/s", "sink rate at touch-down that breaks the craft")
    ] = Uncertain(3.0)


class Craft(Section):
    """A whole craft file."""

    name: str = Field(description="what the craft is called", min_length=1)
    event: Literal["slalom", "lift", "speed"] = Field(description="what it was built for")
    about: str = Field(default="", description="one sentence for whoever opens the file")
    mass: Mass = Mass()
    frame: Frame
    parts: tuple[Part, ...] = Field(default=(), description="everything that has no section of its own")
    motor: Motor
    propeller: Propeller
    esc: Esc
    battery: Battery
    flight_controller: FlightController
    radio: Radio
    gnss: SatelliteReceiver | None = Field(default=None, description="satellite receiver; none carried")
    compass: Compass | None = Field(default=None, description="magnetometer; none carried")
    rangefinder: Rangefinder | None = Field(default=None, description="looks down; none carried")
    drag: Drag = Drag()
    landing: Landing = Landing()
    sticks: Sticks = Sticks()
    camera: PilotCamera = PilotCamera()
    controllers: dict[Slot, str] = Field(
        default={}, description="block per slot; a slot left out flies the stock block"
    )
    gains: dict[Slot, dict[str, FiniteFloat]] = Field(
        default={}, description="gains of those blocks by name; the block's defaults"
    )
    _path: Path | None = PrivateAttr(None)
    _source_text: str = PrivateAttr("")

    @property
    def path(self) -> Path | None:
        """Where the craft was read from; None when it came from a text."""
        return self._path

    @property
    def source_text(self) -> str:
        """The file as read."""
        return self._source_text

    @property
    def price(self) -> float:
        """Price of all pieces [EUR]."""
        escs = 1 if self.esc.arrangement == "one board" else 4
        total = 4 * (self.motor.price + self.propeller.price) + escs * self.esc.price
        total += self.battery.price + self.flight_controller.price + self.radio.price
        total += sum(piece.price for piece in (self.gnss, self.compass, self.rangefinder) if piece)
        return total + sum(part.price * part.count * (1 if part.at == "frame" else 4) for part in self.parts)
