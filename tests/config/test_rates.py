"""Integer ticks."""

import pytest

from quadsim.config import choose_rates


@pytest.mark.parametrize(
    ("imu", "physics"),
    [(1000, 4000), (2000, 4000), (4000, 4000), (3000, 6000), (1500, 4500), (8000, 8000), (6400, 6400)],
)
def test_least_multiple_that_reaches_4_kHz(make_craft, imu, physics):
    slow = (
        "estimate = 1000, guide = 250, attitude = 500, rate = 1000, allocate = 1000",
        "estimate = 500, guide = 100, attitude = 250, rate = 500, allocate = 500",
    )
    craft = make_craft(("imu = 2000", f"imu = {imu}"), slow) if imu != 6400 else make_craft(
        ("imu = 2000", "imu = 6400"), ("estimate = 1000, guide = 250, attitude = 500, rate = 1000, allocate = 1000",
         "estimate = 1600, guide = 100, attitude = 400, rate = 1600, allocate = 1600"))  # fmt: skip
    rates = choose_rates(craft)
    assert rates.physics_Hz == physics
    assert rates.imu_every * imu == physics


def test_every_block_has_its_ticks(make_craft):
    rates = choose_rates(make_craft())
    assert rates.every.tolist() == [4, 16, 8, 4, 4]
    assert (rates.imu_every, rates.baro_every) == (2, 80)
    assert rates.every.dtype == "int64"
