"""What looks wrong with a log before anything is fitted to it: units, signs, axes, order of the rotors, another craft."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import permutations

import numpy as np

from quadsim.config.equilibrium import hover_balance
from quadsim.constants import G0
from quadsim.dynamics.state import ROTOR_NAMES
from quadsim.logs.along import Along, Model
from quadsim.logs.flight_log import Array, FlightLog, Mask
from quadsim.units import DEG, RPM

AXES = ("roll", "pitch", "yaw")
WINDOW_S = 0.02
FAR_OFF = 8.0
"""Factor between gyro and slope of the attitude from which a unit must be wrong; 57.3 is radians for degrees."""
ORDER_GAIN = 0.5
"""Sum of the three correlations that another order of the rotors must gain to be named; our choice."""
LEAST_TURN = 5.0 * DEG
"""Standard deviation of a rate below which an axis says nothing of signs and units [rad/s]; our choice."""
FAR_FROM_HOVER = {"current": 30.0, "rotor_speed": 4.0}
"""Factor between a mean in the air and the hover's from which a unit must be wrong: 1000 is mA, 6 or 7 are electrical rpm; a
flight at full throttle draws some ten times the hover's current, at twice the speed; our choice."""
CELL_V = (2.8, 4.5)
"""Voltage of a cell in flight [V]; common practice."""


@dataclass(frozen=True)
class Suspicion:
    """A sentence on what looks wrong.

    grave : nothing fitted to this log may be written into a craft file
    channel : one that makes no sense and that the model must not be led by; "" where it can be
    """

    text: str
    grave: bool = True
    channel: str = ""


def of_the_log(model: Model, log: FlightLog, flying: Mask) -> list[Suspicion]:
    """What the log says against itself and against the kind of craft."""
    found = _gyro(log, flying) + _accelerometer(log, flying) + _drive(model, log, flying)
    if "motor" in log and float(np.max(log["motor"])) > 1.2:
        top = float(np.max(log["motor"]))
        found.append(
            Suspicion(
                f"motor commands go up to {top:.4g} where 1 is full: motor_1_pct and motor_1_us are understood"
            )
        )
    if not flying.any():
        found.append(Suspicion("no row is in the air: motors at idle, or height_m under 0.3 m all the time"))
    return found


def turning_rates(log: FlightLog) -> Array:
    """Body rates [rad/s] from the slope of the attitude: 2 q* dq/dt, central differences over the window."""
    t, q = log.t_s, log["attitude"]
    k = max(1, round(0.5 * WINDOW_S / log.interval_s))
    early, late = np.clip(np.arange(len(t)) - k, 0, None), np.clip(np.arange(len(t)) + k, None, len(t) - 1)
    dq = (q[late] - q[early]) / (t[late] - t[early])[:, None]
    w, v = q[:, :1], q[:, 1:]
    return np.asarray(2.0 * (w * dq[:, 1:] - dq[:, :1] * v - np.cross(v, dq[:, 1:])))


def _gyro(log: FlightLog, flying: Mask) -> list[Suspicion]:
    if "gyro" not in log or "attitude" not in log or not flying.any():
        return []
    slope, gyro = turning_rates(log)[flying], log["gyro"][flying]
    found = []
    for k, axis in enumerate(AXES):
        if max(np.std(slope[:, k]), np.std(gyro[:, k])) < LEAST_TURN or not np.std(gyro[:, k]) > 0.0:
            continue
        related = [float(np.corrcoef(gyro[:, k], slope[:, m])[0, 1]) for m in range(3)]
        best = int(np.argmax(np.abs(related)))
        factor = float(np.std(gyro[:, k]) / np.std(slope[:, k]))
        name = f"gyro_{axis}"
        if max(map(abs, related)) < 0.5:
            continue
        if best != k and abs(related[best]) > abs(related[k]) + 0.3:
            found.append(Suspicion(f"{name} follows the attitude's {AXES[best]}: are its axes swapped?"))
        elif not 1.0 / FAR_OFF < factor < FAR_OFF:
            which = "larger" if factor > 1.0 else "smaller"
            times = factor if factor > 1.0 else 1.0 / factor
            text = f"{name} is {times:.3g} times {which} than the attitude's slope"
            found.append(
                Suspicion(
                    text
                    + (
                        ": radians for degrees, in the one or the other?"
                        if 40 < times < 80
                        else ": is its unit right?"
                    )
                )
            )
        elif related[k] < -0.5:
            found.append(
                Suspicion(f"{name} turns the other way than the attitude: give it scale = -1 in --columns")
            )
    return found


