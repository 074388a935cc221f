"""Everything between the control blocks and the plant: delays, holds and lags of sensors, ESCs and their clocks."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from quadsim.analysis.linear_block import Place, places
from quadsim.analysis.linear_plant import OUTPUTS, Y
from quadsim.sensors.clock import SAME_INSTANT, Clock
from quadsim.sensors.place_records import Slow
from quadsim.sensors.records import BLENDS

Array = NDArray[np.float64]
Complex = NDArray[np.complex128]

MEASURED: tuple[Place, ...] = (
    *places(
        ("gyro", "accel", "baro_height", "gnss_position", "gnss_velocity", "magnetic_field", "range_distance")
    ),
)
"""What the estimate reads that the plant moves."""
VOLTAGE: Place = ("battery_voltage", 0)
"""What the allocator reads of it, as old as the estimate's last run."""
AVERAGED = 4000
"""Ticks over which the age of a sample is averaged where two clocks do not divide."""


def cross(v: Array) -> Array:
    """The matrix (3, 3) of v x."""
    a, b, c = v
    return np.array([[0.0, -c, b], [c, 0.0, -a], [-b, a, 0.0]])


def hold(w: Array, dt: float) -> Complex:
    """A value held for `dt` [s]: (1 - e^(-s T))/(s T); half a sample of delay at low frequency.

    G. F. Franklin, J. D. Powell, M. Workman, Digital Control of Dynamic Systems, 3rd ed. (1998), sec. 5.3 (from memory).
    """
    return np.sinc(w * dt / (2.0 * math.pi)) * np.exp(-0.5j * w * dt)


def held_between(w: Array, slow: float, fast: float) -> Complex:
    """A value that comes every `slow` [s] and is read every `fast` [s]: mean of 1, z^-1, ... over the runs in between."""
    runs = max(round(slow / fast), 1)
    return np.exp(-1j * w[:, None] * fast * np.arange(runs)).mean(axis=1)


def first_order(w: Array, blend: float, dt: float) -> Complex:
    """y += blend (x - y) once per `dt` [s], as sensors and ESCs smooth."""
    z = np.exp(1j * w * dt)
    return blend * z / (z - 1.0 + blend)


