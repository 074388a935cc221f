"""Speed, as ratios within one run: `pytest tests/benchmarks --benchmark-enable --benchmark-columns=median,rounds`.

Nothing here asserts a time. Each benchmark does 4000 steps, or draws, or calls, so that the ratios in brackets of a group
are those per step. Without `--benchmark-enable` each runs once, as a test that what is timed is right.
"""

import math

import mujoco
import numpy as np
import pytest

from controllers.check import example_craft
from controllers.contract import GAINS_SIZE, MEMORY_SIZE
from controllers.registry import stock_blocks
from controllers.signals import SIGNALS, rows
from quadsim.config.flight_loader import parse_flight
from quadsim.dynamics.derivative import derivative, full_derivative
from quadsim.dynamics.state import SIZE
from quadsim.jit import kernel
from quadsim.simulation.fly import start

STEPS = 4000
pytestmark = pytest.mark.jit
FLIGHT = 'title = "speed"\ncraft = "{}"\nduration_s = 600\n[start]\nheight_m = 30\n'

ENGINE = """<mujoco><option timestep="0.00025" integrator="{}"><flag contact="disable"/></option><worldbody>
<body pos="0 0 10"><freejoint/><inertial pos="0 0 0" mass="0.65" diaginertia="0.0035 0.0038 0.0062"/>
<site name="a" pos=".078 .078 0"/><site name="b" pos="-.078 .078 0"/><site name="c" pos="-.078 -.078 0"/>
<site name="d" pos=".078 -.078 0"/></body></worldbody><actuator><motor site="a" gear="0 0 1 0 0 -.0125"/>
<motor site="b" gear="0 0 1 0 0 .0125"/><motor site="c" gear="0 0 1 0 0 -.0125"/><motor site="d" gear="0 0 1 0 0 .0125"/>
</actuator></mujoco>"""


@pytest.mark.benchmark(group="one second of flight at 4 kHz")
@pytest.mark.parametrize("craft", ["siskin", "bonxie"])
def test_flight_loop(benchmark, craft):
    session = start(parse_flight(FLIGHT.format(craft)))
    session.advance(STEPS)
    benchmark(session.advance, STEPS)
    assert session.t_s >= 2.0
    assert not session.finished


@pytest.mark.benchmark(group="one second of flight at 4 kHz")
@pytest.mark.parametrize("integrator", ["RK4", "Euler"])
def test_general_engine_with_a_bare_body(benchmark, integrator):
    model = mujoco.MjModel.from_xml_string(ENGINE.format(integrator))
    data = mujoco.MjData(model)
    data.ctrl[:] = 0.65 * 9.81 / 4.0
    benchmark(mujoco.mj_step, model, data, STEPS)
    assert data.time >= 0.999
    assert abs(data.qpos[2] - 10.0) < 1e-6


@kernel
def _derivatives(count, x, held, plant, dx):
    for _ in range(count):
        derivative(0.0, x, held, plant, dx)


@kernel
def _full_derivatives(count, x, held, plant, dx):
    for _ in range(count):
        full_derivative(0.0, x, held, plant, dx)


@pytest.mark.benchmark(group="derivative of the plant")
@pytest.mark.parametrize("many", [_derivatives, _full_derivatives], ids=["held", "everything renewed"])
def test_derivative(benchmark, many):
    session = start(parse_flight(FLIGHT.format("siskin")))
    session.advance(100)
    dx = np.zeros(SIZE)
    benchmark(many, STEPS, session.x, session.held, session.plant, dx)
    assert math.isclose(dx[5], 0.0, abs_tol=0.5)  # hovering: hardly any vertical acceleration


@pytest.mark.benchmark(group="control blocks")
@pytest.mark.parametrize("block", stock_blocks(), ids=lambda block: f"{block.slot} {block.name}")
def test_control_block(benchmark, block):
    compiled = block.compiled

    @kernel
    def many(count, s, craft, gains, memory):
        for _ in range(count):
            compiled(s, craft, gains, memory)

    s, memory, gains = rows(SIGNALS)[0], np.zeros(MEMORY_SIZE), block.default_gains()
    s.dt, s.attitude[0], s.accel[2], s.battery_voltage = 1e-3, 1.0, -9.81, 15.0
    assert gains.size == GAINS_SIZE
    benchmark(many, STEPS, s, example_craft(), gains, memory)
    assert all(np.isfinite(np.asarray(s[name])).all() for name in SIGNALS.names)
