"""One flight in progress: all its records, advanced by any number of ticks."""

from __future__ import annotations

import time
from collections.abc import Callable, Mapping
from functools import cached_property
from typing import Any

import numpy as np

from controllers.contract import GAINS_SIZE, JIT, MEMORY_SIZE, SLOTS, Block, chain
from controllers.registry import DEFAULTS, BlockError, load_block, make_python_block
from controllers.signals import SIGNALS, Mode, rows
from quadsim.config import (
    Craft,
    choose_rates,
    craft_view,
    resolve_builder,
    resolve_plant,
    resolve_sensors,
    with_rates,
)
from quadsim.config.equilibrium import hover_balance
from quadsim.config.flight_schema import FlightFile
from quadsim.config.warmth import begin_at
from quadsim.dynamics.derivative import full_derivative
from quadsim.dynamics.records import HELD
from quadsim.dynamics.state import SIZE, X
from quadsim.environment.atmosphere import Site
from quadsim.errors import InputError, Problem
from quadsim.integrators.adaptive import ADAPTIVE, make_adaptive
from quadsim.kinematics.quaternion import from_euler, renormalise
from quadsim.simulation.block_limits import filter_problems, memory_problem
from quadsim.simulation.carried import CARRIED, CLOCK, MOTION, Status
from quadsim.simulation.columns import TRUTH
from quadsim.simulation.faults import apply_fault, check_faults, end_fault, find_lost_rotor
from quadsim.simulation.loop import fly_ticks
from quadsim.simulation.note_events import event_of
from quadsim.simulation.payloads import Payloads
from quadsim.simulation.run import Event
from quadsim.simulation.schedule import (
    asks_for_place,
    command_table,
    hold_stick_link,
    shape_sticks,
    timeline,
)
from quadsim.simulation.start_inertial import start_inertial
from quadsim.simulation.watch import BOUNCE_LOOKS
from quadsim.simulation.weather import gust_records, mean_winds, towards, wind_record
from quadsim.units import DEG

LOOK_S = 1e-3
"""Time between two looks of the loop at wind, warmth and the ways a flight may end [s]; rotors' patches, thrust gains and battery
are renewed at every `loop.HOLD_LOOKS`th of them."""


