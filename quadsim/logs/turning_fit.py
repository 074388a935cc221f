"""What the rotors make the craft turn: moment over inertia about each axis, and how late.

Equation error in differences over a window W: gyro(t + W) - gyro(t) = e * integral of the model's angular acceleration, taken the
delay earlier, and a slow rest, which both sides lose to a moving mean. The delay is where the residual is least, by a parabola
through its neighbours. Factors over 1: the craft turns more willingly than the model: less inertia or stronger rotors.

A log with fewer rows than commands meets the controller's jerks at the same phase again and again and makes them too large. Rotor
speeds in the log are free of that: then they turn the model about roll and pitch.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from quadsim.analysis.evidence import map_sigmas
from quadsim.config.mass_properties import mass_properties
from quadsim.config.propeller_evidence import propeller_map
from quadsim.logs.along import Along, Model, along
from quadsim.logs.estimate import AGREE, Estimate, Key, Untold, combined
from quadsim.logs.flight_log import Array, FlightLog, Mask
from quadsim.logs.regression import Fit, least_squares
from quadsim.units import GRAM

AXES = ("roll", "pitch", "yaw")
WINDOW_S = 0.02
"""Over which changes are taken [s]: longer than a rotor's noise, shorter than a manoeuvre; our choice."""
SLOW_S = 0.5
"""Of the moving mean that both sides lose [s]: what flow does to a moving craft is slower; our choice."""
SLOWEST_HZ, SLOWEST_KNOWN_HZ = 150.0, 95.0
"""Rows per second below which commands between rows are anybody's guess; the same with rotor speeds in the log; our choice."""
FEW, ALL = 0.45, 0.9
"""Rows over commands: under the first most commands are missed, over the second none; our choice."""
MISSED_SIGMA = 0.25
"""Relative standard uncertainty of a factor from a log that misses most commands: one of the demo craft with an eighth of them
was off by 0.2 to 0.4."""
SPEED_SIGMA = 0.01
"""Relative standard uncertainty of a factor from reported rotor speeds, which are late and stand still between two reports:
on logs of the demo craft it came out 1 % low."""
LATEST_S = 0.02
"""Delays are looked for from minus half of this to this [s]."""
LEAST_EXPLAINED = 0.5
"""Share of the gyro's changes that the model must explain before a factor counts; our choice."""
INERTIA_SIGMA = 0.1
"""Relative standard uncertainty of an inertia made of parts and boxes; assumed."""
SWUNG_SIGMA = 0.03
"""The same of one that was measured and states no uncertainty; assumed."""
YAW_SIGMA = 0.15
"""The same about yaw, where it is the rotors' inertia and torque that turn the craft; assumed."""
DELAY_SIGMA_S = 1e-3
"""Of the delays in a craft file together [s]; assumed."""
STEPS_S = 0.15e-3
"""Standard uncertainty of a delay from sensors' and commands' clocks that the model brings to means [s]; assumed."""
FLIGHT = "fly brisk stick movements on each axis (half stick, 0.3 s one way, 0.3 s the other), logged at the controller's rate"


@dataclass(frozen=True)
class Turning:
    """Of one axis: factor with its parts of uncertainty, delay and its standard error [s], share explained."""

    axis: str
    factor: float
    parts: dict[str, float]
    delay_s: float
    delay_sigma_s: float
    explained: float


def fit_turning(model: Model, log: FlightLog, said: Along, rows: Mask) -> list[Turning]:
    """All three axes; empty when the log is too slow."""
    if log.rate_Hz < (SLOWEST_KNOWN_HZ if "rotor_speed" in log else SLOWEST_HZ):
        return []
    thin = _thinned(model, log, rows)
    few = log.rate_Hz <= FEW * model.command_Hz
    return [_axis(model, log, said, rows, thin, few, k) for k in range(3)]


