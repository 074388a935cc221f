"""A crowd that can take a payload: the usual box below the frame, its mass left open."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from quadsim.config import Craft, resolve_plant
from quadsim.config.loose_load import FIXED_AT, payload_of
from quadsim.contest.crowd import Crowd, crowd_of, joined
from quadsim.environment.atmosphere import Site

Array = NDArray[np.float64]
PROBE = 1e-3
"""Mass of the box from which drag, download and centre are taken [kg]: its size does not depend on its mass."""
MOST = 6.0
"""Greatest payload that is looked at, in masses of the craft."""


@dataclass(frozen=True)
class LoadedCrowd:
    """Craft with the box mounted, and where it hangs from each craft's own centre of mass (N, 3) [m]; most : payload [kg]."""

    crowd: Crowd
    at: Array
    most: float

    def with_payload(self, payload: Array) -> Crowd:
        """The crowd with payloads (N,) [kg]: the centre of mass moves towards the box."""
        bare = self.crowd.mass
        mass = bare + payload
        moved = (payload / mass)[:, None] * self.at
        return replace(
            self.crowd,
            numbers=self.crowd.numbers | {"mass": mass},
            hubs=self.crowd.hubs - moved[:, None, :],
            drag_centre=self.crowd.drag_centre - moved,
        )

    def repeated(self, count: int) -> LoadedCrowd:
        """The first craft, `count` times."""
        return replace(self, crowd=self.crowd.rows([0] * count), at=np.repeat(self.at[:1], count, axis=0))


def probe(craft: Craft, site: Site) -> tuple[Any, Any]:
    """PLANT records of the craft bare, and with the box at PROBE."""
    return resolve_plant(craft, site), resolve_plant(craft, site, payload_of(PROBE))


def loaded_crowd(plants: Sequence[Any], bare: Any, boxed: Any) -> LoadedCrowd:
    """Crowd of drawn bare plants with the box of `boxed` on each.

    bare, boxed : the same craft without and with the box: its drag, download and place are the differences.
    """
    crowd = crowd_of(plants)
    drag = np.asarray(boxed.drag_area) - np.asarray(bare.drag_area)
    centre = (
        np.asarray(boxed.drag_centre)
        + np.asarray(boxed.centre_of_mass)
        - (np.asarray(bare.drag_centre) + np.asarray(bare.centre_of_mass))
    )
    at = np.asarray(FIXED_AT) * 1e-3 - np.asarray(bare.centre_of_mass)
    with_box = replace(
        crowd,
        drag_area=crowd.drag_area + drag,
        drag_centre=crowd.drag_centre + centre,
        download=np.full(len(crowd), float(np.mean(boxed.download))),
    )
    return LoadedCrowd(with_box, np.tile(at, (len(crowd), 1)), MOST * float(bare.mass))


def loaded_of(crafts: Sequence[Craft], site: Site) -> LoadedCrowd:
    """Different craft at one site, each with its own box."""
    ones = [loaded_crowd([bare], bare, boxed) for bare, boxed in (probe(craft, site) for craft in crafts)]
    at = np.concatenate([one.at for one in ones])
    return LoadedCrowd(joined([one.crowd for one in ones]), at, max(one.most for one in ones))
