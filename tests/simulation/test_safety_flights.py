"""Link loss and low battery in the whole simulation: who takes the craft when, and that nobody does in the middle of a run."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from quadsim.config import Craft, load_craft
from quadsim.config.flight_loader import load_flight
from quadsim.config.flight_schema import FlightFile
from quadsim.simulation.fly import finish, fly, start
from quadsim.simulation.run import Run
from quadsim.simulation.session import fly_through

pytestmark = pytest.mark.jit


def choosing(name: str, choice: str) -> Craft:
    craft = load_craft(name)
    return craft.model_copy(update={"radio": craft.radio.model_copy(update={"link_loss": choice})})


def said(run: Run) -> list[tuple[float, str]]:
    return [(e.t_s, e.text) for e in run.events if e.kind in ("link", "battery", "safety", "motors")]


def flight(craft: str, at: list[dict[str, Any]], **changes: Any) -> FlightFile:
    whole: dict[str, Any] = {
        "title": "safety", "craft": craft, "duration_s": 20, "start": {"height_m": 10, "mode": "height_hold"}, "at": at,
        "ends": ["done", "crashed", "propeller_strike", "tipped_over"],
    }  # fmt: skip
    return FlightFile.model_validate({**whole, **changes})


def dash(charge_pct: float, corrected: bool) -> Run:
    """The shipped speed dash from a part of the charge; uncorrected, the controller takes the loaded voltage for that at rest."""
    file = load_flight("speed_dash")
    begin = file.start.model_copy(update={"charge_pct": charge_pct})
    file = file.model_copy(update={"start": begin, "ends": ("done", "crashed", "propeller_strike")})
    session = start(file)
    if not corrected:
        session.builder.pack_resistance = 0.0
    return finish(session, fly_through(session))


def test_a_dash_from_half_charge_is_left_alone_and_the_loaded_voltage_would_warn() -> None:
    run = dash(50.0, corrected=True)
    assert run.metrics["max_battery_A"] > 30.0
    assert np.max(run["signals/battery_alert"]) == 0.0
    assert np.max(dash(50.0, corrected=False)["signals/battery_alert"]) >= 1.0


def test_at_two_fifths_the_loaded_voltage_would_take_the_craft_in_mid_run() -> None:
    run, raw = dash(40.0, corrected=True), dash(40.0, corrected=False)
    assert run.status == "done"
    assert np.max(run["signals/battery_alert"]) == 0.0
    acted = [t for t, text in said(raw) if text == "low battery: acts"]
    assert acted
    assert acted[0] < 11.0, "before the run is over"


def test_events_stand_at_the_millisecond_in_their_order() -> None:
    run = fly(
        flight("siskin", [{"t_s": 2, "link": "lost"}], duration_s=16),
        craft=choosing("siskin", "level descent"),
    )
    texts = [text for _, text in said(run)]
    assert texts == ["link lost", "link loss acts: level descent", "lands", "motors off"]
    lost, acts = said(run)[0][0], said(run)[1][0]
    assert 2.0 <= lost < 2.02  # the link's own delay is in it
    assert acts - lost == pytest.approx(0.5, abs=0.005)
    assert run.metrics["motors_off_s"] > 1.0


def test_the_last_sticks_are_held_until_it_acts() -> None:
    at = [
        {"t_s": 1, "stick_roll": 0.3},
        {"t_s": 2, "link": "lost"},
        {"t_s": 2.1, "stick_roll": -0.8, "mode": "rate_command"},
    ]
    run = fly(flight("siskin", at, duration_s=4), craft=choosing("siskin", "level descent"))
    waiting = (run.t_s > 2.1) & (run.t_s < 2.5)
    assert run["signals/stick"][waiting, 0] == pytest.approx(0.3, abs=2e-3)
    assert np.ptp(run["signals/mode"][waiting]) == 0.0


def test_cut_motors_stay_off_though_the_link_is_good_again() -> None:
    at = [{"t_s": 1, "link": "lost"}, {"t_s": 1.6, "link": "good"}]
    run = fly(
        flight("siskin", at, start={"height_m": 40, "mode": "height_hold"}), craft=choosing("siskin", "cut")
    )
    assert run.status == "crashed"
    assert np.max(run["signals/motor"][run.t_s > 1.6]) == 0.0


def test_a_craft_that_was_cut_low_down_flies_again_once_the_throttle_was_down() -> None:
    """From a hand's breadth up it survives; the throttle stick at its centre does not arm it, down it does; then it takes off."""
    at = [
        {"t_s": 0.5, "link": "lost"}, {"t_s": 4, "link": "good"}, {"t_s": 8, "stick_throttle": 0.0},
        {"t_s": 9, "stick_throttle": 0.9},
    ]  # fmt: skip
    begin = {"height_m": 0.35, "mode": "height_hold"}
    run = fly(flight("siskin", at, start=begin, duration_s=14), craft=choosing("siskin", "cut"))
    texts = dict((text, t) for t, text in said(run))
    assert texts["motors off"] == pytest.approx(1.0, abs=0.02)
    assert texts["motors armed again"] == pytest.approx(8.0, abs=0.03)
    assert texts["control given back"] == pytest.approx(8.0, abs=0.03)
    assert np.max(run["height_m"][run.t_s < 8.5]) < 0.4
    assert run["height_m"][-1] > 1.0


