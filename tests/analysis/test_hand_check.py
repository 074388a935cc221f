"""The card for the first arming against a table derived by hand from the sense of a stabilising answer."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from quadsim.analysis.first_flight_mistakes import HandCheck, hand_check, take_off
from quadsim.analysis.hand_check import MOTIONS, HandBench, answers, run_away
from quadsim.config import load_craft
from quadsim.dynamics.state import ROTOR_NAMES

# By hand, rotors front right, rear right, rear left, front left: what was pushed down is lifted (its motors speed up, those
# across slow down). Turned clockwise by hand, the craft must push counter-clockwise; a rotor pushes the body against its own
# sense of rotation (Newton's third law), so the rotors that turn clockwise speed up.
TILTS = {
    "nose down": (1, -1, -1, 1),
    "nose up": (-1, 1, 1, -1),
    "right side down": (1, 1, -1, -1),
    "left side down": (-1, -1, 1, 1),
}
TURNS = {"turned clockwise": 1, "turned counter-clockwise": -1}


@cache
def checked(name: str = "siskin") -> HandCheck:
    return hand_check(load_craft(name))


@pytest.mark.jit
@pytest.mark.parametrize("name", ["siskin", "bonxie", "williwaw"])
def test_every_answer_is_the_one_derived_by_hand(name: str) -> None:
    craft = load_craft(name)
    spins = tuple(int(s) for s in HandBench(craft, "rate_command").session.plant.spin)
    found = answers(craft)
    assert {(a.motion, a.mode) for a in found} == {
        (m.words, mode) for m in MOTIONS for mode in ("attitude_command", "rate_command")
    }
    for one in found:
        hand = TILTS.get(one.motion) or tuple(TURNS[one.motion] * s for s in spins)
        assert one.signs == hand, one


@pytest.mark.jit
def test_the_rotors_turn_as_drawn_in_the_craft_file() -> None:
    assert checked().spins == (
        -1,
        1,
        -1,
        1,
    )  # read off siskin.toml: front right counter-clockwise, then alternating


WRONG = {
    "front right and rear right swapped": {"nose down": {0, 1}, "turned clockwise": {0, 1}},
    "front right and front left swapped": {"right side down": {0, 3}, "turned clockwise": {0, 3}},
    "front right and rear left swapped": {"nose down": {0, 2}, "right side down": {0, 2}},
    "front right motor turns the wrong way": {},
    "front right propeller upside down": {},
    # roll is taken for pitch: with the sensor turned clockwise the nose going down reads as the left side going down or up, so
    # two motors that share the sign of both motions answer rightly by chance
    "sensor turned by 180 deg": {"nose down": {0, 1, 2, 3}, "right side down": {0, 1, 2, 3}},
    "gyro's roll axis reversed": {"right side down": {0, 1, 2, 3}},
    "gyro's pitch axis reversed": {"nose down": {0, 1, 2, 3}},
    "gyro's yaw axis reversed": {"turned clockwise": {0, 1, 2, 3}},
}
"""Motors that answer wrongly, by hand: two swapped motors differ from their table only where their signs differ."""


@pytest.mark.jit
def test_each_mistake_shows_where_reasoning_says() -> None:
    for mistake in checked().mistakes:
        seen = {w.motion: {ROTOR_NAMES.index(name) for name in w.rotors} for w in mistake.wrong}
        if mistake.name == "sensor turned by 90 deg":
            assert {motion: len(rotors) for motion, rotors in seen.items()} == {
                "nose down": 2,
                "right side down": 2,
            }
            assert seen["nose down"].isdisjoint(seen["right side down"])
        else:
            assert seen == WRONG[mistake.name], mistake.name


@pytest.mark.jit
def test_the_take_off_tells_a_sound_craft_from_the_mistakes() -> None:
    seen = checked()
    assert seen.as_built.lost_s is None
    assert seen.as_built.status == "done"
    assert seen.as_built.max_tilt_deg < 15.0
    for mistake in seen.mistakes:
        lost = mistake.outcome.lost_s
        if mistake.kind == "propeller_upside_down":  # enough thrust in hand: it flies, tilted
            assert lost is None
            assert mistake.outcome.max_tilt_deg > 2.0 * seen.as_built.max_tilt_deg
        else:
            assert lost is not None
            assert lost < 4.0
    gyro = next(m for m in seen.mistakes if m.name == "gyro's roll axis reversed").outcome
    assert gyro.lift_off_s is not None
    assert gyro.after_lift_off_s == pytest.approx(gyro.lost_s - gyro.lift_off_s)


@pytest.mark.jit
def test_a_take_off_without_a_mistake_is_repeatable() -> None:
    assert take_off(load_craft("siskin")) == checked().as_built


@pytest.mark.jit
def test_motors_run_away_with_the_integrators_on_and_stand_without() -> None:
    away = checked().run_away
    assert away.level_pct < away.ground_pct < away.ends_pct
    assert away.ground_drift_pct < 0.05 * (away.ends_pct - away.level_pct)
    assert 0.0 < away.seconds < 12.0


@pytest.mark.jit
def test_more_integral_limit_means_full_motors(tmp_path) -> None:
    """With the limit out of the way the front motors reach their stop, later with a weaker integral."""
    craft = load_craft("siskin")
    times = []
    for gain in (70.0, 140.0):
        stated = {"rate": {"integral_limit": 1000.0, "pitch_i": gain}}
        away = run_away(craft.model_copy(update={"gains": stated}))
        assert away.full
        times.append(away.seconds)
    assert times[1] < times[0]


def test_the_hands_signals_are_those_of_the_motion() -> None:
    """Half-way down a tilt of 20 deg in 0.8 s: rate pi/2 times the mean, and gravity seen at 10 deg."""
    bench = HandBench(load_craft("siskin"), "attitude_command")
    session = bench.session
    session.sensors.gyro_matrix[:] = session.sensors.accel_matrix[:] = session.sensors.mounting_believed[
        :
    ] = np.eye(3)
    motion = MOTIONS[0]
    count = bench.count(0.8)
    share = np.arange(count) / count
    angle = np.radians(motion.angle_deg) * 0.5 * (1.0 - np.cos(np.pi * share[: count // 2 + 1]))
    rate = np.radians(motion.angle_deg) * 0.5 * np.pi / 0.8 * np.sin(np.pi * share[: count // 2 + 1])
    bench._run(motion.axis, angle, rate, False)
    s = session.signals
    assert s.gyro[1] == pytest.approx(np.radians(-20.0) / 0.8 * np.pi / 2.0, rel=1e-6)
    tilt = np.radians(10.0)  # nose down: the ground's push, up in the world, leans backwards in the body
    assert np.asarray(s.accel) == pytest.approx(
        9.80665 * np.array([-np.sin(tilt), 0.0, -np.cos(tilt)]), rel=1e-6
    )
