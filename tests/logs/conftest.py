"""Logs of known crafts: flights with every sensor's noise, flown by a craft that the model does not know."""

from collections.abc import Callable
from functools import lru_cache

import numpy as np
import pytest

from quadsim.config import load_craft, parse_craft
from quadsim.config.flight_loader import parse_flight
from quadsim.logs.flight_log import FlightLog
from quadsim.logs.flown import run_as_log
from quadsim.simulation.fly import finish, start
from quadsim.simulation.session import fly_through

HEAD = """
title = "Stick movements on every axis"
craft = "siskin"
duration_s = {duration}
seed = {seed}
log_rate_Hz = {rate}
[start]
height_m = 10
mode = "height_hold"
"""


def actions(duration: float) -> str:
    """Doublets of all sticks, one after the other, of chosen sizes."""
    draw = np.random.default_rng(3)
    text, t = "", 1.0
    while t < duration - 1.0:
        axis = ("roll", "pitch", "yaw", "throttle")[draw.integers(4)]
        rest = 0.5 if axis == "throttle" else 0.0
        size = draw.uniform(0.3, 0.6) * (0.5 if axis == "throttle" else 1.0)
        for late, value in ((0.0, rest + size), (0.4, rest - size), (0.8, rest)):
            text += f"[[at]]\nt_s = {t + late:.3f}\nstick_{axis} = {value:.3f}\n"
        t += 1.2
    return text


def altered(craft: str, *changes: tuple[str, str]) -> str:
    """The text of a shipped craft with pieces exchanged."""
    text = load_craft(craft).source_text
    for old, new in changes:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return text


@lru_cache(maxsize=32)
def _flown(text: str, seed: int, rate: float, duration: float):
    flight = parse_flight(HEAD.format(duration=duration, seed=seed, rate=rate) + actions(duration))
    session = start(flight, craft=parse_craft(text))
    fly_through(session)
    return finish(session, 0.0)


@pytest.fixture(scope="session")
def flown() -> Callable:
    """`flown(text of a craft, seed, rows a second, seconds)`: the run."""

    def fly(text: str | None = None, seed: int = 1, rate: float = 1000.0, duration: float = 14.0):
        return _flown(text or load_craft("siskin").source_text, seed, rate, duration)

    return fly


@pytest.fixture(scope="session")
def logged(flown) -> Callable[..., FlightLog]:
    """As `flown`, as a log; a copy that a test may spoil."""

    def log(*args, **kwargs) -> FlightLog:
        return run_as_log(flown(*args, **kwargs))

    return log


@pytest.fixture(scope="session")
def change() -> Callable:
    return altered
