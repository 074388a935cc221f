"""`python -m quadsim` is the command `quadsim`."""

import sys

from quadsim.cli import main

if __name__ == "__main__":
    sys.exit(main())
