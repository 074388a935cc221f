"""The text of a first law for a slot, named after the file that it is for."""

from __future__ import annotations

from pathlib import Path

from controllers.contract import SLOTS
from controllers.explain import BlockError


def template_path(slot: str) -> Path:
    """The file to copy for a slot."""
    if slot not in SLOTS:
        raise BlockError(f"there is no slot {slot!r}; slots are {', '.join(SLOTS)}")
    here = Path(__file__).parent
    return here / "template.py" if slot == "rate" else here / "templates" / f"{slot}.py"


def write_template(path: Path, slot: str) -> Path:
    """Write the template of `slot` to a new file; never over one that is there. Returns its path."""
    text = template_path(slot).read_text(encoding="utf-8").replace("my_law.py", path.name)
    if path.suffix != ".py":
        raise BlockError(f"{path} does not end in .py; a block lives in a Python file: name it {path}.py")
    try:
        with path.open("x", encoding="utf-8") as file:
            file.write(text)
    except FileExistsError:
        raise BlockError(f"{path} is there already and is not overwritten; name another file") from None
    except OSError as error:
        raise BlockError(
            f"{path} cannot be written: {error.strerror}; name a file in a folder that is there"
        ) from None
    return path
