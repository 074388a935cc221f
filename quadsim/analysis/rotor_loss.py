"""What becomes of a craft that loses a rotor in hover: flown, for each rotor, with its own laws, sensors and detection time."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from quadsim.config import Craft
from quadsim.config.flight_loader import parse_flight
from quadsim.config.quantity import Uncertain
from quadsim.dynamics.state import ROTOR_NAMES
from quadsim.environment.atmosphere import Site
from quadsim.simulation.fly import finish, start
from quadsim.simulation.metrics import angle_between
from quadsim.simulation.run import Run
from quadsim.simulation.session import fly_through
from quadsim.units import DEG

HEIGHT_M, AT_S, LENGTH_S = 60.0, 1.0, 10.0
"""Where and when the rotor is lost, and how long is flown; assumed."""
LAST_S = 3.0
"""Time at the end over which height and tilt are judged [s]; assumed."""
HELD_M, UPRIGHT_DEG, LOST_DEG = 3.0, 45.0, 30.0
"""Most height lost and greatest mean tilt of a craft under control; attitude error of an estimate that is lost. Assumed."""

TRIED_MS = (100.0, 60.0, 40.0, 20.0, 10.0)
"""Times to find the loss that are tried for a craft that falls with its own [ms]; our choice."""

Answer = Literal["controllable", "falls", "unknown"]


@dataclass(frozen=True)
class RotorLoss:
    """One rotor lost in hover.

    answer : "controllable", "falls", or "unknown" where the flight shows neither
    sink_m_s : fastest sink rate on the way down, 0 for a craft under control
    lasts_s : from the loss to the ground, or to the end of the flight
    spin_deg_s : greatest yaw rate; gyro_saturates when any rate passes the gyroscope's range
    detection_ms : time in which the loss is found; infinite where it never is
    soon_enough_ms : greatest of `TRIED_MS` within which the loss must be found for the craft to be controllable; None: none does
    """

    rotor: str
    answer: Answer
    sink_m_s: float
    lasts_s: float
    spin_deg_s: float
    gyro_saturates: bool
    detection_ms: float
    reason: str
    soon_enough_ms: float | None = None


def lost_rotors(craft: Craft, site: Site, blocks: Mapping[str, str] | None = None) -> list[RotorLoss]:
    """Each rotor lost in turn, the worst first; takes a fraction of a second a rotor once the kernels are compiled."""
    found = [lost_rotor(craft, site, name, blocks) for name in ROTOR_NAMES]
    order = ("falls", "unknown", "controllable")
    found.sort(key=lambda one: (order.index(one.answer), -one.sink_m_s))
    if found[0].answer == "falls":
        found[0] = replace(found[0], soon_enough_ms=soon_enough(craft, site, found[0].rotor, blocks))
    return found


def soon_enough(
    craft: Craft, site: Site, rotor: str, blocks: Mapping[str, str] | None = None
) -> float | None:
    """Greatest of TRIED_MS in which the loss must be found for the craft to stay controllable; None if none of them does."""
    board = craft.flight_controller
    for tried in TRIED_MS:
        quick = board.model_copy(
            update={"finds_lost_rotor": True, "rotor_loss_detection_ms": Uncertain(tried)}
        )
        quick_craft = craft.model_copy(update={"flight_controller": quick})
        if lost_rotor(quick_craft, site, rotor, blocks).answer == "controllable":
            return tried
    return None


def lost_rotor(craft: Craft, site: Site, rotor: str, blocks: Mapping[str, str] | None = None) -> RotorLoss:
    """One rotor lost in a hover at 60 m in still air.

    Raises
    ------
    InputError
        when the craft cannot hover.
    """
    text = f'title = "lost rotor"\ncraft = "{craft.name}"\nduration_s = {AT_S + LENGTH_S:g}\n'
    text += f"[start]\nheight_m = {HEIGHT_M:g}\n[[at]]\nt_s = {AT_S:g}\n"
    flight = parse_flight(text + f'fault = {{ kind = "rotor_lost", rotor = "{rotor}" }}\n')
    session = start(flight, craft=craft, site=site, blocks=blocks)
    return judged(finish(session, fly_through(session)), craft, rotor)


def judged(run: Run, craft: Craft, rotor: str) -> RotorLoss:
    """The answer that a flown loss gives."""
    after = run.t_s >= AT_S
    rates = np.abs(run["rates_rad_s"][after])
    saturates = bool(np.max(rates) > float(craft.flight_controller.gyro.range_deg_s) * DEG)
    lasts = float(run.t_s[-1] - AT_S)
    fallen = run.status != "done"
    last = run.t_s >= run.t_s[-1] - LAST_S
    height, q = run["height_m"][last], run["attitude"][last]
    tilt = np.degrees(np.arccos(np.clip(1.0 - 2.0 * (q[:, 1] ** 2 + q[:, 2] ** 2), -1.0, 1.0)))
    error = np.degrees(angle_between(run["attitude"][after], run["signals/attitude"][after]))
    sink = float(np.max(run["velocity_m_s"][after, 2]))
    detection = 1e3 * craft.flight_controller.detection_s
    spin = float(np.max(rates[:, 2])) / DEG
    if not fallen and height[0] - height[-1] < HELD_M and float(np.mean(tilt)) < UPRIGHT_DEG:
        answer, reason, sink = (
            "controllable",
            "it spins, and keeps its height and its thrust upward for the time flown",
            0.0,
        )
    elif fallen or sink > 3.0:
        answer, reason = "falls", _why(saturates, float(np.max(error)), spin, detection)
    else:
        answer, reason = "unknown", "it neither keeps its height nor falls within the time flown"
    return RotorLoss(rotor, answer, sink, lasts, spin, saturates, detection, reason)  # type: ignore[arg-type]


def _why(saturates: bool, error_deg: float, spin_deg_s: float, detection_ms: float) -> str:
    """What a fall is put down to, as far as the flight shows it."""
    if not np.isfinite(detection_ms):
        return "its flight controller does not find out: it goes on asking for what three rotors cannot give"
    if saturates and error_deg > LOST_DEG:
        return (
            f"it spins beyond the gyroscope's range, so that the estimate is lost ({error_deg:.0f} deg off)"
        )
    return f"three rotors do not stop the tumble that began before the loss was found, {detection_ms:.0f} ms later"
