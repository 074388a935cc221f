"""Every stock block, and the template, answers the questions of the contract."""

from __future__ import annotations

import numpy as np
import pytest

from controllers import GAINS_SIZE, MEMORY_SIZE, SLOTS, Block, check_block, load_file, stock_blocks
from controllers.new_block import template_path
from controllers.registry import DEFAULTS, STOCK, blocks_of

TEMPLATES = [block for slot in SLOTS for block in blocks_of(load_file(template_path(slot)))]
BLOCKS = [*stock_blocks(), *TEMPLATES]


@pytest.mark.parametrize("block", BLOCKS, ids=lambda b: f"{b.slot}-{b.name}")
def test_conforms(block: Block) -> None:
    findings = check_block(block)
    assert [f for f in findings if not f.ok] == []
    assert [f.name for f in findings] == [
        "signature", "gains", "writes", "finite", "gain bounds", "limits", "repeatable", "memory", "cost",
    ]  # fmt: skip


@pytest.mark.parametrize("block", BLOCKS, ids=lambda b: f"{b.slot}-{b.name}")
def test_declares_itself(block: Block) -> None:
    assert block.slot in SLOTS
    assert block.about.endswith(".")
    assert 0 <= block.memory <= MEMORY_SIZE
    numbers = [int(g) for g in block.gains]
    assert numbers == sorted(set(numbers)) and numbers[:1] in ([], [0])
    assert len(block.gains) <= GAINS_SIZE
    assert all(np.isfinite([g.low, g.high]).all() for g in block.gains)


def test_every_slot_has_a_default() -> None:
    assert tuple(DEFAULTS) == SLOTS
    assert {(b.slot, b.name) for b in stock_blocks()} == set(STOCK)
