"""Many plants side by side, one row each, so that hundreds of drawn craft are solved in one pass of numpy."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from quadsim.dynamics.rotor import AXIAL_STEP, INPLANE_STEP, TREND_MOST
from quadsim.dynamics.rotor_map import AXIAL_MIN, N_AXIAL, N_INPLANE

Array = NDArray[np.float64]

NUMBERS = (
    "mass", "gravity", "air_density", "rotor_radius", "map_speed", "installed_loss", "per_disc_mass", "slipstream_drag",
    "torque_constant", "motor_resistance", "copper_per_kelvin", "esc_resistance", "no_load_current", "no_load_slope",
    "winding_heat", "case_heat", "winding_to_case", "case_to_air", "case_to_still_air", "hover_flow_squared",
    "air_temperature", "winding_limit", "magnet_limit", "propeller_limit", "current_limit", "cells", "full_cell_voltage",
    "pack_resistance", "lead_resistance", "cold_resistance", "low_charge_resistance", "cold_capacity", "pack_heat",
    "pack_to_air", "pack_temperature", "relaxation_resistance", "relaxation_capacitance", "capacity", "avionics_current",
)  # fmt: skip
"""Fields of the PLANT record that are carried over as they are."""


@dataclass(frozen=True)
class Crowd:
    """N plants; every number of NUMBERS is an attribute (N,).

    rotor_map, rotor_trend : (N, axial, in-plane, channels)
    drag_area, drag_centre : (N, 3) [m2], from the centre of mass [m]
    hubs : (N, 4, 3) from the centre of mass [m]; download : mean share of the thrust lost to a payload (N,)
    """

    numbers: dict[str, Array]
    rotor_map: Array
    rotor_trend: Array
    drag_area: Array
    drag_centre: Array
    hubs: Array
    download: Array

    def __getattr__(self, name: str) -> Array:
        try:
            return self.__dict__["numbers"][name]
        except KeyError:
            raise AttributeError(name) from None

    def __len__(self) -> int:
        return len(self.download)

    def rows(self, which: Sequence[int]) -> Crowd:
        """Some of the rows, in any order and as often as wanted."""
        at = np.asarray(which, dtype=int)
        fields = (
            self.rotor_map,
            self.rotor_trend,
            self.drag_area,
            self.drag_centre,
            self.hubs,
            self.download,
        )
        return Crowd({name: one[at] for name, one in self.numbers.items()}, *(one[at] for one in fields))

    def coefficients(self, speed: Array, axial: Array, inplane: Array) -> Array:
        """CT, CP, CH, CMR, CMP (N, 5) of the rotor maps at rotor speeds [rad/s] and speeds of the air along and across [m/s]."""
        return self._looked_up(np.arange(self.rotor_map.shape[-1]), speed, axial, inplane)

    def coefficient(self, channel: int, speed: Array, axial: Array, inplane: Array) -> Array:
        """One of them (N,); searches ask for the thrust alone, thousands of times."""
        return self._looked_up(np.array([channel]), speed, axial, inplane)[:, 0]

    def _looked_up(self, channels: NDArray[np.intp], speed: Array, axial: Array, inplane: Array) -> Array:
        """Channels (k,) of all rows (N, k): bilinear on the grid, moved by the trend with the rotor speed.

        The tables are read flat, by one number for each place: less than half the time of four indices.
        """
        speed = np.maximum(speed, 1.0)
        scale = math.pi / (self.rotor_radius * speed)
        across = np.minimum(np.maximum((axial * scale - AXIAL_MIN) / AXIAL_STEP, 0.0), N_AXIAL - 1.0)
        along = np.minimum(np.maximum(inplane * scale / INPLANE_STEP, 0.0), N_INPLANE - 1.0)
        m = np.minimum(across.astype(int), N_AXIAL - 2)
        n = np.minimum(along.astype(int), N_INPLANE - 2)
        a, b = (across - m)[:, None], (along - n)[:, None]
        trend = np.log(speed / self.map_speed)
        trend = np.minimum(np.maximum(trend, -TREND_MOST), TREND_MOST)[:, None]
        right = self.rotor_map.shape[-1]
        ahead = N_INPLANE * right
        place = ((np.arange(len(self)) * N_AXIAL + m) * ahead + n * right)[:, None] + channels
        grid, slope = self.rotor_map.reshape(-1), self.rotor_trend.reshape(-1)

        def corner(at: NDArray[np.intp]) -> Array:
            return np.asarray(grid.take(at) + trend * slope.take(at))

        low = corner(place) * (1.0 - a) + corner(place + ahead) * a
        high = corner(place + right) * (1.0 - a) + corner(place + (ahead + right)) * a
        return np.asarray(low * (1.0 - b) + high * b)


def crowd_of(plants: Sequence[Any]) -> Crowd:
    """The crowd of some PLANT records."""

    def stacked(name: str) -> Array:
        return np.array([np.asarray(getattr(plant, name), float) for plant in plants])

    return Crowd(
        {name: stacked(name) for name in NUMBERS},
        stacked("rotor_map"),
        stacked("rotor_trend"),
        stacked("drag_area"),
        stacked("drag_centre"),
        stacked("rotor_position"),
        stacked("download").mean(axis=1),
    )


def joined(crowds: Sequence[Crowd]) -> Crowd:
    """Crowds one after the other."""

    def stacked(name: str) -> Array:
        return np.concatenate([getattr(one, name) for one in crowds])

    fields = ("rotor_map", "rotor_trend", "drag_area", "drag_centre", "hubs", "download")
    numbers = {name: np.concatenate([one.numbers[name] for one in crowds]) for name in NUMBERS}
    return Crowd(numbers, *map(stacked, fields))
