"""The whole control loop as frequency responses: plant, sensors and delays, blocks, all linear about one operating point.

Signals between blocks are held from run to run; a slower block that feeds a faster one is a hold over several runs.
What a sampled loop folds back from beyond half its rate is left out, which is small where the plant rolls off.
Left out too: reported rotor speeds.

References
----------
G. F. Franklin, J. D. Powell, M. Workman, Digital Control of Dynamic Systems, 3rd ed. (1998), ch. 5 and 11 (sample and hold,
multirate; from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from controllers.contract import SLOTS, Block
from controllers.signals import Mode
from quadsim.analysis.block_rest import ChainRest, chain_at_rest
from quadsim.analysis.linear_block import LinearBlock, Place, linearise_block, places
from quadsim.analysis.linear_plant import LinearPlant, Y
from quadsim.analysis.loop_hardware import MEASURED, VOLTAGE, Hardware, held_between

Array = NDArray[np.float64]
Complex = NDArray[np.complex128]

ASKED: tuple[Place, ...] = (*places(("angular_acceleration_wanted",)), ("thrust_wanted", 0))
"""What the allocator is asked for: where the loops of roll, pitch, yaw and height are cut."""
_ESTIMATED = places(("attitude", "rates", "height", "climb_rate", "position", "velocity"))
_GUIDED = places(("attitude_wanted", "rates_fed_forward", "thrust_wanted"))
READS: dict[str, tuple[Place, ...]] = {
    "estimate": MEASURED,
    "guide": tuple(_ESTIMATED),
    "attitude": (*_ESTIMATED, *_GUIDED),
    "rate": (*_ESTIMATED, *_GUIDED, *places(("rates_wanted",))),
    "allocate": (*ASKED, VOLTAGE),
}
"""What each slot reads of what the others write, and of what the plant moves."""


@dataclass(frozen=True)
class LinearChain:
    """The five blocks, linear, by slot; and how they rest there."""

    blocks: dict[str, LinearBlock]
    rest: ChainRest

    @property
    def nodes(self) -> tuple[Place, ...]:
        """All scalars that the blocks hand on."""
        return tuple(place for slot in SLOTS for place in self.blocks[slot].outputs)


def linear_chain(
    blocks: tuple[Block, ...], gains: Array, craft: Any, sensors: Any, every: NDArray[np.int64], h: float, plant: LinearPlant,
    mode: Mode = Mode.SETPOINT,
) -> LinearChain:  # fmt: skip
    """The blocks of a chain linearised about the operating point of `plant`; arguments as for `chain_at_rest`."""
    rest = chain_at_rest(blocks, gains, craft, sensors, every, h, plant.point, mode)
    linear = {}
    for k, slot in enumerate(SLOTS):
        fresh = rest.fresh if slot == "estimate" else None
        dt = int(every[k]) * h
        linear[slot] = linearise_block(blocks[k], craft, gains[k], rest.rest[slot], dt, READS[slot], fresh)
    return LinearChain(linear, rest)


@dataclass(frozen=True)
class LoopModel:
    """Signal flow x = N x + injected at each frequency; nodes are all scalars that blocks hand on.

    nodes : name and index of each, in the order of `flow`
    w : angular frequencies [rad/s], (n,)
    flow : N, (n, nodes, nodes)
    """

    nodes: tuple[Place, ...]
    w: Array
    flow: Complex

    @cached_property
    def _closed(self) -> Complex:
        """(I - N)^-1: what becomes of a unit injected at one node, seen at another."""
        return np.asarray(np.linalg.inv(np.eye(len(self.nodes)) - self.flow), complex)

    def loop(self, node: Place) -> Complex:
        """L, negative feedback, of the loop cut at one node with all others closed, (n,): 1/S - 1."""
        k = self.nodes.index(node)
        return 1.0 / self._closed[:, k, k] - 1.0

    def loops(self, cut: tuple[Place, ...] = ASKED) -> Complex:
        """L as a matrix (n, k, k) with the loop cut at several nodes at once."""
        at = [self.nodes.index(node) for node in cut]
        sensitivity = self._closed[np.ix_(range(len(self.w)), at, at)]
        return np.asarray(np.linalg.inv(sensitivity) - np.eye(len(at)), complex)

    def opened(self, cut: tuple[Place, ...] = ASKED) -> Complex:
        """All nodes (n, nodes, cuts) for a unit put in at each cut node, with what the chain would put there itself taken away:
        the plant with sensors, estimate and whatever else is not behind a cut."""
        at = [self.nodes.index(node) for node in cut]
        flow = self.flow.copy()
        flow[:, at, :] = 0.0
        unit = np.zeros((len(self.w), len(self.nodes), len(at)))
        unit[:, at, range(len(at))] = 1.0
        return np.asarray(np.linalg.solve(np.eye(len(self.nodes)) - flow, unit), complex)

    def answer(self, to: Place, at: Place) -> Complex:
        """Closed loop: what becomes at node `to` of a unit added at node `at`, (n,)."""
        return self._closed[:, self.nodes.index(to), self.nodes.index(at)]


def loop_model(chain: LinearChain, hardware: Hardware, plant: LinearPlant, w: Array) -> LoopModel:
    """The signal flow of a whole craft about an operating point, at angular frequencies w (n,) [rad/s]."""
    w, nodes = np.asarray(w, float), chain.nodes
    flow = np.concatenate([slot_flow(slot, chain, hardware, plant, w) for slot in SLOTS], axis=1)
    return LoopModel(nodes, w, flow)


def slot_flow(slot: str, chain: LinearChain, hardware: Hardware, plant: LinearPlant, w: Array) -> Complex:
    """Rows of the signal flow that one block makes, (n, its outputs, all nodes)."""
    linear = chain.blocks
    where = {place: n for n, place in enumerate(chain.nodes)}
    model = linear[slot]
    answer = model.response(w)
    flow = np.zeros((len(w), len(model.outputs), len(where)), complex)
    motors = [where["motor", n] for n in range(4)]
    if slot == "estimate":
        seen = hardware.measured(w, model.held, plant.point.turn) @ plant.response(w)
        flow[:, :, motors] = answer @ (seen * hardware.commands(w)[:, None, :])
        return flow
    from_slot = {place: other for other in SLOTS for place in linear[other].outputs}
    for column, place in enumerate(model.inputs):
        if place == VOLTAGE:
            volts = hardware.voltage_scale * plant.response(w)[:, Y.VOLTAGE] * hardware.commands(w)
            flow[:, :, motors] += answer[:, :, column, None] * volts[:, None, :]
        elif from_slot[place] != slot:
            held = held_between(w, linear[from_slot[place]].dt, model.dt)
            flow[:, :, where[place]] += answer[:, :, column] * held[:, None]
    return flow