def test_a_link_that_comes_back_in_the_air_gives_control_back() -> None:
    at = [{"t_s": 1, "link": "lost"}, {"t_s": 4, "link": "good"}]
    run = fly(flight("siskin", at, duration_s=12), craft=choosing("siskin", "level descent"))
    back = next(t for t, text in said(run) if text == "control given back")
    assert back == pytest.approx(5.0, abs=0.03)
    assert float(np.ptp(run["height_m"][run.t_s > 9.0])) < 0.5, "height is held again"


def test_braking_from_a_fast_run_does_not_look_like_a_touch_down() -> None:
    """The oncoming air carries a third of the weight: little thrust, no climb, ten metres up, the throttle stick centred."""
    at = [{"t_s": 1, "stick_pitch": -0.4, "ramp_s": 0.5}, {"t_s": 8, "stick_pitch": 0.25, "ramp_s": 0.5}]
    run = fly(flight("bonxie", at, duration_s=12))
    share = run["signals/thrust_wanted_N"] / (9.80665 * run["mass_kg"])
    assert np.min(share[run.t_s > 8.0]) < 0.75, "else the flight does not ask the question"
    assert np.min(run["signals/airborne"]) == 1.0
    assert np.min(run["height_m"]) > 8.0


def homing(*faults: dict[str, Any]) -> Run:
    """The homing flight, and faults."""
    file = load_flight("link_loss_homing")
    if faults:
        extra = flight("bonxie", list(faults)).at
        file = file.model_copy(update={"at": (*file.at, *extra)})
    session = start(file)
    assert session.blocks[1].name == "navigation"
    return finish(session, fly_through(session))


def test_homing_flies_back_and_lands_where_it_took_off() -> None:
    run = homing()
    assert [text for _, text in said(run)] == [
        "link lost",
        "link loss acts: homing",
        "flies home",
        "lands",
        "motors off",
    ]
    away = np.linalg.norm(run["position_m"][:, :2], axis=1)
    assert np.max(away) > 50.0
    assert run.passed, run.expectations


def test_homing_without_a_place_becomes_a_level_descent() -> None:
    run = homing({"t_s": 12, "fault": {"kind": "gnss_lost"}})
    texts = [text for _, text in said(run)]
    assert "link loss acts: level descent, place or heading unknown" in texts
    assert run["height_m"][-1] < 0.3
    assert run.metrics["home_distance_m"] > 20.0
