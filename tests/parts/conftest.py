"""A craft with round numbers: hubs at (+-100, +-100) mm, 20 mm up; 6-inch propellers (radius 76.2 mm)."""

from collections.abc import Callable

import pytest

from quadsim.config import Craft, parse_craft

ROUND = """
name = "Round numbers"
event = "slalom"
[mass]
unlisted_pct = { value = 0, sigma = 2 }
[frame]
layout = "explicit"
rotor_at_mm.front_right = [100, 100, -20]
rotor_at_mm.rear_right = [-100, 100, -20]
rotor_at_mm.rear_left = [-100, -100, -20]
rotor_at_mm.front_left = [100, -100, -20]
spin = { front_right = "ccw", rear_right = "cw", rear_left = "ccw", front_left = "cw" }
[[parts]]
name = "plate"
shape = "box"
mass_g = 100
size_mm = [100, 60, 4]
[motor]
kv_rpm_per_V = 1000
resistance_mohm = 100
no_load_current_A = 0.5
no_load_measured_at = "motor"
current_limit_A = 30
current_limit_measured_at = "motor"
mass_g = 50
diameter_mm = 28
height_mm = 30
price = 20
[propeller]
diameter_in = 6
pitch_in = 4
blades = 2
mass_g = 5
price = 2
[esc]
arrangement = "one board"
resistance_mohm = 5
current_limit_A = 40
current_limit_measured_at = "esc input"
mass_g = 20
size_mm = [40, 40, 6]
[battery]
cells = 4
capacity_mAh = 2000
cell_resistance_mohm = 4
lead_resistance_mohm = 3
label_C_rating = 60
mass_g = 200
size_mm = [80, 40, 30]
at_mm = [0, 0, 0]
[flight_controller]
mass_g = 10
size_mm = [36, 36, 6]
at_mm = [0, 0, 0]
pack_current_A = 0.5
rates_Hz = { imu = 2000, estimate = 1000, guide = 250, attitude = 500, rate = 1000, allocate = 1000 }
[radio]
link_loss = "cut"
mass_g = 5
size_mm = [20, 10, 5]
at_mm = [0, 0, 0]
"""


@pytest.fixture
def make_craft() -> Callable[..., Craft]:
    """The craft with (old, new) pieces of its text exchanged, and more text at its end."""

    def make(*changes: tuple[str, str], more: str = "") -> Craft:
        text = ROUND
        for old, new in changes:
            assert text.count(old) == 1, old
            text = text.replace(old, new)
        return parse_craft(text + more, "test.toml")

    return make
