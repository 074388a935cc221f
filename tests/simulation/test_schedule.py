"""The timeline of a flight file as a command table, and what is wrong with a bad one."""

import math

import pytest

from controllers.signals import Mode
from quadsim.config.flight_loader import load_flight, parse_flight
from quadsim.errors import InputError
from quadsim.simulation.carried import COMMAND_FIELDS
from quadsim.simulation.schedule import command_table, timeline

HEAD = 'title = "t"\ncraft = "siskin"\nduration_s = 10\n'
TIMELINE = (
    HEAD
    + """
[start]
heading_deg = 90
height_m = 2
[[at]]
t_s = 1
height_m = 6
ramp_s = 2
[[at]]
t_s = 2
height_m = 3
[[at]]
t_s = 4
mode = "rate_command"
stick_roll = -0.5
link = "lost"
"""
)


def column(table, name):
    return table[:, COMMAND_FIELDS.index(name)]


def test_holds_ramps_and_a_ramp_that_is_cut_off():
    table = command_table(parse_flight(TIMELINE), 0.01)
    height = column(table, "target_height")
    assert height[:101] == pytest.approx(2.0)
    assert height[150] == pytest.approx(3.0)
    assert height[199] == pytest.approx(2 + 4 * 0.99 / 2)
    assert height[200:] == pytest.approx(3.0)
    assert column(table, "target_yaw") == pytest.approx(math.pi / 2)
    assert set(column(table, "mode")[:400]) == {float(Mode.SETPOINT)}
    assert set(column(table, "mode")[400:]) == {float(Mode.RATE_COMMAND)}
    assert column(table, "roll")[399:401] == pytest.approx([0.0, -0.5])
    assert column(table, "link")[399:401] == pytest.approx([1.0, 0.0])


def test_actions_fall_on_the_first_tick_that_is_not_before_them():
    assert [due.tick for due in timeline(parse_flight(TIMELINE), 0.00025)] == [4000, 8000, 16000]


BAD = (
    HEAD.replace("10", "-3")
    + """
colour = "red"
[wind]
speed_m_s = nan
[[at]]
t_s = 99
fault = { kind = "rotor_lost" }
[[at]]
t_s = 1
release = "brick"
[[at]]
t_s = 2
fault = { kind = "rotors_swapped", rotors = ["front_left", "front_left"] }
[[expect]]
metric = "max_tild_deg"
below = 3
[[expect]]
metric = "end_s"
"""
)


def test_all_problems_of_a_flight_are_listed_at_once():
    with pytest.raises(InputError) as caught:
        parse_flight(BAD, "bad.toml")
    text = str(caught.value)
    for words in (
        "duration_s (line 3): is -3",
        "colour",
        "speed_m_s",
        "rotor_lost needs rotor = front_right, rear_right, rear_left or front_left",
        "is 'brick'; attached by then: nothing",
        "names front_left twice",
        "is 'max_tild_deg'",
        "Nearest: max_tilt_deg",
        "has no bound",
    ):
        assert words in text, (words, text)


def test_late_actions_are_found():
    with pytest.raises(InputError, match="the flight ends at 10 s"):
        parse_flight(HEAD + "[[at]]\nt_s = 11\nheight_m = 3\n")


def test_an_unknown_flight_lists_the_known_ones():
    with pytest.raises(InputError, match="hover") as caught:
        load_flight("hovr")
    assert "nearest: hover" in str(caught.value)
