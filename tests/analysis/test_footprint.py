"""Footprint after a lost link: closed forms, and the flight of the whole plant.

Vacuum parabola x = v sqrt(2 h/g), terminal speed sqrt(2 m g/(rho A)), and for a fall from rest v^2 = vt^2 (1 - exp(-2 g h/vt^2)):
elementary mechanics, as in J. R. Taylor, Classical Mechanics (2005), sec. 2.4 (from memory).
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from quadsim.analysis.falling import Body, coast, fall, sinking_time
from quadsim.analysis.footprint import CHOICES, Case, footprints, level_drag, own_footprint, typical_case
from quadsim.config import Craft, load_craft, resolve_plant
from quadsim.config.flight_schema import FlightFile
from quadsim.environment.atmosphere import Site
from quadsim.simulation.fly import fly

G, RHO = 9.80665, 1.225
SITE = Site.stated(None, None, None, None)


def test_without_air_it_falls_along_a_parabola() -> None:
    down = fall(20.0, 15.0, 0.0, Body(0.6, 0.0, RHO, G))
    assert down.time_s == pytest.approx(math.sqrt(2.0 * 20.0 / G), rel=1e-8)
    assert down.distance_m == pytest.approx(15.0 * math.sqrt(2.0 * 20.0 / G), rel=1e-8)
    assert down.speed_m_s == pytest.approx(math.hypot(15.0, math.sqrt(2.0 * G * 20.0)), rel=1e-8)


def test_a_long_fall_ends_at_the_terminal_speed_and_with_the_wind() -> None:
    down = fall(2000.0, 15.0, 4.0, Body(0.6, 0.02, RHO, G))
    assert down.sink_m_s == pytest.approx(math.sqrt(2.0 * 0.6 * G / (RHO * 0.02)), rel=1e-6)
    assert down.forward_m_s == pytest.approx(4.0, abs=1e-6)


@pytest.mark.parametrize("height", [5.0, 20.0, 120.0])
def test_a_fall_from_rest_has_the_speed_of_the_closed_form(height: float) -> None:
    square = 2.0 * 0.6 * G / (RHO * 0.02)
    down = fall(height, 0.0, 0.0, Body(0.6, 0.02, RHO, G))
    assert down.sink_m_s == pytest.approx(
        math.sqrt(square * (1.0 - math.exp(-2.0 * G * height / square))), rel=1e-7
    )


def test_rotors_that_run_down_carry_for_their_time() -> None:
    """From hover, without air: v = g t - (T/m) tau (1 - 1/(1 + t/tau)), and with T = m g that is g t^2/(tau + t)."""
    tau = 1.3
    down = fall(20.0, 0.0, 0.0, Body(0.6, 0.0, RHO, G, lift=0.6 * G, run_down_s=tau))
    assert down.sink_m_s == pytest.approx(G * down.time_s**2 / (tau + down.time_s), rel=1e-7)


def test_a_coasting_craft_slows_as_the_logarithm() -> None:
    """m dv/dt = -c v^2 from v0: x = (m/c) ln(1 + c v0 t/m)."""
    distance, last = coast(10.0, 0.0, 0.6, lambda v: 0.01 * v * v, 8.0)
    share = 0.01 / 0.6
    assert distance == pytest.approx(math.log(1.0 + share * 10.0 * 8.0) / share, rel=1e-6)
    assert last == pytest.approx(10.0 / (1.0 + share * 10.0 * 8.0), rel=1e-6)


@pytest.mark.parametrize("height", [0.3, 1.2, 10.0])
def test_time_to_sink_is_that_of_the_law(height: float) -> None:
    sink, slow, slow_height, rate, h, t = 1.5, 0.4, 0.8, 1.2, height, 0.0
    while h > 0.0:
        h -= 1e-4 * min(sink, max(slow, slow + rate * (h - slow_height)))
        t += 1e-4
    assert sinking_time(height, sink, slow, slow_height, rate) == pytest.approx(t, abs=1e-3)


@pytest.mark.parametrize("name", ["siskin", "williwaw", "bonxie"])
def test_every_choice_of_the_shipped_crafts(name: str) -> None:
    craft = load_craft(name)
    rows = footprints(craft, SITE, typical_case(craft))
    assert tuple(row.choice for row in rows) == CHOICES
    assert own_footprint(rows).choice == craft.radio.link_loss
    for row in rows:
        assert row.spread_m[0] <= row.distance_m <= row.spread_m[1]
        assert row.impact_energy_J == pytest.approx(
            0.5 * float(resolve_plant(craft, SITE).mass) * row.impact_speed_m_s**2
        )
    cut, level, homing = rows
    assert cut.impact_energy_J > 5.0 * level.impact_energy_J
    if craft.gnss is None:
        assert "level descent" in homing.note
        assert homing.distance_m == level.distance_m


def test_more_wind_speed_or_height_goes_farther() -> None:
    craft = load_craft("siskin")
    near = footprints(craft, SITE, Case(10.0, 5.0, 2.0))
    for case in (Case(20.0, 5.0, 2.0), Case(10.0, 8.0, 2.0), Case(10.0, 5.0, 4.0)):
        for a, b in zip(near[:2], footprints(craft, SITE, case)[:2], strict=True):
            assert b.distance_m > a.distance_m


def choosing(name: str, choice: str) -> Craft:
    craft = load_craft(name)
    return craft.model_copy(update={"radio": craft.radio.model_copy(update={"link_loss": choice})})


def flown(craft: Craft, name: str, stick: float, wind: float) -> tuple[Case, float, float]:
    """A fast run whose link is lost after 14 s: the case then, distance from there to the first touch, and the speed at it."""
    file = FlightFile.model_validate(
        {
            "title": "link lost", "craft": name, "duration_s": 40, "start": {"height_m": 20, "mode": "height_hold"},
            "wind": {"speed_m_s": wind, "from_deg": 180},
            "at": [{"t_s": 0.5, "stick_pitch": stick, "ramp_s": 0.5}, {"t_s": 14, "link": "lost"}],
        }
    )  # fmt: skip
    run = fly(file, craft=craft)
    touched = np.flatnonzero(run["contact_force_N"] > 0.0)  # a propeller that strikes first ends the flight
    lost, touch = np.searchsorted(run.t_s, 14.0), int(touched[0]) if touched.size else len(run) - 1
    place, velocity = run["position_m"], run["velocity_m_s"]
    case = Case(float(-place[lost, 2]), float(np.hypot(*velocity[lost, :2])), wind)
    return (
        case,
        float(np.hypot(*(place[touch] - place[lost])[:2])),
        float(np.linalg.norm(velocity[touch - 1])),
    )


@pytest.mark.jit
@pytest.mark.parametrize(
    ("name", "stick", "wind"),
    [("siskin", -0.8, 0.0), ("siskin", -0.8, 4.0), ("williwaw", -0.6, 0.0), ("bonxie", -0.5, 0.0)],
)
def test_a_cut_in_the_whole_plant_comes_down_where_the_footprint_says(
    name: str, stick: float, wind: float
) -> None:
    """Within 12 % of the distance and 30 % of the speed: how it lies in the air as it falls decides its drag."""
    craft = choosing(name, "cut")
    case, distance, speed = flown(craft, name, stick, wind)
    row = own_footprint(footprints(craft, SITE, case))
    assert row.distance_m == pytest.approx(distance, rel=0.12)
    assert row.impact_speed_m_s == pytest.approx(speed, rel=0.3)


@pytest.mark.jit
@pytest.mark.parametrize(
    ("name", "stick", "wind"),
    [("siskin", -0.6, 0.0), ("siskin", -0.6, 3.0), ("williwaw", -0.5, 0.0), ("bonxie", -0.4, 2.0)],
)
def test_a_level_descent_in_the_whole_plant_stays_within_the_spread(
    name: str, stick: float, wind: float
) -> None:
    """Within 35 % of the distance: what it takes for level after a fast run pushes it either way."""
    craft = choosing(name, "level descent")
    case, distance, speed = flown(craft, name, stick, wind)
    row = own_footprint(footprints(craft, SITE, case))
    assert row.spread_m[0] < distance < row.spread_m[1]
    assert row.distance_m == pytest.approx(distance, rel=0.35)
    assert speed < 6.0


def test_level_drag_is_that_of_the_plant_where_it_only_leans_a_little() -> None:
    """The level craft's drag over its weight is the tilt of a slow cruise: hundredths at 3 m/s, and more than in proportion."""
    plant = resolve_plant(load_craft("siskin"), SITE)
    drag = level_drag(plant)
    assert drag(0.0) == pytest.approx(0.0, abs=1e-6)
    assert 0.01 < drag(3.0) / float(plant.mass * plant.gravity) < 0.1
    assert drag(10.0) > 2.0 * drag(5.0)
