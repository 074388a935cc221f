"""Courses made by hand for tests of the planner: the few fields it reads, without files."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from types import SimpleNamespace

import numpy as np


@dataclass(frozen=True)
class HandGate:
    name: str
    centre: np.ndarray
    heading: float
    width: float = 2.0
    height: float = 2.0

    @property
    def forward(self):
        return np.array([math.cos(self.heading), math.sin(self.heading), 0.0])

    @property
    def right(self):
        return np.array([-math.sin(self.heading), math.cos(self.heading), 0.0])


@dataclass(frozen=True)
class HandCourse:
    gates: tuple
    start: SimpleNamespace
    name: str = "hand-made"
    closed: bool = False
    laps: int = 1
    posts: tuple = ()
    boxes: tuple = ()
    field: SimpleNamespace = field(
        default_factory=lambda: SimpleNamespace(
            low=np.array([-100.0, -100.0, -50.0]), high=np.array([100.0, 100.0, 0.0])
        )
    )
    clearance: float = 0.1


def gate(name, forward, right, height, heading_deg, width=2.0, tall=2.0):
    return HandGate(name, np.array([forward, right, -height]), math.radians(heading_deg), width, tall)


def slalom(count=4, laps=1):
    gates = [gate(f"gate {k}", 8.0 * k + 8.0, 2.0 * (-1) ** k, 2.0, 0.0) for k in range(count)]
    start = SimpleNamespace(place=np.array([0.0, 0.0, -2.0]), heading=0.0)
    return HandCourse(tuple(gates), start, laps=laps)


def ring(count=12, radius=14.0):
    gates = []
    for k in range(count):
        turn = 2.0 * math.pi * k / count
        place = radius * np.array([math.sin(turn), 1.0 - math.cos(turn)])
        up = 2.0 + (1.5 if k % 3 == 0 else 0.0)
        gates.append(gate(f"gate {k}", *place, up, math.degrees(turn), 1.8, 1.8))
    start = SimpleNamespace(place=np.array([-6.0, 0.0, -2.0]), heading=0.0)
    return HandCourse(tuple(gates), start, closed=True)
