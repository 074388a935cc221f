"""A run-up that is too short, a straight in the wind, brakes with the wind behind: against step-by-step integration."""

import math

import pytest
from scipy.integrate import solve_ivp

from quadsim.config.contest_schema import load_contest
from quadsim.constants import G0
from quadsim.contest.dash import SETTLED, Course
from quadsim.contest_day.dash import over_ground, push_of, run_up_share, scored_speed

SPEED, PUSH, BRAKE = 31.0, 17.0, 21.0
RUN_UP = -(SPEED**2) / (2.0 * PUSH) * math.log(1.0 - SETTLED**2)
STRAIGHT = Course(
    SPEED, SPEED, SPEED, RUN_UP, SPEED / PUSH * math.atanh(SETTLED),
    SPEED**2 / (2.0 * BRAKE) * math.log(1.0 + BRAKE / G0), 200.0, 4,
)  # fmt: skip


def test_the_push_comes_back():
    assert push_of(STRAIGHT, SPEED) == pytest.approx(PUSH, rel=1e-12)


@pytest.mark.parametrize(("run_up", "measured"), [(0.0, 50.0), (20.0, 50.0), (60.0, 100.0)])
def test_a_short_run_up_against_integration(run_up, measured):
    # dx/dt = v, dv/dt = a (1 - (v/V)^2) from rest, by scipy's DOP853
    def law(_, x):
        return [x[1], PUSH * (1.0 - (x[1] / SPEED) ** 2)]

    def passed(at):
        line = lambda _, x: x[0] - at  # noqa: E731
        line.terminal = True
        return (
            float(solve_ivp(law, (0.0, 60.0), [0.0, 0.0], "DOP853", events=line, rtol=1e-10).t[-1])
            if at
            else 0.0
        )

    mean = measured / (passed(run_up + measured) - passed(run_up))
    assert run_up_share(STRAIGHT, SPEED, run_up, measured) * SPEED == pytest.approx(mean, rel=1e-6)


def test_a_long_run_up_loses_nothing():
    assert run_up_share(STRAIGHT, SPEED, 500.0, 50.0) == pytest.approx(1.0, abs=1e-6)


@pytest.mark.parametrize("wind", [0.0, 6.0])
def test_braking_with_the_wind_behind_against_integration(wind):
    # dv/dt = -(g + b (v/V)^2) in the air, ground speed v + w, until the air stands still about the craft
    def law(_, x):
        return [x[1] + wind, -(G0 + BRAKE * (x[1] / SPEED) ** 2)]

    still = lambda _, x: x[1]  # noqa: E731
    still.terminal = True
    way = solve_ivp(law, (0.0, 60.0), [0.0, SPEED], "DOP853", events=still, rtol=1e-10).y[0, -1]
    run_up, braking = over_ground(STRAIGHT, SPEED, wind)
    assert braking == pytest.approx(way, rel=1e-6)
    assert run_up == pytest.approx(RUN_UP + wind * STRAIGHT.run_up_s)


def test_timing_rules_in_the_wind():
    # mean of speeds V; of times (V^2 - w^2)/V; one way is flown against the wind
    contest = load_contest("three_events")
    wind = 5.0

    def scored(timing):
        rules = contest.dash.model_copy(update={"timing": timing, "run_up_m": 1000.0})
        return scored_speed(STRAIGHT, SPEED, contest.model_copy(update={"dash": rules}), wind)

    assert scored("mean of speeds") == pytest.approx(SPEED)
    assert scored("mean of times") == pytest.approx((SPEED**2 - wind**2) / SPEED)
    assert scored("one way") == pytest.approx(SPEED - wind)
