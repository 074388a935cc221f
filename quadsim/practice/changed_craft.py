"""A craft with other sticks or another camera, without a change of its file."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from quadsim.config import Craft
from quadsim.config.camera_schema import PilotCamera
from quadsim.config.listing import checked
from quadsim.config.sticks_schema import Sticks
from quadsim.config.toml_reader import Document
from quadsim.errors import InputError, Problem


def with_changes(craft: Craft, changes: Mapping[str, Any]) -> Craft:
    """The craft with some keys of `[sticks]` and `[camera]` changed.

    Raises
    ------
    InputError
        that lists every change that is not allowed.
    """
    unknown = [
        key for key in changes if key not in Sticks.model_fields and key not in PilotCamera.model_fields
    ]
    if unknown:
        known = ", ".join((*Sticks.model_fields, *PilotCamera.model_fields))
        raise InputError(
            [Problem("--set", f"{key!r} is no key of [sticks] or [camera]", known) for key in unknown]
        )
    update: dict[str, Any] = {}
    for name, schema, now in (("sticks", Sticks, craft.sticks), ("camera", PilotCamera, craft.camera)):
        asked = {key: value for key, value in changes.items() if key in schema.model_fields}
        if asked:
            stated = {key: value for key, value in now.model_dump().items() if value is not None}
            update[name] = checked(schema, Document({**stated, **asked}, "", "--set"))
    changed = craft.model_copy(update=update)
    changed._path, changed._source_text = craft.path, craft.source_text
    return changed