def _axis(
    model: Model, log: FlightLog, said: Along, rows: Mask, thin: tuple[FlightLog, Along, Mask] | None, few: bool, axis: int
) -> Turning:  # fmt: skip
    """One axis. What commands between the rows may do is taken to be what leaving out every other did; much with `few` rows."""
    sides = sides_of(log, said.turning[:, axis], log["gyro"][:, axis], rows)
    step = max(log.interval_s / 4.0, 2e-4)
    delay, curvature = _delay_of(sides, step)
    fit = sides.fit(delay)
    variance = float(fit.residual @ fit.residual) / max(len(fit.residual) - 2, 1)
    inflation = (float(fit.sigma[0]) / max(_plain_sigma(fit), 1e-300)) ** 2
    delay_sigma = math.sqrt(2.0 * variance * max(inflation, 1.0) / curvature) if curvature > 0.0 else LATEST_S
    missed = reported = 0.0
    if thin is not None:
        halved = sides_of(thin[0], thin[1].turning[:, axis], thin[0]["gyro"][:, axis], thin[2])
        later = _delay_of(halved, step)[0]
        missed = abs(float(halved.fit(later).theta[0] - fit.theta[0]))
        delay_sigma = math.hypot(delay_sigma, later - delay)
    elif few:
        missed, delay_sigma = MISSED_SIGMA, math.hypot(delay_sigma, 0.5 * log.interval_s)
    if said.turning_known is not None and axis < 2:
        known = sides_of(log, said.turning_known[:, axis], log["gyro"][:, axis], rows)
        fit, missed, reported = known.fit(_delay_of(known, step)[0]), 0.0, SPEED_SIGMA
    parts = {
        "scatter": float(fit.sigma[0]),
        "commands between the rows": missed,
        "reported speeds": reported,
        "gyro scale": float(model.craft.flight_controller.gyro.scale_error_pct) / 100.0,
    }
    parts = {name: part for name, part in parts.items() if part > 0.0}
    return Turning(AXES[axis], float(fit.theta[0]), parts, delay, delay_sigma, fit.explained)


def _plain_sigma(fit: Fit) -> float:
    """Standard error if residuals were unrelated, from the explained share."""
    n = len(fit.residual)
    share = min(max(fit.explained, 1e-9), 1.0 - 1e-12)
    return abs(float(fit.theta[0])) * math.sqrt((1.0 - share) / share / max(n - 1, 1))


@dataclass(frozen=True)
class Sides:
    """Both sides of the equation: the model's changes at all rows, the gyro's where they count; without what is slow."""

    t: Array
    model: Array
    at: NDArray[np.intp]
    gyro: Array

    def late(self, delay_s: float) -> Array:
        """The model's changes that much later."""
        return np.interp(self.t[self.at] - delay_s, self.t, self.model)

    def cost(self, delay_s: float) -> float:
        """Sum of squared residuals at the best factor."""
        x, y = self.late(delay_s), self.gyro
        size = float(x @ x)
        return float(y @ y) - (float(x @ y) ** 2 / size if size > 0.0 else 0.0)

    def fit(self, delay_s: float) -> Fit:
        """The factor."""
        return least_squares(self.late(delay_s)[:, None], self.gyro)


