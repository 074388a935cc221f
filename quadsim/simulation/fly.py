"""Fly a flight file from start to end: the friendly function over the session and its loop."""

from __future__ import annotations

import time
from collections.abc import Callable, Mapping
from dataclasses import asdict
from typing import Any

import numpy as np

from controllers.contract import SLOTS
from quadsim import __version__
from quadsim.config import Craft, load_craft
from quadsim.config.flight_loader import load_flight
from quadsim.config.flight_schema import FlightFile
from quadsim.config.resolve_drive import TIP_MACH
from quadsim.dynamics.state import ROTOR_NAMES
from quadsim.environment.atmosphere import Site
from quadsim.simulation.carried import Status
from quadsim.simulation.columns import LOGGED_SIGNALS, TRUTH_TABLE, column_name
from quadsim.simulation.estimate_events import estimate_events
from quadsim.simulation.metrics import all_metrics, judge
from quadsim.simulation.run import Event, Run
from quadsim.simulation.session import Session, fly_through
from quadsim.units import DEG


def fly(
    flight: FlightFile | str,
    *,
    craft: Craft | str | None = None,
    seed: int | None = None,
    blocks: Mapping[str, str] | None = None,
    site: Site | None = None,
    progress: Callable[[Session], None] | None = None,
) -> Run:
    """Fly a flight and judge it.

    Parameters
    ----------
    flight : FlightFile, or path or name of a shipped flight
    craft : overrides the flight's craft
    seed : overrides the flight's seed
    blocks : slot -> block name or "file.py:function"; overrides the craft's choice
    site : overrides the flight's site
    progress : called between chunks of about 50 ms

    Returns
    -------
    Run
        also for a flight that ends early; its status says how, its log is kept.

    Raises
    ------
    InputError
        when a file or an option is wrong; all problems at once.
    """
    session = start(flight, craft=craft, seed=seed, blocks=blocks, site=site)
    wall_s = fly_through(session, progress)
    return finish(session, wall_s)


def start(
    flight: FlightFile | str,
    *,
    craft: Craft | str | None = None,
    seed: int | None = None,
    blocks: Mapping[str, str] | None = None,
    site: Site | None = None,
) -> Session:
    """A session ready to fly; arguments as for `fly`."""
    if not isinstance(flight, FlightFile):
        flight = load_flight(flight)
    if not isinstance(craft, Craft):
        craft = load_craft(craft or craft_beside(flight))
    return Session(craft, flight, seed=seed, blocks=blocks, site=site)


def craft_beside(flight: FlightFile) -> str:
    """A craft path in a flight file counts from the flight file's folder."""
    if flight.path is not None and flight.craft.endswith(".toml"):
        return str(flight.path.parent / flight.craft)
    return flight.craft


def snapshot(session: Session, drawn: bool = True) -> Run:
    """The flight so far as a Run; its columns are views of the session's log. drawn : with what a viewer needs of the craft."""
    n = session.rows
    data: dict[str, np.ndarray] = {column_name(s): session.truth[s.name][:n] for s in TRUTH_TABLE}
    data.update({"signals/" + column_name(s): session.heard[s.name][:n] for s in LOGGED_SIGNALS})
    status = Status(int(session.carried.status))
    return Run(
        flight=session.flight.name,
        craft=session.craft.name,
        status=status.name.lower(),
        status_text=sentence(session),
        data={name: np.asarray(values) for name, values in data.items()},
        events=list(session.events),
        view={**session.view, "loads": [dict(one) for one in session.payloads.shown]} if drawn else {},
        meta=_meta(session),
    )


def finish(session: Session, wall_s: float) -> Run:
    """The finished flight with metrics and verdicts."""
    run = snapshot(session)
    run.events.extend(estimate_events(run))
    run.events.sort(key=lambda event: event.t_s)
    run.events.append(Event(session.t_s, "status", run.status_text))
    run.meta["wall_s"] = wall_s
    run.meta["steps"] = int(session.carried.tick)
    run.metrics = all_metrics(run)
    run.expectations = judge(run, session.flight.expect, session.flight.ends)
    return run


def _meta(session: Session) -> dict[str, Any]:
    return {
        "version": __version__,
        "seed": session.seed,
        "stepper": session.flight.stepper,
        "physics_rate_Hz": session.rates.physics_Hz,
        "block_rates_Hz": {
            slot: session.rates.physics_Hz / int(every)
            for slot, every in zip(SLOTS, session.rates.every, strict=True)
        },
        "blocks": {slot: block.name for slot, block in zip(SLOTS, session.blocks, strict=True)},
        "cells": int(session.plant.cells),
        "pack_resistance_ohm": float(session.plant.pack_resistance + session.plant.lead_resistance),
        "motor_path_ohm": float(session.plant.motor_resistance + session.plant.esc_resistance),
        "mach_per_rotor_speed_s": TIP_MACH / float(session.plant.loud_speed),
        "capacity_mAh": float(session.plant.capacity) / 3.6,
        "title": session.flight.title,
        "about": session.flight.about,
        "flight_toml": session.flight.source_text,
        "craft_toml": session.craft.source_text,
        "site": asdict(session.site),
        "flown": time.strftime("%Y-%m-%dT%H:%M:%SZ", time.gmtime()),
    }


def sentence(session: Session) -> str:
    """How the flight stands, in one sentence."""
    carried, t = session.carried, session.t_s
    block = session.blocks[int(carried.failed_block)]
    match Status(int(carried.status)):
        case Status.FLYING:
            return f"flying at {t:.2f} s"
        case Status.DONE:
            return f"flew the whole {session.flight.duration_s:g} s"
        case Status.CRASHED:
            sinking = 0.5 * session.plant.mass * carried.value**2
            energy = f"{sinking:.2g} J in sinking, {carried.energy:.2g} J in all"
            return f"hit the ground at {carried.value:.1f} m/s after {t:.2f} s: {energy}"
        case Status.PROPELLER_STRIKE:
            return f"a propeller struck the ground after {t:.2f} s, at {carried.value:.1f} m/s"
        case Status.TIPPED_OVER:
            return (
                f"tipped over: it lay on the ground after {t:.2f} s, tilted by {carried.value / DEG:.0f} deg"
            )
        case Status.BATTERY_EMPTY:
            return f"battery empty after {t:.1f} s"
        case Status.OVERHEATED:
            place = ROTOR_NAMES[int(carried.value)].replace("_", " ")
            limit = session.craft.motor.winding_limit_C
            return f"the {place} motor's winding passed {limit:g} deg C after {t:.1f} s"
        case Status.DIVERGED:
            return f"the motion diverged at {t:.3f} s (beyond 10 000 rad/s or m/s, or not a number)"
        case Status.BLOCK_NOT_FINITE:
            messages = session.block_messages(int(carried.failed_block))
            if messages:
                return f"the {block.slot} block failed at {t:.3f} s: {messages[0]}"
            return f"the {block.slot} block {block.name!r} returned NaN or infinity at {t:.3f} s"
        case _:
            return f"stopped by hand at {t:.2f} s; what was flown is kept"
