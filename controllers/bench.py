"""Where blocks are tried out: an invented craft, signals at random and in a hover, and arrays with guard zones."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from controllers.contract import GAINS_SIZE, MEMORY_SIZE, Block
from controllers.signals import BUILDER, SIGNALS, SIGNALS_TABLE, Mode, rows

GUARD = 16
"""Numbers kept beside gains and memory to catch a write beyond its end."""


@dataclass(frozen=True)
class Finding:
    """One question of the check with its answer."""

    name: str
    ok: bool
    message: str


def example_craft() -> Any:
    """An invented craft of 0.6 kg with rotors on a square of 180 mm; made up for checks."""
    craft = rows(BUILDER)[0]
    inertia = np.diag([3.0e-3, 3.5e-3, 6.0e-3])
    arm, drag = 0.09, 0.012
    moments = np.array([[-arm, -arm, arm, arm], [arm, -arm, -arm, arm], [drag, -drag, drag, -drag]])
    craft.mass, craft.inertia[:] = 0.6, inertia
    craft.effectiveness[:3] = np.linalg.solve(inertia, moments)
    craft.effectiveness[3] = 1.0
    craft.allocation[:] = np.linalg.inv(craft.effectiveness)
    craft.max_thrust, craft.thrust_curve, craft.nominal_voltage = 6.0, 0.8, 14.8
    craft.hover_throttle, craft.idle = 0.45, 0.05
    return craft


def random_signals(generator: np.random.Generator, scale: float = 1.0) -> Any:
    """Signals drawn at random; with a large `scale`, far beyond anything that flies. Quaternions stay unit."""
    s = rows(SIGNALS)[0]
    for signal in SIGNALS_TABLE:
        s[signal.name] = scale * generator.normal(size=signal.shape)
    for name in ("attitude", "attitude_wanted"):
        draw = generator.normal(size=4)
        s[name] = draw / np.linalg.norm(draw)
    s.dt = 10.0 ** generator.uniform(-4.0, -1.5)
    s.mode, s.link, s.airborne = generator.integers(len(Mode)), generator.integers(2), generator.integers(2)
    s.armed = 1.0
    s.attitude_weight = generator.integers(2)
    s.stick[:] = np.clip(s.stick, -1.0, 1.0)
    return s


def hovering_signals() -> Any:
    """Signals of the example craft in a hover under height hold, slightly disturbed."""
    s, craft = rows(SIGNALS)[0], example_craft()
    s.dt, s.mode, s.link, s.airborne, s.battery_voltage = 1e-3, Mode.HEIGHT_HOLD, 1.0, 1.0, 14.8
    s.armed = 1.0
    s.height = s.baro_height = s.target_height = 2.0
    s.gyro[:], s.accel[:] = (0.02, -0.01, 0.01), (0.05, -0.03, -9.8)
    s.attitude[0] = s.attitude_wanted[0] = s.attitude_weight = 1.0
    s.stick[3] = 0.5
    s.thrust_wanted = 9.80665 * craft.mass
    s.rates_wanted[:], s.angular_acceleration_wanted[:] = 0.01, 0.2
    return s


class Bench:
    """Runs a block on arrays with guard zones."""

    def __init__(self, block: Block) -> None:
        self.block, self.craft = block, example_craft()

    def run(
        self, s: Any, gains: np.ndarray | None = None, beyond: float = 0.0, times: int = 3
    ) -> tuple[Any, np.ndarray]:
        """Signals after some runs, and the memory with its guard zone; `beyond` fills what was not declared."""
        s = s.copy().view(np.recarray) if isinstance(s, np.ndarray) else _copy(s)
        full = np.full(MEMORY_SIZE + GUARD, beyond)
        full[: self.block.memory] = 0.0
        used = np.full(GAINS_SIZE + GUARD, beyond)
        declared = [int(g) for g in self.block.gains]
        used[declared] = (self.block.default_gains() if gains is None else gains)[declared]
        call = self.block.compiled if self.block.compiled is not None else self.block.function
        for _ in range(times):
            call(s, self.craft, used[:GAINS_SIZE], full[:MEMORY_SIZE])
        return s, full


def _copy(s: Any) -> Any:
    fresh = rows(SIGNALS)
    fresh[0] = s
    return fresh[0]


def not_finite(s: Any, names: tuple[str, ...]) -> list[str]:
    """Which of these signals hold NaN or infinity."""
    return [name for name in names if not np.all(np.isfinite(s[name]))]