def sides_of(log: FlightLog, turning: Array, gyro: Array, rows: Mask) -> Sides:
    """Changes over the window of the model's and the log's rate about one axis, at rows of a mask half a window apart."""
    t = log.t_s
    reach = max(1, round(WINDOW_S / log.interval_s))
    slow = max(3, round(SLOW_S / log.interval_s) | 1)
    turned = np.concatenate([[0.0], np.cumsum(turning[1:] * np.diff(t))])
    x, y = _quick(turned, reach, slow), _quick(gyro, reach, slow)
    at = np.arange(slow, len(t) - reach - slow, max(1, reach // 2))
    at = at[rows[at] & rows[at + reach] & (t[at + reach] - t[at] < 2.0 * WINDOW_S + 2.0 * log.interval_s)]
    return Sides(t[: len(x)], x, at, y[at])


def _quick(values: Array, reach: int, slow: int) -> Array:
    """Change over the window, less the moving mean of it."""
    change = values[reach:] - values[:-reach]
    summed = np.concatenate([[0.0], np.cumsum(change)])
    at, half = np.arange(len(change)), slow // 2
    low, high = np.maximum(at - half, 0), np.minimum(at + half + 1, len(change))
    return np.asarray(change - (summed[high] - summed[low]) / (high - low))


def _delay_of(sides: Sides, step: float) -> tuple[float, float]:
    """The delay of least residual [s], and the residual's second derivative there [1/s2]."""
    coarse = np.arange(-LATEST_S / 2.0, LATEST_S, 1e-3)
    near = float(coarse[int(np.argmin([sides.cost(late) for late in coarse.tolist()]))])
    fine = near + step * np.arange(-6, 7)
    cost = np.array([sides.cost(late) for late in fine.tolist()])
    k = int(np.clip(np.argmin(cost), 3, len(fine) - 4))
    a, b, _ = np.polyfit(fine[k - 3 : k + 4] - fine[k], cost[k - 3 : k + 4], 2)
    moved = float(np.clip(-b / (2.0 * a), -3.0 * step, 3.0 * step)) if a > 0.0 else 0.0
    return float(fine[k]) + moved, 2.0 * float(a)


def _thinned(model: Model, log: FlightLog, rows: Mask) -> tuple[FlightLog, Along, Mask] | None:
    """Every other row of a log that misses commands, led along again; None where every command has its row, or too few have."""
    if not FEW * model.command_Hz < log.rate_Hz < ALL * model.command_Hz:
        return None
    thin = FlightLog(log.path, log.t_s[::2], {name: values[::2] for name, values in log.channels.items()})
    return thin, along(model, thin), rows[::2]


def moment_sigma(model: Model, axis: str) -> float:
    """Relative standard uncertainty of the moment over inertia that the craft file leaves open."""
    if axis == "yaw":
        return YAW_SIGMA
    swung = getattr(model.craft.mass, f"{axis}_inertia_gm2")
    inertia = INERTIA_SIGMA if swung is None else swung.sigma / swung or SWUNG_SIGMA
    return math.hypot(inertia, map_sigmas(model.craft, propeller_map(model.craft))[0])


def estimates(
    model: Model, found: list[Turning], lift: Estimate | Untold
) -> tuple[list[Estimate], list[Untold]]:
    """What the axes say, as factors and one delay. lift : what the log says of the thrust over mass"""
    told: list[Estimate] = []
    untold: list[Untold] = []
    for one in found:
        words = f"{one.axis} moment over inertia"
        if one.explained < LEAST_EXPLAINED:
            why = f"the model explains {100.0 * max(one.explained, 0.0):.0f} % of how the gyro changed about {one.axis}"
            untold.append(Untold(one.axis, words, why, FLIGHT))
            continue
        expected, caution = moment_sigma(model, one.axis), _explained(model, one, lift)
        told.append(
            Estimate(
                one.axis, words, one.factor, combined(one.parts), 1.0, expected, "", one.parts, None, caution
            )
        )
    if told:
        told.append(_delay(model, [one for one in found if one.explained >= LEAST_EXPLAINED]))
    return told, untold


def _explained(model: Model, one: Turning, lift: Estimate | Untold) -> str:
    """Whether the thrust over mass, which turns the craft too, explains the factor; and if not, which inertia would."""
    unsure = "moment and inertia alone the log cannot tell, so nothing is written into the craft file"
    if one.axis == "yaw" or isinstance(lift, Untold) or min(lift.value, one.factor) <= 0.0:
        return unsure
    if abs(one.factor - 1.0) <= AGREE * combined(one.parts):
        return unsure
    left = one.factor / lift.value
    sigma = left * math.hypot(combined(one.parts) / one.factor, lift.sigma / lift.value)
    words = f"{left:.3f} +- {sigma:.3f} is left when the thrust over mass is put right"
    if abs(left - 1.0) <= AGREE * sigma:
        return f"{words}: thrust explains it"
    axis = AXES.index(one.axis)
    own = float(mass_properties(model.craft).inertia_kg_m2[axis, axis]) / GRAM
    words += f": mass, places of the rotors, or inertia; were it that alone, mass.{one.axis}_inertia_gm2 = {own / left:.3g}"
    return f"{words} (+- {own / left * sigma / left:.1g}) where the file has {own:.3g}: swing it to know (quadsim measure swing)"


def _delay(model: Model, found: list[Turning]) -> Estimate:
    """Delay of command and sensor beyond the model's, of roll and pitch where there are both."""
    used = [one for one in found if one.axis != "yaw"] or found
    weights = np.array([1.0 / max(one.delay_sigma_s, 1e-6) ** 2 for one in used])
    delays = np.array([one.delay_s for one in used])
    late = float(weights @ delays / weights.sum())
    scatter = float(np.sqrt(1.0 / weights.sum()))
    parts = {"scatter": max(scatter, float(np.std(delays))), "steps of the model": STEPS_S}
    own = float(model.craft.esc.delay_ms)
    expected = gyro_age_s(model)
    sigma = combined(parts)
    key = Key("esc.delay_ms", own + 1e3 * (late - expected), 1e3 * sigma)
    return Estimate(
        "delay", "delay, motor command to gyro", late, sigma, expected, DELAY_SIGMA_S, "s", parts, key,
        "beyond the ESC's and the rotors' own, which the model has; the craft file's esc.delay_ms takes up the difference",
    )  # fmt: skip


def gyro_age_s(model: Model) -> float:
    """Age of the gyro's numbers at low frequency [s]: delay, limit of bandwidth, and half an interval that a sample waits."""
    board = model.craft.flight_controller
    age = board.imu_delay_ms * 1e-3 + 1.0 / (2.0 * math.pi * max(float(board.gyro.bandwidth_Hz), 1.0))
    age += 0.5 / board.rates_Hz.imu
    return float(age)
