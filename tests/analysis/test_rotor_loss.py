"""What becomes of a craft that loses a rotor: the answer follows from the flight."""

from __future__ import annotations

import numpy as np
import pytest

from quadsim.analysis.rotor_loss import judged, lost_rotor
from quadsim.config import load_craft
from quadsim.environment.atmosphere import Site
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


@pytest.mark.jit
def test_giving_up_yaw_slows_the_fall_of_the_light_craft() -> None:
    """Flown: the shipped craft falls either way; found and given up it takes longer and is slower than never found."""
    board = CRAFT.flight_controller.model_copy(update={"finds_lost_rotor": False})
    blind = lost_rotor(CRAFT.model_copy(update={"flight_controller": board}), Site.stated(), "front_right")
    found = lost_rotor(CRAFT, Site.stated(), "front_right")
    assert (blind.answer, found.answer) == ("falls", "falls")
    assert found.sink_m_s < 0.8 * blind.sink_m_s
    assert found.lasts_s > blind.lasts_s + 1.0