class Session:
    """A flight in progress. `advance(ticks)` flies on; the log so far stands in `truth` and `heard`.

    Parameters
    ----------
    craft, flight : checked files
    seed : int or None
        overrides the flight's seed
    blocks : mapping slot -> block name or "file.py:function"
        overrides the craft's and the flight's choice
    site : Site or None
        overrides the flight's site
    resolved : tuple of PLANT and BUILDER records, or None
        `resolved` of an earlier session of the same craft at the same site with the same rates; spares most of the preparation

    Raises
    ------
    InputError
        when the flight asks for what the craft or the blocks cannot do.
    """

    def __init__(
        self,
        craft: Craft,
        flight: FlightFile,
        *,
        seed: int | None = None,
        blocks: Mapping[str, str] | None = None,
        site: Site | None = None,
        resolved: tuple[Any, Any] | None = None,
    ) -> None:
        changes = flight.rates_Hz.model_dump(exclude_none=True)
        self.craft, self.flight = (with_rates(craft, changes) if changes else craft), flight
        craft = self.craft
        self.seed = flight.seed if seed is None else seed
        self.site = site if site is not None else flight.site.resolved
        self.warnings: list[str] = []
        self.rates = choose_rates(craft)
        self.h = 1.0 / self.rates.physics_Hz
        self.total_ticks = round(flight.duration_s / self.h) + 1
        self.events: list[Event] = []
        if resolved is None:
            plant = resolve_plant(craft, self.site)
            resolved = plant, resolve_builder(craft, plant)
        self.resolved = resolved
        self.plant, self.builder = (record.copy() for record in resolved)
        self.sensors = resolve_sensors(craft, self.plant, self.rates.physics_Hz, self.seed)
        self.blocks = self._choose_blocks(blocks or {})
        if self.rates.raised:
            self.warnings.append(self.rates.raised)
        self.gains = np.zeros((5, GAINS_SIZE))
        self.memory = np.zeros((5, MEMORY_SIZE))
        self._fill_gains()
        self._prepare_records()
        self._start()
        self.payloads = Payloads(craft, self.site, self.x, self.carried)
        self.payloads.check(flight.at)
        check_faults(flight.at, craft)
        self._runners = [
            make_python_block(block, self.signals, self.builder, self.gains[k], self.memory[k])
            if slow
            else block
            for k, (block, slow) in enumerate(zip(self.blocks, self._slow, strict=True))
        ]
        self._chain = chain(self._runners)

    @property
    def _own_blocks(self) -> dict[str, str]:
        """The block per slot where the flight states none: the craft's choice, else the default. The guide that flies places
        is the default of a craft with a satellite receiver, and of a flight that asks for a place."""
        chosen: dict[str, str] = dict(DEFAULTS)
        if self.builder.gnss > 0.0 or asks_for_place(self.flight):
            chosen["guide"] = "navigation"
        chosen.update({str(slot): spec for slot, spec in self.craft.controllers.items()})
        return chosen

    def _choose_blocks(self, overrides: Mapping[str, str]) -> list[Block]:
        chosen = dict(self._own_blocks)
        for choice in (self.flight.controllers, overrides):
            chosen.update({str(slot): spec for slot, spec in choice.items()})
        loaded, problems = [], []
        for slot in SLOTS:
            try:
                loaded.append(load_block(chosen[slot], slot))
            except BlockError as error:
                problems.append(Problem(f"block for {slot}", str(error)))
            else:
                if problem := memory_problem(slot, chosen[slot], loaded[-1].block):
                    problems.append(problem)
        if problems:
            raise InputError(problems, self.flight.name)
        self._chosen = chosen
        self.warnings = [one.warning for one in loaded if one.warning]
        self._slow = [one.slow for one in loaded]
        return [one.block for one in loaded]

    def _fill_gains(self) -> None:
        problems = []
        stated = {str(slot): values for slot, values in self.craft.gains.items()}
        own = self._own_blocks
        for row, (slot, block) in enumerate(zip(SLOTS, self.blocks, strict=True)):
            self.gains[row] = block.default_gains()
            if slot == "guide":
                shape_sticks(self.craft.sticks, block, self.gains[row])
            if slot in stated and self._chosen[slot] != own[slot]:
                text = f"the craft's gains.{slot} are for {own[slot]}; {block.name} flies with its defaults"
                self.warnings.append(text)
                continue
            for name, value in stated.get(slot, {}).items():
                known = {g.name.lower(): g for g in block.gains}
                gain = known.get(name)
                if gain is None:
                    names = ", ".join(known) or "none"
                    problems.append(
                        Problem(f"gains.{slot}.{name}", "no such gain", f"{block.name} has: {names}")
                    )
                elif not gain.low <= value <= gain.high:
                    allowed = f"must be {gain.low:g} to {gain.high:g} {gain.unit}"
                    problems.append(Problem(f"gains.{slot}.{name}", f"is {value:g}", allowed))
                else:
                    self.gains[row, gain] = value
        for row, (slot, block) in enumerate(zip(SLOTS, self.blocks, strict=True)):
            rate_Hz = self.rates.physics_Hz / int(self.rates.every[row])
            problems += filter_problems(slot, block, self.gains[row], rate_Hz)
        if problems:
            raise InputError(problems, str(self.craft.path or self.craft.name))

    def _prepare_records(self) -> None:
        self.motion = rows(MOTION)[0]
        self.x: np.ndarray = self.motion.x
        self.held = rows(HELD)[0]
        self.carried = rows(CARRIED)[0]
        self.clock = rows(CLOCK)[0]
        self.signals = rows(SIGNALS)[0]
        self.clock.h = self.h
        self.clock.every[:] = self.rates.every
        self.clock.command_every = self.rates.every[1]
        self.clock.log_every = max(1, round(self.rates.physics_Hz / self.flight.log_rate_Hz))
        self.clock.refresh_every = max(1, round(LOOK_S / self.h))
        hold_stick_link(self.craft.radio.sticks, self.clock)
        self.clock.semi_implicit = int(self.flight.stepper == "semi_implicit")
        self.commands = command_table(self.flight, self.h * self.rates.every[1])
        self.wind = wind_record(self.flight.wind, self.h * int(self.clock.refresh_every))
        self.winds, self.gusts = mean_winds(self.flight), gust_records(self.flight.wind)
        self.carried.wind_along[:] = towards(self.flight.wind.from_deg)[:2]
        self.due = timeline(self.flight, self.h, self.craft.flight_controller.detection_s)
        log_rows = self.total_ticks // int(self.clock.log_every) + 2
        self.truth, self.heard = rows(TRUTH, log_rows), rows(SIGNALS, log_rows)
        self.rows = 0
        self.advance_adaptively = None
        if self.flight.stepper in ADAPTIVE:
            self.advance_adaptively = make_adaptive(self.flight.stepper, self.flight.rtol)

    def _start(self) -> None:
        """Initial state: standing on the feet with motors stopped, or hovering in trim."""
        flight, carried = self.flight, self.carried
        carried.key = np.uint64(self.seed)
        carried.wiring[:] = np.arange(4)
        # where the heavy sides of the rotors stand is left to chance
        carried.rotor_phase[:] = np.random.default_rng([int(self.seed), 0x52]).uniform(0.0, 2.0 * np.pi, 4)
        self.held.thrust_factor[:] = self.held.torque_factor[:] = 1.0
        self.held.turning[:] = self.plant.spin
        begin_at(self.held, self.plant)
        self.x[X.QUATERNION : X.QUATERNION + 4] = from_euler(0.0, 0.0, flight.start.heading_deg * DEG)
        self.x[X.CHARGE] = flight.start.charge_pct / 100.0
        airborne = flight.start.height_m > 0.0
        if airborne:
            down = self.plant.centre_of_mass[2] + np.mean(self.plant.rotor_position[:, 2])
            hover = hover_balance(
                self.plant,
                charge=self.x[X.CHARGE],
                winding=float(self.plant.air_temperature),
                height=flight.start.height_m - float(down),
            )
            if hover is None:
                raise InputError(
                    f"{self.craft.name} cannot hover with {flight.start.charge_pct:g} % charge; start it at 0 m"
                )
            self.x[X.ROTORS : X.ROTORS + 4] = hover.rotor_speed
            carried.motor_line[:] = hover.duty
            carried.motor_smooth[:] = carried.motor_taken[:] = hover.duty
            self.signals.motor[:] = hover.duty
            carried.clear_looks = BOUNCE_LOOKS + 1
            self.x[X.POSITION + 2] = -flight.start.height_m + self.plant.centre_of_mass[2]
        else:
            sag = self.plant.mass * self.plant.gravity / (4.0 * self.plant.contact_stiffness)
            self.x[X.POSITION + 2] = sag - np.max(self.plant.feet[:, 2])
            carried.touching = 1
        start_inertial(self.seed, airborne, float(self.plant.gravity), self.sensors, carried)
        carried.baro_smooth = self.signals.baro_height = -self.x[X.POSITION + 2]
        self.signals.height = -self.x[X.POSITION + 2]
        self.signals.airborne = float(airborne)
        self.signals.armed = self.signals.link = carried.armed_seen = carried.link_seen = 1.0
        self.signals.mode_in_force = carried.mode_seen = Mode[flight.start.mode.upper()]
        self.signals.attitude[:] = self.x[X.QUATERNION : X.QUATERNION + 4]

    @property
    def chain(self) -> Any:
        """The blocks as compiled code takes them, see `contract.chain`."""
        return self._chain

    def wrap(self, slot: str, make: Callable[[Any], Any]) -> None:
        """Let `make(runner)` run in place of a slot's block; a runner has an `address` and a `function`, as a Block has."""
        k = SLOTS.index(slot)
        self._runners[k] = make(self._runners[k])
        self._chain = chain(self._runners)

    def block_messages(self, slot: int) -> list[str]:
        """What a plain Python block raised, if it did."""
        return getattr(self._runners[slot], "messages", [])

    @property
    def chosen(self) -> dict[str, str]:
        """What flies in each slot: block name or "file.py:function"."""
        return self._chosen

    @property
    def plain_blocks(self) -> bool:
        """True when a block flies as plain Python."""
        return any(self._slow)

    @cached_property
    def view(self) -> dict[str, Any]:
        """The craft as the viewer draws it, without payloads."""
        return craft_view(self.craft)

    @property
    def t_s(self) -> float:
        """Time of the next tick [s]."""
        return int(self.carried.tick) * self.h

    @property
    def finished(self) -> bool:
        """True once the flight has ended, for whatever reason."""
        return int(self.carried.status) != Status.FLYING

    def advance(self, ticks: int) -> None:
        """Fly on by up to `ticks` ticks; actions of the timeline happen at theirs."""
        end = min(int(self.carried.tick) + ticks, self.total_ticks)
        while int(self.carried.tick) < end and not self.finished:
            self._act()
            stop = min(end, self.due[0].tick) if self.due else end
            self._fly(stop - int(self.carried.tick))
            self._collect()
        if int(self.carried.tick) >= self.total_ticks and not self.finished:
            self.carried.status = Status.DONE

    def _fly(self, ticks: int) -> None:
        self.carried.rows = self.rows
        arguments = (
            self.motion, self.held, self.plant, self.sensors, self.carried, self.clock, self.signals, self.builder,
            self.wind, self.gains, self.memory, self._chain, self.commands, self.winds, self.gusts, self.truth, self.heard,
        )  # fmt: skip
        try:
            if self.advance_adaptively is None:
                fly_ticks(*arguments, ticks, True)
                return
            for _ in range(ticks):
                fly_ticks(*arguments, 1, False)
                if self.finished:
                    break
                self._step_adaptively((int(self.carried.tick) - 1) * self.h)
        finally:  # Ctrl-C lands here, just as the loop returns: what was flown counts
            self.rows = int(self.carried.rows)

    def _step_adaptively(self, t: float) -> None:
        def f(time_s: float, x: np.ndarray) -> np.ndarray:
            dx = np.empty(SIZE)
            full_derivative(time_s, x, self.held, self.plant, dx)
            return dx

        self.x[:] = self.advance_adaptively(f, t, self.x, self.h)  # type: ignore[misc]
        renormalise(self.x, X.QUATERNION)

    def _act(self) -> None:
        tick = int(self.carried.tick)
        while self.due and self.due[0].tick <= tick:
            due = self.due.pop(0)
            action, t = due.action, tick * self.h
            if due.finds and action.fault:
                self.events.append(Event(t, "fault", find_lost_rotor(action.fault, self.signals)))
            elif due.ends and action.fault:
                self.events.append(Event(t, "fault", end_fault(action.fault, self.carried)))
            elif action.fault:
                text = apply_fault(action.fault, self.held, self.sensors, self.carried)
                self.held.cell[:] = 0.0  # the patches hold the faults' factors
                self.events.append(Event(t, "fault", action.text or text))
            elif action.attach:
                self._reload(self.payloads.attach(action.attach, self.plant, t))
                text = f"{action.attach.name} of {action.attach.mass_g:g} g attached"
                self.events.append(Event(t, "payload", action.text or text))
                if misfit := self.payloads.misfit(action.attach):
                    self.events.append(Event(t, "payload", misfit))
            elif action.release:
                self._reload(self.payloads.release(action.release, self.plant, t))
                self.events.append(Event(t, "payload", action.text or f"{action.release} released"))
            elif action.text:
                self.events.append(Event(t, "timeline", action.text))

    def _reload(self, plant: Any) -> None:
        """Fly on with a new loading; the sensors stay where they are on the frame."""
        shift = np.asarray(plant.centre_of_mass) - np.asarray(self.plant.centre_of_mass)
        for place in (self.sensors.imu_position, self.sensors.gnss_place, self.sensors.range_place):
            place[:] = np.asarray(place) - shift
        self.held.cell[:] = 0.0  # the patches hold the download
        self.plant = plant

    def _collect(self) -> None:
        """Turn the loop's notes into events."""
        carried = self.carried
        for k in range(int(carried.notes)):
            t, kind, energy = (
                int(carried.note_tick[k]) * self.h,
                int(carried.note_kind[k]),
                carried.note_energy[k],
            )
            self.events.append(event_of(t, kind, float(carried.note_value[k]), self.craft, float(energy)))
        carried.notes = 0


def fly_through(session: Session, progress: Any = None) -> float:
    """Fly a session to its end in chunks of about 50 ms of wall time; returns the wall time spent [s].

    Ctrl-C ends the flight with status STOPPED and keeps what was flown. `progress(session)` is called between chunks.
    """
    begun = time.perf_counter()
    chunk = 2000 if JIT else 50
    try:
        while not session.finished:
            started = time.perf_counter()
            session.advance(chunk)
            spent = time.perf_counter() - started
            chunk = int(min(max(chunk * 0.05 / max(spent, 1e-6), 20), 4 * chunk))
            if progress is not None:
                progress(session)
    except KeyboardInterrupt:
        session.carried.status = Status.STOPPED
    return time.perf_counter() - begun
