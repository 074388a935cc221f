"""An invented flight in closed form, for tests of the viewer: no physics, every value known."""

from __future__ import annotations

import math
import sys
from pathlib import Path

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parent))

from invented import invented_run  # noqa: E402


@pytest.fixture(scope="session")
def run():
    return invented_run()


@pytest.fixture(scope="session")
def crash():
    return invented_run(crash=True)
