"""The thrust curve of a motor with its propeller: thrust over command, and back.

Thrust k u^2 + (1 - k) u of the greatest: common practice, no source.
"""

from __future__ import annotations

import math

from controllers.contract import kernel


@kernel
def thrust_at(command, curve):
    """Share of the greatest thrust at motor command 0..1: k u^2 + (1 - k) u."""
    return command * (1.0 - curve + curve * command)


@kernel
def command_for(share, curve):
    """Motor command for a share 0..1 of the greatest thrust: the root of k u^2 + (1 - k) u = share, for k in 0..1.05."""
    below = (1.0 - curve) + math.sqrt((1.0 - curve) * (1.0 - curve) + 4.0 * curve * share)
    return 2.0 * share / below if below > 1e-12 else 0.0
