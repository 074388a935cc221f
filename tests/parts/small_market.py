"""A cut of the shipped catalogue, as text and checked, small enough to try every choice there is."""

import re

from quadsim.config.find_data import library

KEPT = (
    "Oddny Plain 5", "Thornby Reach 7",
    "Brambell 22-07, 1750 rpm/V", "Oddny 24-07, 1300 rpm/V",
    "Tiplo 5.0 x 4.3, three blades", "Marrit 5.1 x 5.5, three blades", "Tiplo 7.0 x 3.5, two blades",
    "Vellum board 45 A", "Sorrel board 40 A, 4 cells",
    "Halse 4 cells, 1500 mAh", "Halse 6 cells, 1300 mAh", "Orlop 4 cells, 3300 mAh",
    "Pellow full", "Quorn plain", "Nettle small",
)  # fmt: skip


def small_market() -> str:
    """Its text."""
    head, *blocks = re.split(r"(?m)^(?=\[\[)", (library() / "parts" / "market.toml").read_text(encoding="utf-8"))
    return head + "".join(block for block in blocks if any(f'name = "{name}"' in block for name in KEPT))
