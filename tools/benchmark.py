"""How fast is the flight loop, and what does each model cost? Prints figures of one run; quote none that it did not print.

    python tools/benchmark.py                          loop, ablation, engine yardstick (if mujoco is there), processes
    python tools/benchmark.py --yardstick ./yardstick  also the ratio to a program that prints a line "full <ns per step>"

All timings of a table are interleaved on one pinned core and given as medians; ratios within a run are what counts.
"""

from __future__ import annotations

import argparse
import os
import platform
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np

ROOT = Path(__file__).resolve().parent.parent
FLIGHT_S = 60.0
REPEATS = 5


def flight(craft: str = "siskin") -> Any:
    """A minute of hover and gusts, everything on."""
    from quadsim.config.flight_loader import parse_flight

    gusts = ", ".join(
        f"{{ at_s = {t}, duration_s = 2, speed_m_s = 6, from_deg = {t * 40 % 360} }}" for t in range(2, 58, 4)
    )
    text = f'title = "benchmark"\ncraft = "{craft}"\nduration_s = {FLIGHT_S}\n[start]\nheight_m = 20\n[wind]\ngusts = [{gusts}]\n'
    return parse_flight(text)


def session() -> Any:
    """A fresh session of the benchmark flight."""
    from quadsim.simulation.fly import start

    return start(flight())


def changed(**changes: Callable[[Any], None]) -> Callable[[], Any]:
    """A maker of sessions with some models switched off."""

    def make() -> Any:
        one = session()
        for change in changes.values():
            change(one)
        return one

    return make


def _silent(one: Any) -> None:
    for name in (
        "gyro_noise",
        "accel_noise",
        "gyro_walk",
        "accel_walk",
        "gyro_kick",
        "accel_kick",
        "baro_noise",
    ):
        setattr(one.sensors, name, 0.0)


def _full_rate(one: Any) -> None:
    one.clock.every[:] = 1
    from quadsim.sensors.clock import sensor_clock

    one.sensors.imu_clock[:] = sensor_clock(1.0 / one.h, round(1.0 / one.h))


def _slow_blocks(one: Any) -> None:
    one.clock.every[:] = 10**9


def _hold(one: Any) -> None:
    one.clock.refresh_every = 10**9


def _no_warmth(one: Any) -> None:
    """Without heat capacities the temperatures stay."""
    one.plant.winding_heat = one.plant.pack_heat = 0.0


def ns_per_step(one: Any) -> float:
    """Nanoseconds per physics step of one flight."""
    begun = time.perf_counter()
    one.advance(one.total_ticks)
    return (time.perf_counter() - begun) / int(one.carried.tick) * 1e9


def interleaved(makers: dict[str, Callable], repeats: int) -> dict[str, float]:
    """Median ns per step of each variant, all variants in turn, `repeats` times."""
    figures: dict[str, list[float]] = {name: [] for name in makers}
    for _ in range(repeats):
        for name, make in makers.items():
            figures[name].append(make() if name.startswith("yardstick") else ns_per_step(make()))
    return {name: statistics.median(values) for name, values in figures.items()}


def yardstick_full(program: str) -> float:
    """ns per step that an outside program prints on its line `full`."""
    out = subprocess.run([program, "4000", "200000", "3"], capture_output=True, text=True, check=True).stdout
    return float(next(line for line in out.splitlines() if line.startswith("full ")).split()[1])


def engine_ns() -> float | None:
    """ns per RK4 step of a free body with four thrusters in MuJoCo; None where it is not installed."""
    try:
        import mujoco
    except ImportError:
        return None
    sites = "".join(f'<site name="s{k}" pos="{x} {y} 0"/>' for k, (x, y) in enumerate(_CORNERS))
    motors = "".join(
        f'<motor site="s{k}" gear="0 0 1 0 0 {s}"/>' for k, s in enumerate((-0.0125, 0.0125) * 2)
    )
    model = mujoco.MjModel.from_xml_string(
        '<mujoco><option timestep="0.00025" integrator="RK4"><flag contact="disable"/></option><worldbody>'
        '<body pos="0 0 10"><freejoint/><inertial pos="0 0 0" mass="0.65" diaginertia="0.0035 0.0038 0.0062"/>'
        f"{sites}</body></worldbody><actuator>{motors}</actuator></mujoco>"
    )
    data = mujoco.MjData(model)
    data.ctrl[:] = 1.6
    mujoco.mj_step(model, data)
    begun = time.perf_counter()
    mujoco.mj_step(model, data, 20000)
    return (time.perf_counter() - begun) / 20000 * 1e9


_CORNERS = ((0.078, 0.078), (-0.078, 0.078), (-0.078, -0.078), (0.078, -0.078))


