"""The hand-made plants of tests/verification are used here too."""

import sys
from pathlib import Path

_HELPERS = str(Path(__file__).parents[1] / "verification")
if _HELPERS not in sys.path:
    sys.path.insert(0, _HELPERS)
