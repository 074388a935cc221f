"""Sticks of a live flight, from a radio or gamepad (calibrated or as it comes) or from keys."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from controllers.signals import Mode
from quadsim.config.stick_device import StickDevice

KEYS = ("w", "s", "a", "d", "i", "k", "j", "l")
DEFLECTION = 0.5
"""Deflection a held key goes to, share of the full stick; taste, no source."""
SPRING_S = 0.12
"""Time constant of a key's way there and back [s]; taste, no source."""
THROTTLE_PER_S = 0.5
"""Throttle a held key adds where the stick does not spring back [1/s]; taste, no source."""
MODES = (Mode.HEIGHT_HOLD, Mode.ATTITUDE_COMMAND, Mode.RATE_COMMAND)


class Sticks:
    """Where the sticks stand. `taken` turns true once the user has asked for them."""

    def __init__(self, device: StickDevice | None = None) -> None:
        self.device = device
        self.taken = False
        self.mode = MODES[0]
        self._at = [0.0, 0.0, 0.0, 0.5]

    def next_mode(self) -> Mode:
        """Go on to the next response type."""
        self.mode = MODES[(MODES.index(self.mode) + 1) % len(MODES)]
        return self.mode

    def update(
        self, held: Mapping[str, bool], axes: Sequence[float] | None, wall_s: float
    ) -> tuple[float, float, float, float]:
        """Roll, pitch (positive raises the nose), yaw -1..1 and throttle 0..1 after `wall_s` more seconds."""
        if axes is not None and self.device is not None:
            self._at = list(self.device.sticks(axes))
        elif axes is not None and len(axes) >= 4:
            roll, pitch, throttle, yaw = (min(max(float(a), -1.0), 1.0) for a in axes[:4])
            self._at = [roll, pitch, yaw, 0.5 - 0.5 * throttle]  # devices count forwards as negative
        else:
            self._from_keys(held, wall_s)
        roll, pitch, yaw, throttle = self._at
        return roll, pitch, yaw, throttle

    def _from_keys(self, held: Mapping[str, bool], wall_s: float) -> None:
        share = min(wall_s / SPRING_S, 1.0)
        for n, (plus, minus) in enumerate((("l", "j"), ("k", "i"), ("d", "a"))):
            wish = DEFLECTION * (held.get(plus, False) - held.get(minus, False))
            self._at[n] += share * (wish - self._at[n])
        up = held.get("w", False) - held.get("s", False)
        if self.mode == Mode.HEIGHT_HOLD:
            self._at[3] += share * (0.5 + DEFLECTION / 2.0 * up - self._at[3])
        else:
            self._at[3] = min(max(self._at[3] + THROTTLE_PER_S * wall_s * up, 0.0), 1.0)
