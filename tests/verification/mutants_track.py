"""Copies of the line's guide in plain Python, each with one thing wrong: the checks of `checks_track` must notice every one."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import checks_track
from mutants_place import PlaceMutant, plain_guide


@dataclass(frozen=True)
class TrackMutant(PlaceMutant):
    """One thing wrong in the line's guide."""

    module: str = "controllers.track"

    def guide(self) -> Callable:
        return plain_guide(self.module, self.old, self.new, "track")


MUTANTS = (
    TrackMutant("place north of the wrong sign", "s.target_north - s.position[0]", "s.position[0] - s.target_north", checks_track.off_the_line),
    TrackMutant("damping to the north too weak", "d * (s.target_velocity[0] - s.velocity[0])", "0.8 * d * (s.target_velocity[0] - s.velocity[0])", checks_track.off_the_line),
    TrackMutant("damping of the height of the wrong sign", "d * (s.target_velocity[2] + s.climb_rate)", "d * (s.target_velocity[2] - s.climb_rate)", checks_track.off_the_line),
    TrackMutant("height pulled too weakly", "down = limit(s.height - s.target_height, -FARTHEST, FARTHEST)", "down = 0.9 * limit(s.height - s.target_height, -FARTHEST, FARTHEST)", checks_track.off_the_line),
    TrackMutant("integral to the east of the wrong sign", "memory[Memory.EAST_INTEGRAL] + i * east", "memory[Memory.EAST_INTEGRAL] - i * east", checks_track.line_in_steady_wind),
    TrackMutant("integral of the height forgotten", "memory[Memory.DOWN_INTEGRAL] + i * down", "memory[Memory.DOWN_INTEGRAL]", checks_track.line_in_steady_wind),
    TrackMutant("inflow of the climb halved", "gains[GuideGain.INFLOW_LOSS] * climb", "0.5 * gains[GuideGain.INFLOW_LOSS] * climb", checks_track.thrust_lost_in_a_climb),
    TrackMutant("greatest tilt not kept", "math.tan(gains[GuideGain.TILT_MAX])", "math.tan(1.3 * gains[GuideGain.TILT_MAX])", checks_track.never_beyond_its_tilt),
)  # fmt: skip