def loop_table(yardstick: str | None) -> None:
    """The loop, its ablations and the yardsticks."""
    makers: dict[str, Callable] = {
        "all models": session,
        "sensors and blocks at every step": changed(rate=_full_rate),
        "without random noise": changed(noise=_silent),
        "without inertial samples": changed(imu=lambda o: setattr(o.carried, "imu_due", 2**40)),
        "without control blocks (it tumbles)": changed(blocks=_slow_blocks),
        "without gusts": changed(gusts=lambda o: setattr(o, "gusts", o.gusts[:0])),
        "with turbulence": changed(turbulence=lambda o: setattr(o.wind, "sigma_w", 1.0)),
        "without refreshing what is held": changed(warmth=_no_warmth, hold=_hold),
        "without warmth of motors and pack": changed(warmth=_no_warmth),
        "semi-implicit instead of RK4": changed(stepper=lambda o: setattr(o.clock, "semi_implicit", 1)),
    }
    if yardstick:
        makers["yardstick in C, full"] = lambda: yardstick_full(yardstick)
    figures = interleaved(makers, REPEATS)
    engine = engine_ns()
    base = figures["all models"]
    print(
        f"\nflight loop, {FLIGHT_S:.0f} s flights, physics at {session().rates.physics_Hz} Hz, medians of {REPEATS}"
    )
    for name, value in figures.items():
        print(f"  {name:36s} {value:8.0f} ns/step   {value / base:6.2f} of all models")
    if yardstick:
        ratio = base / figures["yardstick in C, full"]
        full = figures["sensors and blocks at every step"] / figures["yardstick in C, full"]
        print(
            f"  all models over the yardstick in C: {ratio:.2f}; with sensors and blocks at every step: {full:.2f}"
        )
    if engine:
        print(
            f"  MuJoCo, free body, RK4               {engine:8.0f} ns/step   {engine / base:6.1f} x all models"
        )
    print(f"  real-time factor of all models: {1e9 / base / session().rates.physics_Hz:.0f}")


def accuracy() -> None:
    """Distance of the fixed-step loop from DOP853 after half a second in a gust, without noise."""
    from quadsim.integrators.adaptive import make_adaptive

    ends = []
    for adaptive in (False, True):
        one = changed(noise=_silent)()
        if adaptive:
            one.advance_adaptively = make_adaptive("DOP853", 1e-9)
        one.advance(round(0.5 / one.h))
        ends.append(np.array(one.x))
    print(
        f"  distance from DOP853 (rtol 1e-9) after 0.5 s: {np.linalg.norm(ends[0][:3] - ends[1][:3]):.1e} m"
    )


def wall(command: list[str], environment: dict[str, str]) -> float:
    """Wall time of a whole process [s]."""
    begun = time.perf_counter()
    subprocess.run(command, check=True, env=environment, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    return time.perf_counter() - begun


def processes() -> None:
    """Whole commands: help, a 10 s flight cold and warm, memory of ten minutes."""
    quadsim = [sys.executable, "-m", "quadsim"]
    with tempfile.TemporaryDirectory() as folder:
        environment = {**os.environ, "QUADSIM_CACHE_DIR": folder}
        fly = [*quadsim, "fly", "hover", "--no-save"]
        cold = wall(fly, environment)
        warm = statistics.median(wall(fly, environment) for _ in range(REPEATS))
        shown = statistics.median(wall([*quadsim, "--help"], environment) for _ in range(REPEATS))
        memory = subprocess.run(
            [sys.executable, __file__, "--memory"], env=environment, capture_output=True, text=True
        )
    print("\nwhole processes")
    print(f"  quadsim --help                       {shown:8.2f} s")
    print(f"  10 s flight, empty kernel cache      {cold:8.2f} s")
    print(f"  10 s flight, warm                    {warm:8.2f} s")
    print(f"  peak memory of a 10 minute flight    {memory.stdout.strip():>8s} MB")


def memory_of_ten_minutes() -> None:
    """Fly ten minutes with the default log and print the peak memory [MB]."""
    import resource  # not on Windows

    from quadsim.config.flight_loader import parse_flight
    from quadsim.simulation.fly import fly

    fly(parse_flight('title = "long"\ncraft = "bonxie"\nduration_s = 600\n[start]\nheight_m = 20\n'))
    print(round(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024))


def main() -> None:
    """Parse the options and print the tables."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--yardstick", help="program that prints a line 'full <ns per step>'")
    parser.add_argument("--memory", action="store_true", help=argparse.SUPPRESS)
    options = parser.parse_args()
    if options.memory:
        memory_of_ten_minutes()
        return
    print(
        f"{platform.processor() or platform.machine()}, {os.cpu_count()} cores, Python {platform.python_version()}"
    )
    if hasattr(os, "sched_setaffinity"):
        cores = os.sched_getaffinity(0)
        os.sched_setaffinity(0, {max(cores)})
        loop_table(options.yardstick)
        accuracy()
        os.sched_setaffinity(0, cores)
    else:
        loop_table(options.yardstick)
        accuracy()
    processes()


if __name__ == "__main__":
    main()
