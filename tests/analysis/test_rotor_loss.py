"""What becomes of a craft that loses a rotor: the answer follows from the flight."""

from __future__ import annotations

import numpy as np
import pytest

from quadsim.analysis.rotor_loss import TRIED_MS, RotorLoss, judged, lost_rotor, soon_enough
from quadsim.config import load_craft
from quadsim.config.quantity import Uncertain
from quadsim.environment.atmosphere import Site
from quadsim.simulation.fly import fly
from quadsim.simulation.run import Run

CRAFT = load_craft("siskin")
T = np.arange(0.0, 11.0, 0.01)


def made_up(height: np.ndarray, sink: np.ndarray, yaw_rate: float, status: str, off_deg: float = 0.0) -> Run:
    n = len(height)
    q = np.tile([1.0, 0.0, 0.0, 0.0], (n, 1))
    half = np.radians(off_deg) / 2.0
    seen = np.tile([np.cos(half), np.sin(half), 0.0, 0.0], (n, 1))
    data = {
        "t_s": T[:n], "position_m": np.column_stack([0 * height, 0 * height, -height]),
        "velocity_m_s": np.column_stack([0 * sink, 0 * sink, sink]), "attitude": q, "signals/attitude": seen,
        "rates_rad_s": np.tile([0.0, 0.0, yaw_rate], (n, 1)),
    }  # fmt: skip
    return Run("made up", "siskin", status, "", data)


def test_a_craft_that_keeps_its_height_is_controllable() -> None:
    found = judged(made_up(60.0 + 0.0 * T, 0.0 * T, 20.0, "done"), CRAFT, "rear_left")
    assert (found.answer, found.sink_m_s, found.gyro_saturates) == ("controllable", 0.0, False)
    assert found.spin_deg_s == pytest.approx(np.degrees(20.0))


def test_a_craft_that_reaches_the_ground_falls() -> None:
    n = 500
    found = judged(
        made_up(60.0 - 12.0 * T[:n], 12.0 + 0.0 * T[:n], 60.0, "crashed", 90.0), CRAFT, "rear_left"
    )
    assert (found.answer, found.sink_m_s, found.gyro_saturates) == ("falls", 12.0, True)
    assert "beyond the gyroscope's range" in found.reason
    assert found.lasts_s == pytest.approx(3.99)


def test_a_slow_drift_downward_is_neither() -> None:
    found = judged(made_up(60.0 - 2.0 * T, 2.0 + 0.0 * T, 20.0, "done"), CRAFT, "rear_left")
    assert found.answer == "unknown"


def found_after(delay_ms: float | None) -> RotorLoss:
    """The light craft flown, its loss found so much later; None: never."""
    change = {"finds_lost_rotor": delay_ms is not None, "rotor_loss_detection_ms": Uncertain(delay_ms or 0.0)}
    board = CRAFT.flight_controller.model_copy(update=change)
    return lost_rotor(CRAFT.model_copy(update={"flight_controller": board}), Site.stated(), "front_right")


@pytest.mark.jit
def test_found_soon_the_light_craft_is_held_and_found_late_it_falls() -> None:
    """That a craft can hover so, spinning: M. W. Mueller, R. D'Andrea, ICRA 2014, doi 10.1109/ICRA.2014.6906588. How soon is soon
    enough is measured here, not taken from anywhere."""
    soon, late, never = found_after(10.0), found_after(150.0), found_after(None)
    assert (soon.answer, late.answer, never.answer) == ("controllable", "falls", "falls")
    assert soon.spin_deg_s > 1000.0
    assert late.sink_m_s < 0.8 * never.sink_m_s
    assert late.lasts_s > never.lasts_s + 1.0


@pytest.mark.jit
def test_the_time_that_is_soon_enough_is_one_at_which_it_holds() -> None:
    tried = soon_enough(CRAFT, Site.stated(), "front_right")
    assert tried is not None
    assert found_after(tried).answer == "controllable"
    longer = [t for t in TRIED_MS if t > tried]
    assert longer
    assert found_after(min(longer)).answer != "controllable"


@pytest.mark.jit
def test_a_law_that_adds_to_what_it_was_given_does_not_run_away() -> None:
    """The yaw that three rotors do not give is reported; else the incremental law took it for given (it came to 1e5 rad/s2)."""
    plain, incremental = (
        fly("lost_rotor", blocks={"rate": law}).metrics["effort_rad_s2"] for law in ("pid", "incremental")
    )
    assert incremental < 3.0 * plain
