"""Channels, loop rate and a flexible mode: on both sides of each limit."""

import pytest

from quadsim.config import load_craft
from quadsim.environment.atmosphere import Site
from quadsim.parts import fit_findings
from quadsim.parts.control_findings import functions, loop_crossover

SILENT = 'link_loss = "cut"'
PLACED = "mass_g = 1\nsize_mm = [9, 9, 9]\nat_mm = [0, 0, 0]\n"
FINDS_HOME = f"[gnss]\n{PLACED}[compass]\n{PLACED}"
SPIN = '[[parts]]\nname = "plate"'
MODE = "[frame.flexible]\nfrequency_Hz = {}\n"


def ask(craft, crossover=lambda craft, site: 20.0):
    return {one.name: one for one in fit_findings(craft, Site(), crossover=crossover)}


@pytest.mark.parametrize(
    ("event", "loss", "needed"), [("slalom", "cut", 6), ("lift", "cut", 7), ("lift", "homing", 8), ("speed", "homing", 7)],
)  # fmt: skip
def test_channels_on_both_sides(make_craft, event, loss, needed):
    """Four sticks, arming, response type, and what the event and the link loss add; common practice, no source."""
    for channels in (needed - 1, needed):
        text = f'link_loss = "{loss}"\nchannels = {channels}'
        craft = make_craft((SILENT, text), ('event = "slalom"', f'event = "{event}"'), more=FINDS_HOME)
        found = ask(craft)["radio_channels"]
        assert (found.limit, found.ok) == (needed, channels >= needed)
        assert len(functions(craft)) == needed


def with_rate(make_craft, rate, update=32000):
    rates = "estimate = 1000, guide = 250, attitude = 500, rate = 1000, allocate = 1000"
    slow = f"estimate = {rate}, guide = {rate}, attitude = {rate}, rate = {rate}, allocate = {rate}"
    return make_craft(
        (rates, slow), ("size_mm = [40, 40, 6]", f"size_mm = [40, 40, 6]\nupdate_rate_Hz = {update}")
    )


def test_loop_rate_on_both_sides(make_craft):
    fast = ask(with_rate(make_craft, 1000))["loop_rate"]
    lag = fast.value / 1000.0
    assert 0.01 < lag < 0.2
    # nearest rates that divide the physics rate, on either side of ten runs in the motors' lag
    enough, few = ask(with_rate(make_craft, 1000))["loop_rate"], ask(with_rate(make_craft, 100))["loop_rate"]
    assert (enough.ok, few.ok) == (True, False)
    assert few.value == pytest.approx(100 * lag)
    assert few.value < few.limit == 10.0 < enough.value


def test_slow_commands_count_like_a_slow_loop(make_craft):
    """A loop faster than the ESC takes commands over is no faster."""
    assert ask(with_rate(make_craft, 1000, update=50))["loop_rate"].value == pytest.approx(
        ask(with_rate(make_craft, 1000))["loop_rate"].value / 20.0
    )


def test_flexible_mode_on_both_sides(make_craft):
    for frequency, ok in ((59.0, False), (61.0, True)):  # three times a crossover of 20 Hz
        found = ask(make_craft((SPIN, MODE.format(frequency) + SPIN)))["flexible_mode"]
        assert (found.ok, found.value) == (ok, pytest.approx(frequency / 20.0))


def test_a_rigid_frame_and_one_that_cannot_hover_are_not_asked(make_craft):
    def never(craft, site):
        raise AssertionError("asked for a crossover")

    assert "flexible_mode" not in ask(make_craft(), never)
    heavy = make_craft((SPIN, MODE.format(80) + SPIN), ("mass_g = 100", "mass_g = 9000"))
    assert "flexible_mode" not in ask(heavy, never)


@pytest.mark.jit
def test_the_crossover_is_that_of_the_rigid_craft():
    craft = load_craft("siskin")
    soft = craft.model_copy(update={"frame": craft.frame.model_copy(update={"flexible": _mode()})})
    crossed = loop_crossover(soft, Site())
    assert 3.0 < crossed < 100.0
    assert loop_crossover(craft, Site()) == 0.0  # no mode, no axis


def _mode():
    from quadsim.config.craft_schema import Flexible

    return Flexible(frequency_Hz=90.0)
