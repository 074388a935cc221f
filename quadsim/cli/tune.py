"""`quadsim tune`: gains and filters for a craft, within limits, over everything it will meet, confirmed in flight."""

from __future__ import annotations

import math
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from quadsim.cli.options import Json
from quadsim.cli.out import print_json, say, status_of, tell

if TYPE_CHECKING:
    from quadsim.tuning.limits import Limits
    from quadsim.tuning.result import Tuning

MarginDB = Annotated[
    float, typer.Option("--margin-dB", min=1.0, max=20.0, help="Least gain margin, up and down [dB].")
]
PhaseDeg = Annotated[float, typer.Option("--phase-deg", min=5.0, max=85.0, help="Least phase margin [deg].")]
LeastThrottlePct = Annotated[
    float,
    typer.Option(
        "--least-throttle-pct",
        min=5.0,
        max=30.0,
        help="Least throttle it will be flown with; the lower, the slower yaw must be [%].",
    ),
]
OvershootPct = Annotated[
    float,
    typer.Option(
        "--overshoot-pct",
        min=0.0,
        max=100.0,
        help="Greatest resonance of angle over angle asked for, above 1 [%].",
    ),
]
NoisePct = Annotated[
    float,
    typer.Option(
        "--noise-pct", min=0.01, max=20.0, help="Greatest noise in a motor command, rms [% of full command]."
    ),
]
LeastHz = Annotated[
    float,
    typer.Option(
        "--least-bandwidth-Hz", min=0.0, max=50.0,
        help="Roll and pitch must follow at least so fast (bandwidth in the sense of ADS-33E-PRF) [Hz].",
    ),
]  # fmt: skip
MostHz = Annotated[
    float | None,
    typer.Option(
        "--most-bandwidth-Hz",
        min=0.2,
        max=100.0,
        help="And at most so fast, for soft sticks [Hz].",
        show_default=False,
    ),
]
DelayMs = Annotated[
    float | None,
    typer.Option(
        "--phase-delay-ms",
        min=0.1,
        max=500.0,
        help="Greatest phase delay of roll and pitch, same sense [ms].",
        show_default=False,
    ),
]


def command(
    craft: Annotated[
        str, typer.Argument(help="Path of a craft file, or the name of a shipped craft.", metavar="CRAFT")
    ],
    payload_g: Annotated[
        float | None,
        typer.Option(
            "--payload-g",
            min=0.0,
            max=20000.0,
            help="Full payload [g]; a quarter of the craft's mass.",
            show_default=False,
        ),
    ] = None,
    least_throttle_pct: LeastThrottlePct = 10.0,
    margin_dB: MarginDB = 6.0,
    phase_deg: PhaseDeg = 45.0,
    overshoot_pct: OvershootPct = 10.0,
    noise_pct: NoisePct = 1.5,
    least_bandwidth_Hz: LeastHz = 0.0,
    most_bandwidth_Hz: MostHz = None,
    phase_delay_ms: DelayMs = None,
    flights: Annotated[int, typer.Option(min=0, max=100000, help="Flights that confirm the gains.")] = 300,
    seed: Annotated[int, typer.Option(min=0, help="Seed of their crafts, gusts and commands.")] = 1,
    out: Annotated[
        Path | None, typer.Option(help="Write the gains as TOML, as a craft file has them.", metavar="FILE")
    ] = None,
    json_: Json = False,
) -> None:
    """Find rate, attitude and height gains and filters that reject disturbances best within limits, and confirm them in flight.

    The limits hold from the least to 95 % throttle, with a full and a low battery, empty and loaded, with thrust and inertia
    15 % and delays 30 % off.

    Exit status: 0 found and confirmed, 1 nothing keeps to the limits, or flights failed, 2 bad input, 130 stopped.
    """
    from quadsim.cli.places import writable

    place = writable(out, "Name another file with --out") if out else None
    from quadsim.cli.kernels import prepare_kernels

    prepare_kernels()
    from quadsim.tuning.limits import Limits

    limits = Limits(
        margin_dB, phase_deg, 1.0 + overshoot_pct / 100.0, noise_pct, least_bandwidth_Hz=least_bandwidth_Hz,
        most_bandwidth_Hz=most_bandwidth_Hz or math.inf, phase_delay_s=(phase_delay_ms or math.inf) / 1e3,
    )  # fmt: skip
    tuning = _tune(craft, payload_g, least_throttle_pct, limits, flights, seed)
    from quadsim.cli.tune_text import print_tuning, tuning_document

    files = _write(tuning, place) if place and tuning.sets else []
    if json_:
        print_json(tuning_document(tuning) | {"files": files})
    else:
        print_tuning(tuning)
        for file in files:
            say(f"gains in {file}; try them: quadsim card {craft} --gains {file}")
    if tuning.stopped:
        tell("quadsim: stopped; the gains were found, not all flights flown")
    good = bool(tuning.sets) and not any(one.confirmed.failures for one in tuning.sets)
    raise typer.Exit(status_of(good, tuning.stopped))


def _tune(
    craft: str, payload_g: float | None, least_throttle_pct: float, limits: Limits, flights: int, seed: int
) -> Tuning:
    """Everything but the words."""
    from quadsim.analysis.craft_loops import loop_bench
    from quadsim.cli.progress import CountProgress
    from quadsim.tuning.result import QUARTER, tune

    bench = loop_bench(craft)
    payload = QUARTER * float(bench.plant.mass) if payload_g is None else payload_g / 1000.0
    with CountProgress(100, "% done") as progress:
        return tune(
            bench,
            round(payload, 4),
            limits,
            flights,
            seed,
            lambda done, words: progress(100.0 * done, words),
            least_throttle_pct / 100.0,
        )


def _write(tuning: Tuning, place: Path) -> list[Path]:
    """One file, or one for each set with its name in the file's."""
    from quadsim.cli.tune_text import as_toml
    from quadsim.whole_file import whole_file

    several = len(tuning.sets) > 1
    files = []
    for one in tuning.sets:
        file = place.with_stem(f"{place.stem}_{one.set.name}") if several else place
        with whole_file(file) as part:
            part.write_text(as_toml(tuning, one), encoding="utf-8")
        files.append(file)
    return files
