"""Questions about what steers a craft: radio channels, loop rate against the motors, a frame that rings."""

from __future__ import annotations

from collections.abc import Callable

from quadsim.config import Craft
from quadsim.config.esc_response import lag_points, own_time_constant
from quadsim.config.resolve_drive import NOMINAL_CELL
from quadsim.environment.atmosphere import Site
from quadsim.parts.bench import Bench
from quadsim.parts.finding import Finding, at_least, at_most

RUNS_PER_LAG = 10.0
"""Runs of the rate loop in the time constant of a motor. K. J. Astrom & B. Wittenmark, Computer-Controlled Systems, 3rd ed.
(1997), on the choice of the sampling period: 4 to 10 samples per rise time, which for a first-order system is its time constant
(from memory); the upper end."""
MODE_OVER_CROSSOVER = 3.0
"""Frequency of a flexible mode over the crossover; assumed: a loop that falls by 20 dB a decade is then 10 dB down. What the
mode itself does to the margins: `quadsim margins`."""


def functions(craft: Craft) -> list[str]:
    """What this craft needs a channel for, by common practice, no source."""
    needed = ["throttle", "roll", "pitch", "yaw", "arming", "response type"]
    needed += ["release of the load"] if craft.event == "lift" else []
    return needed + (["way home"] if craft.radio.link_loss == "homing" else [])


def radio_channels(bench: Bench) -> Finding:
    """Channels against functions."""
    needed = functions(bench.craft)
    message = f"channels; needed for {', '.join(needed)}"
    return at_least("radio_channels", float(bench.craft.radio.channels or 0), len(needed), "-", message)


def loop_rate(bench: Bench) -> Finding:
    """Runs of the rate loop, or commands taken over if these are fewer, in the time constant of a motor in hover."""
    craft = bench.craft
    rate = min(float(craft.flight_controller.rates_Hz.rate), float(craft.esc.update_rate_Hz))
    duty = bench.late_hover.duty if bench.late_hover else 1.0
    lag = own_time_constant(bench.plant, duty, NOMINAL_CELL * craft.battery.cells)
    message = f"runs at {rate:g} Hz within the {1e3 * lag:.0f} ms of motor and propeller in hover"
    return at_least("loop_rate", rate * lag, RUNS_PER_LAG, "-", message)


def esc_response(bench: Bench) -> Finding:
    """A measured speed response against what the motor can do."""
    fastest = max(point.own / point.measured for point in lag_points(bench.craft, bench.plant))
    message = "the motor's own time constant over the measured response"
    return at_most("esc_response", fastest, 1.0, "-", message)


Crossover = Callable[[Craft, Site], float]
"""Gives the highest crossover [Hz] of the loops that a craft's flexible mode takes part in; 0 for none."""


def loop_crossover(craft: Craft, site: Site) -> float:
    """Highest crossover of roll, pitch and yaw in hover, of those axes that the mode takes part in [Hz]; see Crossover.

    Of the rigid craft: the mode's own peak, which may cross 1 once more, is what the loops must stay away from.
    """
    from quadsim.analysis.craft_loops import Condition, loop_bench
    from quadsim.analysis.margin_survey import margins_at

    shares = craft.frame.flexible.share if craft.frame.flexible else (0.0, 0.0, 0.0)
    rigid = craft.model_copy(update={"frame": craft.frame.model_copy(update={"flexible": None})})
    found = margins_at(loop_bench(rigid, site=site), Condition()).margins
    axes = [axis for axis, share in zip(("roll", "pitch", "yaw"), shares, strict=True) if share]
    return max([found[axis].crossover_Hz or 0.0 for axis in axes], default=0.0)


def flexible_mode(bench: Bench, crossover: Crossover) -> Finding:
    """Frequency of the frame's mode against the crossover of the loops that feel it."""
    mode = bench.craft.frame.flexible
    frequency = float(mode.frequency_Hz) if mode else 0.0
    crossed = crossover(bench.craft, bench.site)
    message = f"mode at {frequency:g} Hz over the crossover of its loops, {crossed:.1f} Hz"
    ratio = frequency / crossed if crossed > 0.0 else 99.0
    return at_least("flexible_mode", ratio, MODE_OVER_CROSSOVER, "-", message)
