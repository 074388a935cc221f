"""A run as the viewer reads it: derived columns that grow with a live flight, and every value at any time."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from controllers.signals import TARGET_MODES, Mode
from quadsim.kinematics.quaternion import rotation_matrix, to_euler
from quadsim.simulation.run import Event, Run
from quadsim.units import DEG, MAH

SATURATED = 0.98
"""Share of full duty from which a rotor counts as saturated [-]; assumed, so that quantisation does not hide it."""
REACH_S = 1.5
"""Time in which a camera makes room for a line [s]; taste, no source."""
FAR_M = 1e5
"""Positions beyond this (a diverged flight) are drawn at this distance [m]."""


@dataclass(frozen=True)
class Loose:
    """A load that moves on its own: on a line, or let go."""

    position: np.ndarray
    """Its middle, world [m]."""
    size_m: np.ndarray
    hook: np.ndarray | None
    """Upper end of its line, body axes [m]; None when it was let go."""
    line_m: float
    tension_N: float


@dataclass(frozen=True)
class Moment:
    """Everything the screen shows at one time. World axes north-east-down, body forward-right-down."""

    t_s: float
    position: np.ndarray
    rotation: np.ndarray
    """Body to world, shape (3, 3)."""
    velocity: np.ndarray
    rate_deg_s: float
    roll_deg: float
    pitch_deg: float
    heading_deg: float
    tilt_deg: float
    height_wanted_m: float
    wind: np.ndarray
    duty: np.ndarray
    motor: np.ndarray
    thrust_N: np.ndarray
    stick: np.ndarray
    mode: Mode
    volts: float
    amps: float
    charge_pct: float
    used_mAh: float
    load: Loose | None = None

    @property
    def height_m(self) -> float:
        """Height, up positive [m]."""
        return -float(self.position[2])

    @property
    def speed_m_s(self) -> float:
        """Speed [m/s]."""
        return float(np.linalg.norm(self.velocity))

    @property
    def saturated(self) -> np.ndarray:
        """Rotors that can give no more: at full duty, or asked for it, shape (4,)."""
        return np.maximum(self.duty, self.motor) >= SATURATED


class Track:
    """Columns over time, (n,) each unless said otherwise; `refresh` takes in what a live flight has added."""

    def __init__(self, run: Run) -> None:
        self.run = run
        self._rows = 0
        self._store: dict[str, np.ndarray] = {}
        self.refresh(run)

    def refresh(self, run: Run) -> None:
        """Take in the rows that came since the last call."""
        self.run = run
        first, last = self._rows, len(run)
        if last > first:
            for name, values in _derive(run, slice(first, last), self).items():
                self._append(name, values, first)
            self._rows = last

    def cut(self, rows: int) -> None:
        """Forget all rows but the first `rows`: a practice flight was set back."""
        self._rows = min(self._rows, rows)

    def _append(self, name: str, values: np.ndarray, first: int) -> None:
        stored = self._store.get(name)
        need = first + len(values)
        if stored is None or len(stored) < need:
            grown = np.empty((max(2 * need, 256), *values.shape[1:]))
            if stored is not None:
                grown[:first] = stored[:first]
            self._store[name] = stored = grown
        stored[first:need] = values

    def __getitem__(self, name: str) -> np.ndarray:
        return self._store[name][: self._rows] if name in self._store else np.empty(0)

    def __len__(self) -> int:
        return self._rows

    @property
    def end_s(self) -> float:
        """Time of the last row [s]."""
        return float(self["t"][-1]) if self._rows else 0.0

    @property
    def events(self) -> list[Event]:
        """What happened."""
        return self.run.events

    @property
    def cells(self) -> float:
        """Cells in series; 1 when the run does not say."""
        return float(self.run.meta.get("cells", 1)) or 1.0

    def index(self, t_s: float) -> int:
        """Row at or before `t_s`."""
        after = int(self._store["t"][: self._rows].searchsorted(t_s, side="right"))
        return min(max(after - 1, 0), max(self._rows - 1, 0))

    def at(self, t_s: float) -> Moment:
        """Everything at `t_s`; motion is interpolated, attitude along the chord of the two quaternions."""
        k = self.index(t_s)
        after = min(k + 1, self._rows - 1)
        t0, t1 = self["t"][k], self["t"][after]
        share = float(np.clip((t_s - t0) / (t1 - t0), 0.0, 1.0)) if t1 > t0 else 0.0

        def between(name: str) -> Any:
            return (1.0 - share) * self[name][k] + share * self[name][after]

        q = _blend(self["quaternion"][k], self["quaternion"][after], share)
        roll, pitch, yaw = to_euler(*q)
        rotation = np.array(rotation_matrix(*q)).reshape(3, 3)
        return Moment(
            t_s=t_s, position=between("position"), rotation=rotation, velocity=between("velocity"),
            rate_deg_s=float(between("rate")), roll_deg=roll / DEG, pitch_deg=pitch / DEG,
            heading_deg=(yaw / DEG) % 360.0, tilt_deg=math.acos(max(-1.0, min(1.0, rotation[2, 2]))) / DEG,
            height_wanted_m=float(self["height_wanted"][k]), wind=between("wind"), duty=self["duty"][k],
            motor=self["motor"][k], thrust_N=between("thrust"), stick=self["stick"][k],
            mode=Mode(int(self["mode"][k])), volts=float(between("volts")), amps=float(between("amps")),
            charge_pct=float(between("charge")), used_mAh=float(between("used_mAh")),
            load=self._loose(t_s, k, between("load_position")),
        )  # fmt: skip

    def _loose(self, t_s: float, k: int, position: np.ndarray) -> Loose | None:
        """The load that moves on its own at row `k`: the one that began to do so last."""
        begun = [one for one in self.run.view.get("loads", ()) if one.get("loose_s", math.inf) <= t_s]
        if not begun or self["load_mass"][k] <= 0.0:
            return None
        last = max(begun, key=lambda one: one["loose_s"])
        on_line = "line_m" in last and (last["to_s"] is None or t_s < last["to_s"])
        return Loose(
            position, np.asarray(last["size_m"], float), np.asarray(last["hook_m"], float) if on_line else None,
            float(last.get("line_m", 0.0)), float(self["line_tension"][k]),
        )  # fmt: skip

    def line_reach_m(self, t_s: float) -> float:
        """Length of the line that a camera makes room for [m]; it comes and goes within REACH_S."""
        reach = 0.0
        for one in self.run.view.get("loads", ()):
            if "line_m" in one:
                gone = math.inf if one["to_s"] is None else one["to_s"]
                share = np.clip(min(t_s - one["from_s"], gone + REACH_S - t_s) / REACH_S, 0.0, 1.0)
                reach = max(reach, float(one["line_m"] * share * share * (3.0 - 2.0 * share)))
        return reach


def _blend(a: np.ndarray, b: np.ndarray, share: float) -> np.ndarray:
    q = (1.0 - share) * a + share * (b if a @ b >= 0.0 else -b)
    return q / max(float(np.linalg.norm(q)), 1e-9)


def _derive(run: Run, new: slice, track: Track) -> dict[str, np.ndarray]:
    """The viewer's columns for some rows of a run."""
    count = new.stop - new.start
    t = np.asarray(run.t_s[new])
    quaternion = _unit(run["attitude"][new])
    wanted = _unit(run["signals/attitude_wanted"][new])
    mode = np.clip(np.nan_to_num(run["signals/mode"][new]), 0, len(Mode) - 1)
    roll, pitch = _roll_pitch(quaternion)
    roll_wanted, pitch_wanted = _roll_pitch(wanted)
    controlled = run["signals/attitude_weight"][new] > 0.5
    duty, motor = _finite(run["duty"][new]), _finite(run["signals/motor"][new])
    amps = _finite(run["battery_current_A"][new])
    previous_t = track["t"][-1] if new.start else t[0]
    previous_mAh = track["used_mAh"][-1] if new.start else 0.0
    used = previous_mAh + np.cumsum(amps * np.diff(t, prepend=previous_t)) / MAH
    position = np.clip(_finite(run["position_m"][new]), -FAR_M, FAR_M)
    return {
        "t": t,
        "position": position,
        "height": -position[:, 2],
        "height_wanted": np.where(np.isin(mode, TARGET_MODES), run["signals/target_height_m"][new], np.nan),
        "quaternion": quaternion,
        "velocity": np.clip(_finite(run["velocity_m_s"][new]), -FAR_M, FAR_M),
        "rate": np.linalg.norm(_finite(run["rates_rad_s"][new]), axis=1).reshape(count) / DEG,
        "roll": roll,
        "pitch": pitch,
        "roll_wanted": np.where(controlled, roll_wanted, np.nan),
        "pitch_wanted": np.where(controlled, pitch_wanted, np.nan),
        "wind": _finite(run["wind_m_s"][new]),
        "duty": duty,
        "motor": motor,
        "load": np.maximum(duty, motor),
        "thrust": _finite(run["thrust_N"][new]),
        "stick": _finite(run["signals/stick"][new]),
        "mode": mode,
        "volts": _finite(run["battery_voltage_V"][new]),
        "amps": amps,
        "charge": 100.0 * _finite(run["charge"][new]),
        "used_mAh": used,
        "load_mass": _column(run, "load_mass_kg", new, (count,)),
        "load_position": np.clip(_column(run, "load_position_m", new, (count, 3)), -FAR_M, FAR_M),
        "line_tension": _column(run, "line_tension_N", new, (count,)),
    }


def _column(run: Run, name: str, new: slice, shape: tuple[int, ...]) -> np.ndarray:
    """Rows of a column; zeros for a run that was written before there was one."""
    return _finite(run[name][new]) if name in run.data else np.zeros(shape)


def _finite(values: np.ndarray) -> np.ndarray:
    """Numbers that can be drawn: a diverged flight ends in NaN or infinity."""
    values = np.asarray(values, float)
    if np.abs(values).max(initial=0.0) <= 1e9:  # false for NaN too
        return values
    return np.clip(np.nan_to_num(values, nan=0.0), -1e9, 1e9)


def _unit(quaternions: np.ndarray) -> np.ndarray:
    """Unit quaternions (n, 4); what is not a rotation (all zero before the first estimate, NaN) counts as level."""
    q = _finite(quaternions).copy()
    norm = np.linalg.norm(q, axis=1)
    q[norm < 1e-9] = (1.0, 0.0, 0.0, 0.0)
    return q / np.where(norm < 1e-9, 1.0, norm)[:, None]


def _roll_pitch(quaternions: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    angles = np.array([to_euler(*row) for row in quaternions.tolist()]).reshape(-1, 3) / DEG
    return angles[:, 0], angles[:, 1]
