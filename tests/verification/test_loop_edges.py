"""Where a loop would oscillate: closed forms by Routh's criterion, and the full simulation brought to the edge.

E. J. Routh's criterion in any text, such as K. Ogata, Modern Control Engineering, sec. 5-6: s^3 + a s^2 + b s + c is stable for
a, b, c > 0 and a b > c; at a b = c it oscillates at sqrt(b).
"""

import math

import numpy as np
import pytest

from quadsim.analysis.craft_loops import Condition, loop_bench
from quadsim.analysis.gain_sets import scaled_gains, with_share
from quadsim.analysis.gains_ladder import ladder
from quadsim.analysis.loop_edges import part_too_high, too_high, too_low
from quadsim.analysis.margins import margins
from quadsim.config.flight_loader import parse_flight
from quadsim.simulation.fly import finish, start
from quadsim.simulation.session import fly_through

W = np.geomspace(0.01, 100.0, 400)
S = 1j * W


def test_too_high_a_gain():
    """K/(s (s + 1)^2): s^3 + 2 s^2 + s + K, stable below K = 2, where it oscillates at 1 rad/s."""
    found = too_high(margins(W, 0.5 / (S * (S + 1.0) ** 2)))
    assert found is not None
    assert found.frequency_Hz == pytest.approx(1.0 / (2.0 * math.pi), rel=1e-3)
    assert found.gain_dB == pytest.approx(20.0 * math.log10(4.0), abs=0.01)
    assert too_low(margins(W, 0.5 / (S * (S + 1.0) ** 2))) is None


def test_too_low_a_gain():
    """K (s + 1)^2/s^3: s^3 + K s^2 + 2 K s + K, stable above K = 1/2, where it oscillates at 1 rad/s."""
    found = too_low(margins(W, 2.0 * (S + 1.0) ** 2 / S**3))
    assert found is not None
    assert found.frequency_Hz == pytest.approx(1.0 / (2.0 * math.pi), rel=1e-3)
    assert found.gain_dB == pytest.approx(-20.0 * math.log10(4.0), abs=0.01)


def test_too_high_an_integral():
    """(1 + x/s)/(s (s + 1)): s^3 + s^2 + s + x, stable below x = 1, where it oscillates at 1 rad/s."""
    plant = 1.0 / (S * (S + 1.0))
    part = 0.25 / S * plant
    found = part_too_high(W, plant + part, part)
    assert found is not None
    assert found.frequency_Hz == pytest.approx(1.0 / (2.0 * math.pi), rel=1e-3)
    assert found.gain_dB == pytest.approx(20.0 * math.log10(4.0), abs=0.01)
    assert part_too_high(W, 1.0 / S, 0.1 / S) is None


HOVER = 'title = "edge"\ncraft = "siskin"\nduration_s = 3\nlog_rate_Hz = 1000\n[start]\nheight_m = 50\n'


def flown(craft, gains):
    """Frequency of the greatest peak of the roll rate [Hz] after the first second, and its rms [rad/s]."""
    session = start(parse_flight(HOVER), craft=craft)
    session.gains[:] = gains
    run = finish(session, fly_through(session))
    rate = run["rates_rad_s"][run.t_s > 1.0, 0]
    rate = rate - rate.mean()
    size = np.abs(np.fft.rfft(rate * np.hanning(len(rate)), 8 * len(rate)))
    return np.fft.rfftfreq(8 * len(rate), 1e-3)[int(np.argmax(size[1:])) + 1], float(rate.std())


@pytest.mark.jit
def test_the_flown_craft_oscillates_where_the_card_says():
    """All gains of roll, or its integral alone, raised to the edge in the full simulation: quiet below, and above it an
    oscillation at the stated frequency. 4 %: beyond the edge the frequency moves, and saturation bends it further."""
    bench = loop_bench("siskin")
    (rung,) = ladder(bench, [Condition()], shares=(1.0,))
    own = [one for one in scaled_gains(bench.blocks) if one.key in ("roll_p", "roll_i", "roll_d")]
    integral = [one for one in own if one.key == "roll_i"]
    look = rung.loops["roll"]
    for one, which, above in ((look.buzz, own, 1.05), (look.windup, integral, 1.1)):
        assert one is not None
        edge = 10.0 ** (one.gain_dB / 20.0)
        _, quiet = flown(bench.craft, with_share(bench.gains, which, 0.9 * edge))
        frequency, loud = flown(bench.craft, with_share(bench.gains, which, above * edge))
        assert frequency == pytest.approx(one.frequency_Hz, rel=0.04)
        assert loud > 3.0 * quiet
