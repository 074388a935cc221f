"""Control laws of a sweep, by name: the craft's own, a stock one, or one from a file."""

from __future__ import annotations

from collections.abc import Sequence

from quadsim.analysis.law_comparison import chosen_laws, own_law

OWN_LAW = "own"
"""Name of the blocks that the craft and the flight choose themselves."""


def read_laws(names: Sequence[str]) -> dict[str, dict[str, str]]:
    """Blocks of each law by its name; without a name the craft's own.

    names : stock laws, "own", or FILE.py:FUNCTION for slot rate

    Raises
    ------
    InputError, BlockError
        for a law that does not exist.
    """
    laws: dict[str, dict[str, str]] = {}
    for name in dict.fromkeys(names or (OWN_LAW,)):
        if name == OWN_LAW:
            laws[name] = {}
        elif ".py:" in name:
            law = own_law(name, "rate", list(laws))
            laws[law.name] = law.blocks
        else:
            laws[name] = chosen_laws([name])[0].blocks
    return laws