def _accelerometer(log: FlightLog, flying: Mask) -> list[Suspicion]:
    if "accel" not in log or not flying.any():
        return []
    mean = float(np.mean(log["accel"][flying, 2]))
    if mean > 0.3 * G0:
        return [
            Suspicion(
                f"accel_z is {mean:+.3g} m/s2 on the mean; with z down it reads {-G0:.2f} in hover: give scale = -1 in --columns"
            )
        ]
    if abs(mean + G0) > 0.5 * G0:
        text = f"accel_z is {mean:+.3g} m/s2 on the mean where {-G0:.2f} carries the craft"
        return [Suspicion(text + ": is its unit m/s2 (accel_z_m_s2) or g (accel_z_g)?")]
    return []


def _drive(model: Model, log: FlightLog, flying: Mask) -> list[Suspicion]:
    """Voltage, current and rotor speed that are no such thing of a craft of this kind."""
    hover = hover_balance(model.plant)
    if not flying.any():
        return []
    found = _voltage(model, log, flying) if "voltage" in log else []
    if hover is None:
        return found
    usual = {
        "current": (hover.pack_current, 1.0, "A", "current_A or current_mA"),
        "rotor_speed": (hover.rotor_speed, RPM, "rpm", "rpm_1, rotor_speed_1_rad_s, or electrical rpm over pole pairs"),
    }  # fmt: skip
    for channel, (own, scale, unit, names) in usual.items():
        mean = float(np.mean(log[channel][flying])) if channel in log else own
        if not 1.0 / FAR_FROM_HOVER[channel] <= mean / own <= FAR_FROM_HOVER[channel]:
            text = f"{channel.replace('_', ' ')} is {mean / scale:.4g} {unit} on the mean where this craft's hover takes"
            remedy = "give scale = -1 in --columns" if mean < 0.0 else f"is its unit right ({names})?"
            found.append(Suspicion(f"{text} {own / scale:.4g}: {remedy}", channel=channel))
    return found


def _voltage(model: Model, log: FlightLog, flying: Mask) -> list[Suspicion]:
    cells, volts = int(model.plant.cells), float(np.median(log["voltage"][flying]))
    if CELL_V[0] <= volts / cells <= CELL_V[1]:
        return []
    text = f"the pack has {volts:.4g} V, {volts / cells:.3g} V a cell of this craft's {cells}"
    return [Suspicion(text + ": another pack, another craft, or voltage of one cell?", channel="voltage")]


def rotor_order(model: Model, log: FlightLog, said: Along, rows: Mask) -> list[Suspicion]:
    """Another order of the rotors that explains the turning far better than the one given."""
    t = log.t_s
    reach = max(1, round(WINDOW_S / log.interval_s))
    at = np.flatnonzero(rows[:-reach])[:: max(1, reach // 2)]
    speed = said.rotor_speed
    pushed = np.concatenate([np.zeros((1, 4)), np.cumsum(speed[1:] ** 2 * np.diff(t)[:, None], axis=0)])
    moved = [_quick(pushed[at + reach] - pushed[at]), _quick(speed[at + reach] - speed[at])]
    gyro = _quick(log["gyro"][at + reach] - log["gyro"][at])
    arms = np.asarray(model.plant.rotor_position)
    weights = (-arms[:, 1], arms[:, 0], -np.asarray(model.plant.spin))

    def score(order: tuple[int, ...]) -> float:
        sides = [moved[1 if k == 2 else 0][:, order] @ weights[k] for k in range(3)]
        return float(sum(_related(side, gyro[:, k]) for k, side in enumerate(sides)))

    given = score((0, 1, 2, 3))
    best = max(permutations(range(4)), key=score)
    if score(best) < given + ORDER_GAIN or score(best) < 1.0:
        return []
    # the rotor that stands at our place k flies as the log's number best[k]
    names = ", ".join(ROTOR_NAMES[best.index(k)] for k in range(4))
    text = (
        f"the rotors seem to be in another order: as given they explain the turning with {given:.2f} of 3, "
    )
    text += f"as rotors = [{names}] with {score(best):.2f}; put that line into --columns map.toml"
    return [Suspicion(text)]


def _quick(values: Array) -> Array:
    """Without what is slow: the moving mean of 50 windows."""
    kernel = np.ones(51) / 51.0
    slow = np.stack([np.convolve(one, kernel, mode="same") for one in values.T], axis=1)
    return values - slow


def _related(a: Array, b: Array) -> float:
    size = float(np.std(a) * np.std(b))
    return float(np.mean((a - a.mean()) * (b - b.mean()))) / size if size > 0.0 else 0.0


def another_craft(factors: dict[str, float]) -> list[Suspicion]:
    """Factors on thrust or turning that no tolerance explains."""
    limits = {"thrust": (0.6, 1.6), "roll": (0.4, 2.5), "pitch": (0.4, 2.5), "yaw": (0.3, 3.0)}
    off = [
        f"{name} is {factors[name]:.2f} times the model's"
        for name, (low, high) in limits.items()
        if name in factors and not low <= factors[name] <= high
    ]
    if not off:
        return []
    return [Suspicion(f"this looks like the log of another craft: {', '.join(off)}")]
