"""What holds the roll loop back: the rotors' lag, delays, noise, or a limit that was asked for."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from quadsim.analysis.linear_plant import LinearPlant
from quadsim.analysis.loop_hardware import Hardware
from quadsim.tuning.axis_loop import AxisPlant
from quadsim.tuning.axis_search import Axis, Found, search
from quadsim.tuning.limits import Limits

Complex = NDArray[np.complex128]

FASTER = 2.0 / 3.0
"""Of the rotors' lag, in the question what a quicker rotor would give."""
SOONER = 0.5
"""Of the delays, in the question what a faster loop would give."""
HELPS = 1.08
"""A crossover that grows by less than this factor is not worth a sentence."""


@dataclass(frozen=True)
class HardwareLimit:
    """Of the roll loop, by coarse searches; a crossover of 0: nothing keeps to the limits.

    lag_s, delay_s : rotors' lag and all delays of the loop [s]; crossover_Hz : reached in the slowest corner
    quicker_Hz, sooner_Hz : with a rotor lag of FASTER times that, with delays of SOONER times those
    """

    lag_s: float
    delay_s: float
    crossover_Hz: float
    quicker_Hz: float
    sooner_Hz: float

    @property
    def words(self) -> str:
        """What it means, in a sentence or two."""
        now = (
            f"with {1e3 * self.lag_s:.0f} ms of rotor lag and {1e3 * self.delay_s:.1f} ms of delay the roll loop reaches "
            f"{self.crossover_Hz:.1f} Hz in its slowest corner within these limits"
        )
        better = []
        if self.quicker_Hz > HELPS * self.crossover_Hz:
            lag = 1e3 * FASTER * self.lag_s
            better.append(
                f"rotors with {lag:.0f} ms (lighter or smaller propellers) would give {self.quicker_Hz:.1f} Hz"
            )
        if self.sooner_Hz > HELPS * self.crossover_Hz:
            delay = 1e3 * SOONER * self.delay_s
            better.append(
                f"{delay:.1f} ms of delay (a faster loop, less filtering) would give {self.sooner_Hz:.1f} Hz"
            )
        return (
            f"{now}; {'; '.join(better)}"
            if better
            else f"{now}; neither quicker rotors nor less delay would help much"
        )


def rotor_lag(plant: LinearPlant) -> float:
    """Time constant of the rotors [s]: mean of the four fastest eigenvalues of the plant."""
    fastest = np.sort(np.linalg.eigvals(plant.a).real)[:4]
    return float(-1.0 / np.mean(fastest))


def loop_delay(hardware: Hardware) -> float:
    """Age of a sample, delay and mean hold of a command, lags of gyroscope and ESC at low frequency [s]."""
    gyro = hardware.imu_period * (1.0 / hardware.gyro_blend - 1.0)
    esc = hardware.h * (1.0 / float(np.mean(hardware.motor_blend)) - 1.0)
    return hardware.imu_age + hardware.command_age + 0.5 * hardware.command_hold + gyro + esc


def hardware_limit(
    axis: Axis, limits: Limits, plant: LinearPlant, hardware: Hardware, reached_Hz: float | None = None
) -> HardwareLimit:
    """Search the roll axis coarsely as it is, with quicker rotors and with less delay.

    axis : roll; plant, hardware : of the first corner
    reached_Hz : crossover that the full search came to: the others are brought in by their ratio to the coarse search's own
    """
    lag, delay = rotor_lag(plant), loop_delay(hardware)
    s = 1j * axis.plant.w
    quicker = (1.0 + s * lag) / (1.0 + s * FASTER * lag)
    sooner = np.exp(s * (1.0 - SOONER) * delay)
    reached = [
        _reached(search(_changed(axis, factor), limits, steps=(1.25,), every=2))
        for factor in (np.ones(len(s), complex), quicker, sooner)
    ]
    scale = reached_Hz / reached[0] if reached_Hz and reached[0] else 1.0
    return HardwareLimit(lag, delay, *(scale * one for one in reached))


def _changed(axis: Axis, factor: Complex) -> Axis:
    plant, turned = axis.plant, factor.astype(np.complex64)
    return replace(axis, plant=AxisPlant(plant.axis, plant.w, plant.rate * turned, plant.angle * turned))


def _reached(found: Found | None) -> float:
    return float(found.verdict.crossover_Hz[0]) if found is not None else 0.0


def binding(found: Found, limits: Limits, bounds: NDArray[np.float64]) -> str:
    """Which limit the chosen gains stand at, in words."""
    one, at = found.verdict, []
    if one.disk[0] < 1.03 * limits.disk:
        at.append("margins")
    if one.noise_pct[0] > 0.97 * limits.noise_pct:
        at.append("noise to the motors")
    if one.resonance[0] > limits.resonance - 0.01:
        at.append("overshoot")
    if one.quickest_Hz[0] > 0.93 * limits.most_bandwidth_Hz:
        at.append("the bandwidth asked for")
    gains = np.array([found.gains.p[0], found.gains.i[0], found.gains.d[0], found.gains.a[0]])
    if np.any((gains >= 0.999 * bounds[:, 1]) & (bounds[:, 1] > 0.0)):
        at.append("a gain's greatest value")
    return ", ".join(at) if at else "none"
