"""Integer ticks."""

import pytest

from quadsim.config import choose_rates


@pytest.mark.parametrize(
    ("imu", "block", "physics", "raised"),
    [
        (1000, 1000, 4000, ""),
        (3000, 1000, 4000, ""),  # three samples in four ticks
        (4000, 1000, 4000, ""),
        (1337, 1000, 4000, ""),
        (6400, 1000, 7000, "1.75 times"),
        (8000, 1000, 8000, "2 times"),
        (8000, 1600, 8000, "1.67 times"),  # the blocks alone: 4800
        (2000, 1600, 4800, ""),
    ],
)
def test_least_multiple_of_the_fastest_block(make_craft, imu, block, physics, raised):
    rates = f"estimate = {block}, guide = 100, attitude = {block // 4}, rate = {block}, allocate = {block}"
    craft = make_craft(
        ("imu = 2000", f"imu = {imu}"),
        ("estimate = 1000, guide = 250, attitude = 500, rate = 1000, allocate = 1000", rates),
    )
    found = choose_rates(craft)
    assert found.physics_Hz == physics
    assert (raised in found.raised) if raised else not found.raised


def test_every_block_has_its_ticks(make_craft):
    rates = choose_rates(make_craft())
    assert rates.every.tolist() == [4, 16, 8, 4, 4]
    assert rates.every.dtype == "int64"