@dataclass(frozen=True)
class Hardware:
    """Delays and lags from the records that the flight loop itself reads; times in seconds.

    imu_age : mean age of a sample when the estimate reads it
    command_age : from a command computed to the tick from which it is in force, mean
    command_hold : how long a command is in force
    motor_blend : share per tick of each motor's command in the ESC's lag: the slower of up and down, (4,)
    slow_period, slow_age : of the slow sensors (Slow)
    gyro, accel : body axes to readings after the correction of the mounting, (3, 3)
    antenna : of the satellite receiver from the centre of mass, body axes [m], (3,)
    baro_port : height read too low per velocity north-east-down [s], (3,): pressure at the port about the point's airspeed
    """

    h: float
    imu_period: float
    imu_age: float
    gyro_blend: float
    accel_blend: float
    gyro: Array
    accel: Array
    mode: tuple[float, float, Array]
    slow_period: Array
    slow_age: Array
    baro_blend: float
    baro_scale: float
    baro_port: Array
    antenna: Array
    voltage_scale: float
    command_age: float
    command_hold: float
    motor_blend: Array
    field: Array

    @classmethod
    def of(
        cls, sensors: Any, every: NDArray[np.int64], h: float, duty: Array, velocity: Array, field: Array
    ) -> Hardware:
        """From a SENSORS record, ticks between runs of the blocks, the tick [s], the four commands, the velocity through the
        air, north-east-down [m/s], and the field [T]."""
        steps = np.rint(np.clip(duty, 0.0, 1.0) * (BLENDS - 1)).astype(int)
        age, held = _command_timing(sensors, int(every[4]))
        believed = np.asarray(sensors.mounting_believed)
        mode = (float(sensors.mode_frequency), float(sensors.mode_damping), np.array(sensors.mode_share))
        return cls(
            h, float(sensors.imu_period), _imu_age(sensors, int(every[0])) * h, float(sensors.gyro_blend),
            float(sensors.accel_blend), believed @ np.asarray(sensors.gyro_matrix), believed @ np.asarray(sensors.accel_matrix),
            mode, np.asarray(sensors.slow_every) * h, np.asarray(sensors.slow_delay) * h, float(sensors.baro_blend),
            float(sensors.baro_scale), 2.0 * float(sensors.baro_port) * np.asarray(velocity),
            np.array(sensors.gnss_place), float(sensors.voltage_scale), age * h, held * h,
            np.minimum(sensors.motor_blend[0, steps], sensors.motor_blend[1, steps]), np.asarray(field),
        )  # fmt: skip

    def slower(self, factor: float) -> Hardware:
        """The same with all pure delays times a factor."""
        return replace(self, imu_age=self.imu_age * factor, command_age=self.command_age * factor)

    def commands(self, w: Array) -> Complex:
        """From motor commands as computed to duties, (n, 4): delay, hold, the ESC's lag."""
        common = hold(w, self.command_hold) * np.exp(-1j * w * self.command_age)
        return np.stack([common * first_order(w, float(b), self.h) for b in self.motor_blend], axis=1)

    def flexible(self, w: Array) -> Complex:
        """Rate of body and flexible mode over the body's own, per axis, (n, 3)."""
        frequency, damping, share = self.mode
        if not np.any(share):
            return np.ones((len(w), 3), complex)
        r = (w / frequency)[:, None]
        return np.asarray(1.0 + share * r * r / (1.0 - r * r + 2j * damping * r), complex)

    def measured(self, w: Array, held: NDArray[np.bool_], turn: Array) -> Complex:
        """From the plant's outputs to `MEASURED`, (n, len(MEASURED), OUTPUTS).

        Parameters
        ----------
        held : which of `MEASURED` are read between samples too: those are held
        turn : body to world matrix (3, 3) of the operating point
        """
        out = np.zeros((len(w), len(MEASURED), OUTPUTS), complex)
        late = np.exp(-1j * w * self.imu_age)
        rate = late * first_order(w, self.gyro_blend, self.imu_period)
        push = late * first_order(w, self.accel_blend, self.imu_period)
        out[:, 0:3, Y.RATES : Y.RATES + 3] = self.gyro * (rate[:, None] * self.flexible(w))[:, None, :]
        out[:, 3:6, Y.FORCE : Y.FORCE + 3] = self.accel * push[:, None, None]
        slow = [self._slow(w, kind, bool(held[k])) for kind, k in _FIRST.items()]
        out[:, 6] = np.outer(slow[0], self.height_read())
        if self.slow_period[Slow.BAROMETER] > 0.0:
            out[:, 6] *= first_order(w, self.baro_blend, float(self.slow_period[Slow.BAROMETER]))[:, None]
        out[:, 7:13] = slow[1][:, None, None] * self.fix_read(turn)
        # a body turned by e sees a fixed vector b turn by b x e
        out[:, 13:16, Y.TURN : Y.TURN + 3] = cross(turn.T @ self.field) * slow[2][:, None, None]
        return out

    def height_read(self) -> Array:
        """What the barometer reads per output of the plant, before its own lag, (OUTPUTS,)."""
        read = np.zeros(OUTPUTS)
        read[Y.POSITION + 2] = -1.0
        read[Y.VELOCITY : Y.VELOCITY + 3] = -self.baro_port
        return self.baro_scale * read

    def fix_read(self, turn: Array) -> Array:
        """Place and velocity that a fix tells per output of the plant, (6, OUTPUTS): of the antenna, which a turn e of the craft
        moves by e x a and a rate w by w x a."""
        read, swing = np.zeros((6, OUTPUTS)), -turn @ cross(self.antenna)
        read[:3, Y.POSITION : Y.POSITION + 3] = read[3:, Y.VELOCITY : Y.VELOCITY + 3] = np.eye(3)
        read[:3, Y.TURN : Y.TURN + 3] = read[3:, Y.RATES : Y.RATES + 3] = swing
        return read

    def _slow(self, w: Array, kind: Slow, held: bool) -> Complex:
        """Delay and hold of a slow sensor; nothing comes from one that the craft does not carry."""
        period = float(self.slow_period[kind])
        if period == 0.0:
            return np.zeros(len(w), complex)
        late = np.exp(-1j * w * float(self.slow_age[kind]))
        return late * hold(w, period) if held else late


_FIRST = {Slow.BAROMETER: 6, Slow.SATELLITE: 7, Slow.MAGNETOMETER: 13}
"""First scalar in `MEASURED` of each slow sensor that is modelled. A rangefinder sees no ground where points are taken."""


def _imu_age(sensors: Any, every: int) -> float:
    """Mean age [ticks] of the inertial sample that the estimate reads; see `sensors.clock.newest_sample`."""
    ticks = np.arange(1, AVERAGED + 1) * every + 10_000 * every
    rate = float(sensors.imu_clock[Clock.PER_TICK])
    newest = np.floor((ticks - float(sensors.imu_delay)) * rate + SAME_INSTANT)
    return float(np.mean(ticks - newest / rate))


def _command_timing(sensors: Any, every: int) -> tuple[float, float]:
    """Mean delay from computing a command to the tick where it comes into force, and for how long it is, in ticks."""
    delay, own = 1 + int(sensors.motor_delay), max(int(sensors.motor_every), 1)
    ticks = np.arange(AVERAGED) + 100 * own * every
    taken = ticks - ticks % own
    computed = (taken - delay) - (taken - delay) % every
    period = max(own, every)
    return float(np.mean(ticks - computed)) - 0.5 * (period - 1), float(period)
