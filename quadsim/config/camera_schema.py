"""Schema of a craft's camera and video link: what a pilot sees who flies by the picture."""

from __future__ import annotations

from typing import Annotated

from quadsim.config.listing import Section
from quadsim.config.quantity import Quantity, Triple


class PilotCamera(Section):
    """The pilot's camera and its link. Defaults: common values of hobby equipment, no source."""

    tilt_deg: Annotated[
        float, Quantity(-10.0, 70.0, "deg", "camera looks up by this against the craft's forward axis")
    ] = 25.0
    view_deg: Annotated[float, Quantity(30.0, 150.0, "deg", "angle seen over the width of a 4:3 picture")] = (
        100.0
    )
    at_mm: (
        Annotated[
            tuple[float, ...],
            Triple(
                -1000.0,
                1000.0,
                "mm",
                "its lens from the frame's origin, forward, right, down; at the front, between the rotors, if absent",
            ),
        ]
        | None
    ) = None
    delay_ms: Annotated[
        float, Quantity(0.0, 500.0, "ms", "age of the picture when the pilot's screen shows it")
    ] = 30.0
    dropouts_per_min: Annotated[
        float, Quantity(0.0, 60.0, "1/min", "how often the picture freezes, on the mean")
    ] = 0.0
    dropout_ms: Annotated[float, Quantity(10.0, 5000.0, "ms", "how long it stays frozen")] = 200.0
