"""A file of gains alone: the `[gains.*]` sections of a craft file, to try other gains on a craft without changing its file."""

from __future__ import annotations

from pathlib import Path

from pydantic import Field, FiniteFloat

from quadsim.config.craft_schema import Craft, Slot
from quadsim.config.listing import Section, checked
from quadsim.config.toml_reader import read_toml
from quadsim.errors import InputError, Problem


class GainsFile(Section):
    """What a file of gains holds."""

    gains: dict[Slot, dict[str, FiniteFloat]] = Field(description="gains of the craft's blocks by name")


def craft_with_gains(craft: Craft, path: Path) -> Craft:
    """The craft with the gains of a file in place of its own; what the file leaves out stays.

    Raises
    ------
    InputError
        when the file cannot be read or holds anything but gains.
    """
    document = read_toml(path)
    stated = checked(GainsFile, document).gains
    if not any(stated.values()):
        raise InputError(
            [Problem("gains", "holds no gain", "at least one, such as [gains.rate] roll_p = 22")], str(path)
        )
    slots = dict.fromkeys((*craft.gains, *stated))
    merged = {slot: {**craft.gains.get(slot, {}), **stated.get(slot, {})} for slot in slots}
    changed = craft.model_copy(update={"gains": merged})
    changed._path, changed._source_text = craft.path, craft.source_text
    return changed
